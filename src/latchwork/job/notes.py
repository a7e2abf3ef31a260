"""What is collected while a job is read: problems, places, and what is not known yet."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from latchwork.findings.problems import Problem
from latchwork.job.model import Origin
from latchwork.job.problems import one_of
from latchwork.quantities import QuantityError
from latchwork.tree.nodes import Node, Refused, shown
from latchwork.tree.read import MAX_PROBLEMS


class TooManyProblems(Exception):
    """No use in reading on."""


@dataclass(slots=True)
class Notes:
    """Everything noted of one file. The one thing that changes while reading."""

    file: str
    problems: dict[tuple[int, int, str, str], Problem] = field(default_factory=dict)
    origins: dict[str, Origin] = field(default_factory=dict)
    unknown: list[str] = field(default_factory=list)

    def tell(self, problem: Problem) -> None:
        """Note a problem, once for each place (usual values are read for every door)."""
        key = (problem.line, problem.column, problem.code, problem.expected)
        self.problems.setdefault(key, problem)
        if len(self.problems) >= MAX_PROBLEMS:
            raise TooManyProblems


@dataclass(frozen=True, slots=True)
class Place:
    """A path in the file, and where to note what is met there."""

    notes: Notes
    path: str = ""

    def at(self, name: str) -> Place:
        """The place one step further in."""
        return Place(self.notes, f"{self.path}.{name}" if self.path else name)

    def origin(self, node: Node) -> None:
        """Note where this path stands."""
        self.notes.origins[self.path] = Origin(self.notes.file, node.line, node.column)

    def wrong(self, node: Node, expected: str, code: str, found: str | None = None) -> None:
        """Note a problem. Nothing is said again of what the tree has refused."""
        if isinstance(node, Refused):
            return
        found = shown(node) if found is None else found
        problem = Problem(self.notes.file, node.line, node.column, self.path, found, expected, code)
        self.notes.tell(problem)

    def unlike(self, node: Node, known: Iterable[str], code: str, found: str | None = None) -> None:
        """Note a name that is none of the known ones, with the nearest of them."""
        text = shown(node) if found is None else found
        self.wrong(node, one_of(text, known), code, text)

    def bad_quantity(self, node: Node, error: QuantityError) -> None:
        """Note a quantity that cannot be read."""
        self.wrong(node, error.expected, error.code, error.found)
