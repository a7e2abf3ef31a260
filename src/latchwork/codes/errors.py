"""What goes wrong is told whole: every problem at once, with place, found and expected."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong. ``found`` never holds a code: callers mask it first.

    ``line`` counts from 1; 0 where there is none.
    """

    text: str
    file: str = ""
    line: int = 0
    field: str = ""
    found: str = ""
    expected: str = ""

    def __str__(self) -> str:
        place = ":".join(part for part in (self.file, str(self.line or "")) if part)
        parts = [f"{place}: " if place else "", f"{self.field}: " if self.field else "", self.text]
        if self.found:
            parts.append(f"; found {self.found}")
        if self.expected:
            parts.append(f"; expected {self.expected}")
        return "".join(parts)


class CodesError(Exception):
    """Input or a store that cannot be used. Its text is made for people and holds no secret."""

    def __init__(self, *problems: Problem | str) -> None:
        self.problems = tuple(Problem(p) if isinstance(p, str) else p for p in problems)
        super().__init__("\n".join(str(p) for p in self.problems))
