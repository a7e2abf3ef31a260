"""The nodes of a tree read from YAML: texts, lists and tables, each with its place."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Scalar:
    """A text. ``plain``: written without quotes. ``end`` is the column just behind it."""

    text: str
    line: int
    column: int
    plain: bool
    end: int

    @property
    def empty(self) -> bool:
        """Whether nothing was written."""
        return self.plain and self.text in ("", "~")


@dataclass(frozen=True, slots=True)
class Items:
    """A list."""

    nodes: tuple[Node, ...]
    line: int
    column: int


@dataclass(frozen=True, slots=True)
class Entries:
    """Names and what stands behind them."""

    pairs: tuple[tuple[Scalar, Node], ...]
    line: int
    column: int

    def get(self, name: str) -> Node | None:
        """What stands behind a name."""
        return next((value for key, value in self.pairs if key.text == name), None)


@dataclass(frozen=True, slots=True)
class Refused:
    """Something of which the problem has been told already."""

    line: int
    column: int


Node = Scalar | Items | Entries | Refused


def shown(node: Node) -> str:
    """A node in a few words, for a message."""
    match node:
        case Scalar() if not node.text.strip() or node.empty:
            return "nothing"
        case Scalar(text=text):
            return " ".join(text.split())[:80]
        case Items():
            return "a list"
        case Entries():
            return "names with a colon"
        case Refused():
            return "this"
