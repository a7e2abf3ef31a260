"""A problem: something written in a file, or set, that cannot be used, told so that it can be put
right."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that cannot be used.

    ``line`` and ``column`` count from 1 and are 0 where the whole file is meant. ``field`` is the
    path of the field, ``found`` what stands there, ``expected`` what would be taken, ``code`` a
    fixed name for programs.
    """

    file: str
    line: int
    column: int
    field: str
    found: str
    expected: str
    code: str

    def __str__(self) -> str:
        place = ":".join(str(part) for part in (self.file, self.line, self.column) if part)
        head = ": ".join(part for part in (place, self.field) if part)
        return f"{head}: found {self.found}, expected {self.expected}"


class SettingUnknown(Exception):
    """A setting of the machine (an environment variable) holds a word that it does not know."""

    def __init__(self, variable: str, found: str, expected: str) -> None:
        self.problem = Problem("", 0, 0, variable, found, expected, "setting")
        super().__init__(str(self.problem))
