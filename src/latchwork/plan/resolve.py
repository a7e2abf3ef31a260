"""Parts put to use become parts with figures; the same use is worked out once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from latchwork.elements import Certainty
from latchwork.job.model import Fact, Job, PartUse
from latchwork.job.problems import Problem
from latchwork.parts.catalogue import Catalogue
from latchwork.parts.model import Part
from latchwork.parts.problems import PartNotFound, PartsErrors
from latchwork.plan.fit import WANTED, misfit
from latchwork.plan.model import Provenance
from latchwork.plan.origins import problem_at

Settings = Mapping[str, str | int | bool]

WIRING_WORDS = frozenset({"supply"})
"""Settings of a device that say how it is wired, not what it is: a lock's own supply."""


@dataclass(frozen=True, slots=True)
class Resolved:
    """A part, and where its figures come from: field, the word the job gave it by, certainty and
    source."""

    part: Part
    figures: tuple[tuple[str, str, Certainty, str], ...]


@dataclass(slots=True)
class Resolver:
    """Resolves the parts of one job, and keeps the problems met."""

    job: Job
    catalogue: Catalogue
    problems: list[Problem] = field(default_factory=list)
    provenance: dict[str, Provenance] = field(default_factory=dict)
    _known: dict[object, Resolved | tuple[Problem, ...]] = field(default_factory=dict)
    _from_catalogue: dict[tuple[str, Certainty, str], Provenance] = field(default_factory=dict)

    def part(self, device: str, slot: str, use: PartUse, path: str) -> Part | None:
        """The part, or None with its problems noted at ``path``."""
        key = (use.part, slot, tuple(use.figures.items()), tuple(use.settings.items()))
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = self._resolve(use, slot)
        if not isinstance(found, Resolved):
            self.problems += (self._at(problem, path) for problem in found)
            return None
        for name, word, certainty, source in found.figures:
            self.provenance[f"{device}.{name}"] = (
                Provenance(f"{path}.{word}", certainty, source)
                if word
                else self._catalogued(use.part, certainty, source)
            )
        return found.part

    def complain(self, path: str, found: str, expected: str, code: str) -> None:
        """Note a problem at a place of the file."""
        self.problems.append(problem_at(self.job, path, found, expected, code))

    def _resolve(self, use: PartUse, slot: str) -> Resolved | tuple[Problem, ...]:
        try:
            spec = self.catalogue.find(use.part, slot)
        except PartNotFound as missing:
            wanted = WANTED.get(slot, "a part that latchwork parts lists")
            near = " or ".join(missing.nearest) or wanted
            return (Problem("", 0, 0, "", use.part, near, "part.unknown"),)
        settings = {k: v for k, v in use.settings.items() if k not in WIRING_WORDS}
        try:
            part = spec.resolve(use.figures, settings)
        except PartsErrors as errors:
            return errors.problems
        expected = misfit(slot, part)
        if expected:
            return (Problem("", 0, 0, "", use.part, expected, "part.slot"),)
        words = {}
        for name in use.figures:
            word = spec.kind.word(name)
            if word is not None:
                words[word.field] = name
        return Resolved(
            part,
            tuple(
                (name, words.get(name, ""), figure.certainty, figure.source)
                for name, figure in part.figures.items()
            ),
        )

    def _at(self, problem: Problem, path: str) -> Problem:
        """The problem with its place in the file; its field is a word of the part, or nothing."""
        path = f"{path}.{problem.field}" if problem.field else path
        at = problem_at(self.job, path, problem.found, problem.expected, problem.code)
        return replace(problem, file=at.file, line=at.line, column=at.column, field=path)

    def _catalogued(self, name: str, certainty: Certainty, source: str) -> Provenance:
        key = (name, certainty, source)
        found = self._from_catalogue.get(key)
        if found is None:
            found = self._from_catalogue[key] = Provenance(f"catalogue.{name}", certainty, source)
        return found


def with_words(use: PartUse, figures: Mapping[str, Fact], settings: Settings) -> PartUse:
    """The use with more said of it; what it says itself wins."""
    return replace(use, figures={**figures, **use.figures}, settings={**settings, **use.settings})
