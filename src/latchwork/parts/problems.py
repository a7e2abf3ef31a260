"""What is wrong with a parts text or with the words put to a part; all of it at once."""

from __future__ import annotations

from collections.abc import Iterable

from latchwork.findings.problems import Problem


class PartsErrors(Exception):
    """Every problem of one text, or of one part put to use."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(problems, key=lambda p: (p.file, p.line, p.column)))
        super().__init__("\n".join(str(problem) for problem in self.problems))


class PartNotFound(LookupError):
    """No part or cable of that name. ``nearest`` are the names closest to it, best first."""

    def __init__(self, name: str, nearest: tuple[str, ...]) -> None:
        near = f"; nearest: {', '.join(nearest)}" if nearest else ""
        super().__init__(f"no part called {name!r}{near}")
        self.name = name
        self.nearest = nearest
