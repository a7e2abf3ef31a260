"""YAML as people write it, with lines: every scalar stays the text that stands there.

So ``no``, ``1E2`` and ``08:30`` mean what they say. Anchors, tags, doubled keys, deep nesting and
large files are refused, all problems of a file at once.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from dataclasses import dataclass, field

import yaml

from latchwork.codes.errors import CodesError, Problem

LARGEST = 4 * 1024 * 1024
DEEPEST = 12


@dataclass(slots=True)
class Node:
    """A text, a list or a map with the line it stands on. ``value`` says which."""

    value: str | list[Node] | dict[str, Node]
    line: int


@dataclass(slots=True)
class Reader:
    """Takes a file apart by what is expected, and gathers what is wrong."""

    file: str
    problems: list[Problem] = field(default_factory=list)

    def wrong(
        self, node: Node | None, where: str, text: str, found: str = "", expected: str = ""
    ) -> None:
        """Notes a problem and goes on."""
        line = node.line if node else 0
        self.problems.append(Problem(text, self.file, line, where, found, expected))

    def finish(self) -> None:
        """Raises CodesError where anything was noted."""
        if self.problems:
            raise CodesError(*sorted(self.problems, key=lambda p: p.line))

    def map(self, node: Node | None, where: str) -> dict[str, Node]:
        """The node's keys, or none and a problem noted. None gives none."""
        if node is None or node.value == "":
            return {}
        if isinstance(node.value, dict):
            return node.value
        self.wrong(node, where, "is not a map", _show(node), "key: value lines")
        return {}

    def known(self, found: dict[str, Node], where: str, names: tuple[str, ...]) -> None:
        """Notes keys nobody knows, with the nearest that somebody does."""
        for key, node in found.items():
            if key not in names:
                close = difflib.get_close_matches(key, names, 1)
                expected = f"{close[0]}?" if close else ", ".join(names)
                self.wrong(node, where, "unknown field", key[:60], expected)

    def items(self, node: Node | None, where: str) -> list[Node]:
        """The node's items; a single text is a list of one."""
        if node is None:
            return []
        if isinstance(node.value, list):
            return node.value
        if isinstance(node.value, str):
            return [node]
        self.wrong(node, where, "is not a list", _show(node), "- items, or [a, b]")
        return []

    def text(self, node: Node | None, where: str, default: str = "") -> str:
        """The node's text."""
        if node is None:
            return default
        if isinstance(node.value, str):
            return node.value
        self.wrong(node, where, "is not a text", _show(node), "one line of text")
        return default

    def number(
        self, node: Node | None, where: str, least: int, most: int, default: int | None = None
    ) -> int:
        """The node's whole number, between ``least`` and ``most``; no default: it must be there."""
        if node is None:
            if default is None:
                self.wrong(None, where, "is missing", "", f"{least} to {most}")
            return least if default is None else default
        text = self.text(node, where)
        if text.isascii() and text.isdecimal() and len(text) < 10 and least <= int(text) <= most:
            return int(text)
        self.wrong(node, where, "is not a number that fits", text[:60], f"{least} to {most}")
        return least if default is None else default


def read_yaml(data: bytes, file: str) -> tuple[Reader, dict[str, Node]]:
    """A file's top map. Raises CodesError where it is no YAML map that may be read."""
    reader = Reader(file)
    if len(data) > LARGEST:
        raise CodesError(Problem("is larger than any such file", file))
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise CodesError(Problem("is not a text file in UTF-8", file)) from None
    try:
        _refuse_anchors(text, file)
        top = yaml.compose(text, Loader=yaml.CSafeLoader)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line = mark.line + 1 if mark else 0
        said = error.problem or error.context or "cannot be read"
        raise CodesError(Problem(f"is not YAML: {said}", file, line)) from None
    except yaml.YAMLError:
        raise CodesError(
            Problem("is not YAML: it holds characters YAML does not allow", file)
        ) from None
    if top is None:
        raise CodesError(Problem("is empty", file))
    node = _plain(top, reader, 0)
    found = reader.map(node, "file")
    reader.finish()
    return reader, found


def _refuse_anchors(text: str, file: str) -> None:
    depth = 0
    for event in _events(text):
        if getattr(event, "anchor", None) is not None:
            raise CodesError(Problem("anchors and aliases are not taken here", file, _line(event)))
        if isinstance(event, yaml.CollectionStartEvent):
            depth += 1
        elif isinstance(event, yaml.CollectionEndEvent):
            depth -= 1
        if depth > DEEPEST:
            raise CodesError(Problem("is nested too deeply", file, _line(event)))


def _line(event: yaml.Event) -> int:
    return event.start_mark.line + 1 if event.start_mark else 0


def _events(text: str) -> Iterator[yaml.Event]:
    yield from yaml.parse(text, Loader=yaml.CSafeLoader)


def _plain(node: yaml.Node, reader: Reader, depth: int) -> Node:
    line = node.start_mark.line + 1
    if isinstance(node, yaml.ScalarNode):
        return Node(node.value.strip(), line)
    if isinstance(node, yaml.SequenceNode):
        return Node([_plain(item, reader, depth + 1) for item in node.value], line)
    found: dict[str, Node] = {}
    for key, value in node.value:
        here = Node("", key.start_mark.line + 1)
        if not isinstance(key, yaml.ScalarNode):
            reader.wrong(here, "", "a key is not a plain text")
            continue
        name = key.value.strip()
        if name in found:
            reader.wrong(here, name[:60], "stands here twice")
        found[name] = _plain(value, reader, depth + 1)
        found[name].line = here.line
    return Node(found, line)


def _show(node: Node) -> str:
    if isinstance(node.value, str):
        return node.value[:60]
    return "a list" if isinstance(node.value, list) else "a map"
