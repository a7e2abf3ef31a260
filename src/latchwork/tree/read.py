"""A YAML text as a plain tree in which every value is text and knows its place.

Nothing is guessed: ``NO``, ``on`` and ``1E2`` stay the text that was written. What YAML would read
otherwise than it looks is refused here with a plain message.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

import yaml

from latchwork.findings.problems import Problem
from latchwork.tree.nodes import Entries, Items, Node, Refused, Scalar, shown
from latchwork.tree.yaml_errors import explain, tight_colon

MAX_BYTES = 16 * 1024 * 1024
MAX_DEPTH = 20
MAX_NODES = 500_000
MAX_TEXT = 10_000
MAX_PROBLEMS = 200


# The parser in C where PyYAML was built with it, else the same grammar in Python.
Parser = getattr(yaml, "CLoader", yaml.Loader)
# U+0085, U+2028 and U+2029 begin a line for the parser, and for YAML 1.2 and most editors none:
# what stands behind one in a comment would count unseen.
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff\ufffe\uffff]")
_NUMBER_COMMENT = re.compile(r"[ \t]+#[ \t]*\w?\d+\w?[ \t]*(?::.*)?$")


class Unreadable(Exception):
    """The text stops being readable at this problem."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(str(problem))
        self.problem = problem


@dataclass(slots=True)
class _Open:
    """A list or a table that is still being read."""

    table: bool
    flow: bool
    line: int
    column: int
    nodes: list[Node] = field(default_factory=list)


def read_tree(
    text: str, file: str, first: str = "latchwork: 1"
) -> tuple[Entries | None, list[Problem]]:
    """The tree of a text and every problem met. No tree where the text cannot be read at all.

    ``first`` is what such a text begins with, for the message that it does not.
    """
    if len(text) > MAX_BYTES or len(text.encode("utf-8", "surrogatepass")) > MAX_BYTES:
        return None, [too_large(file)]
    text = text.removeprefix("\ufeff")
    control = _CONTROL.search(text)
    if control is not None:
        line = text.count("\n", 0, control.start())
        column = control.start() - (text.rfind("\n", 0, control.start()) + 1)
        found = f"the character U+{ord(control[0]):04X}"
        return None, [
            Problem(file, line + 1, column + 1, "", found, "plain text", "file.control-character")
        ]
    builder = _Builder(text, file, first)
    try:
        root = builder.build()
    except Unreadable as error:
        return None, [*builder.problems, error.problem]
    except yaml.YAMLError as error:
        return None, [*builder.problems, explain(error, builder.lines, file)]
    return root, builder.problems


def too_large(file: str) -> Problem:
    """The problem of a file above ``MAX_BYTES``."""
    limit = f"at most {MAX_BYTES // 1024 // 1024} MB"
    return Problem(file, 0, 0, "", "a larger file", limit, "file.too-large")


