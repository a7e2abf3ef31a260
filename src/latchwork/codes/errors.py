"""What goes wrong is told whole: every problem at once."""

from __future__ import annotations

from latchwork.findings.problems import Problem


class CodesError(Exception):
    """Input or a store that cannot be used. Its text is made for people and holds no secret.

    ``problems`` are plain sentences, or problems of a file with line, field, found and expected.
    """

    def __init__(self, *problems: Problem | str) -> None:
        self.problems = problems
        super().__init__("\n".join(str(p) for p in problems))


def file_problem(file: str, line: int, field: str, found: str, expected: str) -> Problem:
    """A problem of a file of codes: a grammar, card layouts, a list of people or cards."""
    return Problem(file, line, 0, field, found, expected, "codes.file")
