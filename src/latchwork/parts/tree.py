"""A parts text as a plain tree: every value is the text that was written, with its place."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import yaml

from latchwork.findings.problems import Problem

MAX_DEPTH = 12
_Parser = getattr(yaml, "CLoader", yaml.Loader)


@dataclass(frozen=True, slots=True)
class Scalar:
    """A text. Lines and columns count from 1."""

    text: str
    line: int
    column: int


@dataclass(frozen=True, slots=True)
class Items:
    """A list."""

    nodes: tuple[Node, ...]
    line: int
    column: int


@dataclass(frozen=True, slots=True)
class Entries:
    """Names and what stands behind them."""

    pairs: tuple[tuple[Node, Node], ...]
    line: int
    column: int


Node = Scalar | Items | Entries


class Unreadable(Exception):
    """The text cannot be read past this problem."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(str(problem))
        self.problem = problem


@dataclass(slots=True)
class _Open:
    table: bool
    line: int
    column: int
    nodes: list[Node] = field(default_factory=list)


def read_tree(text: str, file: str) -> Node | None:
    """The tree of a text; None where there is nothing in it. Raises Unreadable.

    Anchors and tags, a second document and deep nesting are refused; nothing here recurses.
    """
    try:
        return _build(_Parser(text), file)
    except yaml.YAMLError as error:
        mark = getattr(error, "problem_mark", None)
        line, column = (mark.line + 1, mark.column + 1) if mark else (0, 0)
        found = str(getattr(error, "problem", None) or "characters that are no text")
        problem = Problem(file, line, column, "", found, "a parts text in YAML", "parts.yaml")
        raise Unreadable(problem) from None


def _build(parser: Any, file: str) -> Node | None:
    open_: list[_Open] = []
    root: Node | None = None
    while parser.check_event():
        event: Any = parser.get_event()
        done: Node | None = None
        kind = type(event)
        if issubclass(kind, yaml.NodeEvent):
            _guard(event, len(open_), root, file)
        if kind is yaml.ScalarEvent:
            done = Scalar(event.value, event.start_mark.line + 1, event.start_mark.column + 1)
        elif issubclass(kind, yaml.CollectionStartEvent):
            mark = event.start_mark
            table = kind is yaml.MappingStartEvent
            open_.append(_Open(table, mark.line + 1, mark.column + 1))
        elif issubclass(kind, yaml.CollectionEndEvent):
            done = _closed(open_.pop())
        if done is not None and open_:
            open_[-1].nodes.append(done)
        elif done is not None:
            root = done
    return root


def _closed(ended: _Open) -> Node:
    if ended.table:
        pairs = tuple(zip(ended.nodes[::2], ended.nodes[1::2], strict=True))
        return Entries(pairs, ended.line, ended.column)
    return Items(tuple(ended.nodes), ended.line, ended.column)


def _guard(event: Any, depth: int, root: Node | None, file: str) -> None:
    found = ""
    if event.anchor is not None:
        found, expected = f"the anchor {event.anchor}", "no anchors, aliases or tags"
    elif getattr(event, "tag", None) is not None:
        found, expected = f"the tag {event.tag}", "no anchors, aliases or tags"
    elif depth >= MAX_DEPTH:
        found, expected = "deeper nesting", f"at most {MAX_DEPTH} levels"
    elif root is not None:
        found, expected = "a second document", "one document"
    if found:
        mark = event.start_mark
        raise Unreadable(
            Problem(file, mark.line + 1, mark.column + 1, "", found, expected, "parts.yaml")
        )


def shown(node: Node) -> str:
    """What stands at a node, shortly."""
    if isinstance(node, Scalar):
        return node.text[:60] or "nothing"
    return "a list" if isinstance(node, Items) else "names with a colon"