class _Builder:
    """Turns the parser's events into a tree, without recursion."""

    def __init__(self, text: str, file: str, first: str) -> None:
        self._begins = f"names with a colon, starting with {first}"
        self.lines = text.splitlines()
        self.file = file
        self.problems: list[Problem] = []
        self._text = text
        self._open: list[_Open] = []
        self._count = 0

    def build(self) -> Entries | None:
        parser = Parser(self._text)
        root: Node | None = None
        documents = 0
        while parser.check_event():
            event = parser.get_event()
            if isinstance(event, yaml.DocumentStartEvent):
                documents += 1
                if documents > 1:
                    self._stop(event, "a second document", "one document", "yaml.documents")
            node = self._node(event)
            if node is not None and self._open:
                self._open[-1].nodes.append(node)
            elif node is not None:
                root = node
        if root is None or (isinstance(root, Scalar) and root.empty):
            empty = Problem(self.file, 0, 0, "", "nothing", self._begins, "file.empty")
            raise Unreadable(empty)
        if not isinstance(root, Entries):
            if not isinstance(root, Refused):
                self._tell(root, shown(root), self._begins, "file.root")
            return None
        return root

    def _node(self, event: yaml.Event) -> Node | None:
        """The node that an event completes, if it does."""
        if isinstance(event, yaml.NodeEvent):
            self._guard(event)
        if isinstance(event, yaml.ScalarEvent):
            return self._scalar(event)
        if isinstance(event, yaml.CollectionStartEvent):
            table = isinstance(event, yaml.MappingStartEvent)
            self._open.append(_Open(table, bool(event.flow_style), *_position(event.start_mark)))
        elif isinstance(event, yaml.CollectionEndEvent):
            done = self._open.pop()
            if done.table:
                return Entries(self._pairs(done), done.line, done.column)
            return Items(self._items(done), done.line, done.column)
        elif isinstance(event, yaml.AliasEvent):
            return Refused(*_position(event.start_mark))
        return None

    def _guard(self, event: yaml.NodeEvent) -> None:
        self._count += 1
        if self._count > MAX_NODES:
            self._stop(event, "a larger file", f"at most {MAX_NODES} values", "file.too-large")
        if len(self._open) >= MAX_DEPTH and isinstance(event, yaml.CollectionStartEvent):
            self._stop(event, "deeper nesting", f"at most {MAX_DEPTH} levels", "file.too-deep")
        quotes = "text in quotes where it starts with this character"
        if event.anchor is not None:
            sign = "*" if isinstance(event, yaml.AliasEvent) else "&"
            expected = f"no anchors or aliases, and {quotes}"
            self._tell(event, f"{sign}{event.anchor}", expected, "yaml.anchor")
        tag = getattr(event, "tag", None)
        if tag is not None:
            self._tell(event, f"the tag {tag}", f"no tags, and {quotes}", "yaml.tag")

    def _scalar(self, event: yaml.ScalarEvent) -> Node:
        line, column = _position(event.start_mark)
        last, end = _position(event.end_mark)
        plain = not event.style
        node = Scalar(event.value, line, column, plain, end)
        if len(event.value) > MAX_TEXT:
            expected = f"at most {MAX_TEXT} characters"
            self._tell(node, shown(node), expected, "file.text-too-long")
            return Refused(node.line, node.column)
        if not plain or event.value == "":
            return node
        if last != line:
            expected = "one line, or quotes round a text that goes on (is a colon missing?)"
            self._tell(node, shown(node), expected, "trap.text-goes-on")
            return Refused(node.line, node.column)
        written = self.lines[line - 1] if line <= len(self.lines) else ""
        comment = _NUMBER_COMMENT.match(written, end - 1)
        if comment is not None:
            whole = written[column - 1 :].strip()
            expected = f'quotes if the number belongs to it: "{whole}"; else a comment with a word'
            self._tell(node, f"{event.value} and a comment", expected, "trap.comment")
            return Refused(node.line, node.column)
        return node

    def _pairs(self, done: _Open) -> tuple[tuple[Scalar, Node], ...]:
        pairs: dict[str, tuple[Scalar, Node]] = {}
        for key, value in zip(done.nodes[::2], done.nodes[1::2], strict=True):
            if not isinstance(key, Scalar):
                if not isinstance(key, Refused):
                    self._tell(key, shown(key), "a name before the colon", "yaml.key")
            elif key.text in pairs:
                first = pairs[key.text][0].line
                expected = f"each name once (it stands in line {first} too)"
                self._tell(key, f"{key.text} again", expected, "yaml.duplicate")
            elif done.flow and key.plain and isinstance(value, Scalar) and value.empty:
                pairs |= self._alone(key, value, pairs)
            else:
                pairs[key.text] = (key, value)
        return tuple(pairs.values())

    def _alone(
        self, key: Scalar, value: Scalar, pairs: dict[str, tuple[Scalar, Node]]
    ) -> dict[str, tuple[Scalar, Node]]:
        """What becomes of a name in braces with nothing behind it.

        It lacks the space of its colon, or its text was cut in two by a comma.
        """
        spaced = tight_colon(key.text)
        name, before = next(reversed(pairs.values()), (key, None))
        if spaced is not None:
            self._tell(key, key.text, f"a space after the colon: {spaced}", "trap.colon")
            return {}
        if not isinstance(before, Scalar):
            return {key.text: (key, value)}
        if _decimal(before, key):
            self._decimal_comma(before, key)
        else:
            expected = f'quotes round a text with a comma in it: "{before.text}, {key.text}"'
            self._tell(key, f"{before.text}, {key.text}", expected, "trap.comma")
        return {name.text: (name, Refused(before.line, before.column))}

    def _items(self, done: _Open) -> tuple[Node, ...]:
        nodes = list(done.nodes)
        for index in range(1, len(nodes) if done.flow else 0):
            before, node = nodes[index - 1], nodes[index]
            if isinstance(before, Scalar) and isinstance(node, Scalar) and _decimal(before, node):
                self._decimal_comma(before, node)
                nodes[index - 1 : index + 1] = [Refused(n.line, n.column) for n in (before, node)]
        return tuple(nodes)

    def _decimal_comma(self, before: Scalar, node: Scalar) -> None:
        found, expected = f"{before.text},{node.text}", f"{before.text}.{node.text}"
        self._tell(before, found, f"a decimal point: {expected}", "trap.decimal-comma")

    def _tell(self, at: Node | yaml.Event, found: str, expected: str, code: str) -> None:
        line, column = _place(at)
        self.problems.append(Problem(self.file, line, column, "", found, expected, code))
        if len(self.problems) >= MAX_PROBLEMS:
            self._stop(at, "more problems", "the ones above put right first", "file.too-many")

    def _stop(self, at: Node | yaml.Event, found: str, expected: str, code: str) -> None:
        raise Unreadable(Problem(self.file, *_place(at), "", found, expected, code))


def _place(at: Node | yaml.Event) -> tuple[int, int]:
    if isinstance(at, yaml.Event):
        return _position(at.start_mark)
    return at.line, at.column


def _position(mark: Any) -> tuple[int, int]:
    """Line and column from 1. Every event of a text has its marks."""
    return mark.line + 1, mark.column + 1


def _decimal(before: Scalar, node: Scalar) -> bool:
    """Whether two neighbours in brackets are one number with a decimal comma."""
    return (
        before.plain
        and node.plain
        and before.text[-1:].isdigit()
        and node.text[:1].isdigit()
        and (node.line, node.column) == (before.line, before.end + 1)
    )
