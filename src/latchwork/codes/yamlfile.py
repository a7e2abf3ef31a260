"""Taking grammars and card layouts apart by what is expected, gathering all that is wrong."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from latchwork.codes.errors import CodesError, file_problem
from latchwork.findings.problems import Problem
from latchwork.job import one_of
from latchwork.tree.nodes import Entries, Items, Scalar
from latchwork.tree.nodes import Node as TreeNode
from latchwork.tree.read import read_tree

_SHAPE = "what docs/codes.md describes"


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

    def wrong(self, node: Node | None, where: str, found: str, expected: str = _SHAPE) -> None:
        """Notes a problem and goes on."""
        line = node.line if node else 0
        self.problems.append(file_problem(self.file, line, where, found, expected))

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
        self.wrong(node, where, _show(node), "names with a colon")
        return {}

    def known(self, found: dict[str, Node], where: str, names: tuple[str, ...]) -> None:
        """Notes keys nobody knows, with the nearest that somebody does."""
        for key, node in found.items():
            if key not in names:
                self.wrong(node, where, key[:60], one_of(key, names))

    def items(self, node: Node | None, where: str) -> list[Node]:
        """The node's items; a single text is a list of one."""
        if node is None:
            return []
        if isinstance(node.value, list):
            return node.value
        if isinstance(node.value, str):
            return [node]
        self.wrong(node, where, _show(node), "a list: - items, or [a, b]")
        return []

    def text(self, node: Node | None, where: str, default: str = "") -> str:
        """The node's text."""
        if node is None:
            return default
        if isinstance(node.value, str):
            return node.value
        self.wrong(node, where, _show(node), "one line of text")
        return default

    def number(
        self, node: Node | None, where: str, least: int, most: int, default: int | None = None
    ) -> int:
        """The node's whole number, between ``least`` and ``most``; no default: it must be there."""
        if node is None:
            if default is None:
                self.wrong(None, where, "nothing", f"a number from {least} to {most}")
            return least if default is None else default
        text = self.text(node, where)
        if text.isascii() and text.isdecimal() and len(text) < 10 and least <= int(text) <= most:
            return int(text)
        self.wrong(node, where, text[:60] or "nothing", f"a number from {least} to {most}")
        return least if default is None else default


def read_yaml(data: bytes, file: str, first: str) -> tuple[Reader, dict[str, Node]]:
    """A file's top map, read as job files are: every value is the text that stands there.

    ``first`` is the name such a file begins with. Raises CodesError where it cannot be read.
    """
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        found = f"the byte 0x{data[error.start]:02X}"
        raise CodesError(file_problem(file, line, "", found, "text saved as UTF-8")) from None
    root, problems = read_tree(text, file, f"{first}: 1")
    if problems or root is None:
        raise CodesError(*problems)
    if unfit := [_unfit(file, scalar) for scalar in _scalars(root) if _steering(scalar.text)]:
        raise CodesError(*unfit)
    return Reader(file), _entries(root)


def _scalars(node: TreeNode) -> Iterator[Scalar]:
    match node:
        case Scalar():
            yield node
        case Items():
            for item in node.nodes:
                yield from _scalars(item)
        case Entries():
            for key, value in node.pairs:
                yield key
                yield from _scalars(value)


def _steering(text: str) -> str:
    """The first character that no sheet could show: it would steer a terminal or turn the text."""
    return next((c for c in text if not (c.isprintable() or c in "\n\t")), "")


def _unfit(file: str, scalar: Scalar) -> Problem:
    found = f"the character U+{ord(_steering(scalar.text)):04X}"
    return file_problem(file, scalar.line, "", found, "printable characters")


def _entries(root: Entries) -> dict[str, Node]:
    return {key.text: Node(_plain(value).value, key.line) for key, value in root.pairs}


def _plain(node: TreeNode) -> Node:
    match node:
        case Scalar():
            return Node("" if node.empty else node.text.strip(), node.line)
        case Items():
            return Node([_plain(item) for item in node.nodes], node.line)
        case Entries():
            return Node(_entries(node), node.line)
    raise AssertionError("a tree without problems has nothing refused in it")


def _show(node: Node) -> str:
    if isinstance(node.value, str):
        return node.value[:60] or "nothing"
    return "a list" if isinstance(node.value, list) else "names with a colon"
