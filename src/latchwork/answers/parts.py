"""The answers of ``parts``: a list of parts, and all that is known of one."""

from __future__ import annotations

from pathlib import Path

import msgspec

from latchwork.answers.ordering import part_figures
from latchwork.elements import Figure
from latchwork.folder import open_folder
from latchwork.opening import catalogue_of
from latchwork.parts import Catalogue, Part, PartSpec, catalogue
from latchwork.parts.explaining import explain, search
from latchwork.quantities import STANDARD_GRAVITY
from latchwork.words import say

VERSION = 1


class PartLine(msgspec.Struct, frozen=True):
    """One part of a list."""

    name: str
    kind: str
    figures: str
    """What one orders it by, in short; "" where there is nothing."""
    about: str
    """What the catalogue says of it, else what its kind is."""
    also: tuple[str, ...]
    slots: tuple[str, ...]
    lock: tuple[str, ...]
    """Of a lock: what it does without power, what it holds, and whether it is fire-listed or
    monitored, where name and ``about`` do not say so."""


class PartsAnswer(msgspec.Struct, frozen=True):
    """The parts that have every one of the words. ``latchwork_parts``: version of this form."""

    latchwork_parts: int
    words: str
    parts: tuple[PartLine, ...]


class FigureLine(msgspec.Struct, frozen=True):
    """One figure in SI units. ``word`` "" where it was worked out from the others."""

    word: str
    field: str
    unit: str
    value: float
    low: float
    high: float
    help: str
    source: str
    certainty: str


class WordLine(msgspec.Struct, frozen=True):
    """A word the part takes, and what may stand behind it. ``value`` "" where nothing does."""

    word: str
    value: str
    wants: str
    help: str


class PartAnswer(msgspec.Struct, frozen=True):
    """All that is known of a part. ``latchwork_part`` is the version of this form."""

    latchwork_part: int
    name: str
    kind: str
    about: str
    also: tuple[str, ...]
    slots: tuple[str, ...]
    terminals: dict[str, str]
    figures: tuple[FigureLine, ...]
    settings: tuple[WordLine, ...]
    more_words: tuple[WordLine, ...]
    states: tuple[str, ...]


def parts_of(job: Path | None) -> Catalogue:
    """The catalogue, with a job's own parts and pinned figures where one is named.

    Raises JobErrors, PartsErrors.
    """
    if job is None:
        return catalogue()
    offered, pinned = catalogue_of(open_folder(job))
    return offered.with_fixed(pinned.parts, pinned.cables)


def parts_found(offered: Catalogue, words: str) -> PartsAnswer:
    """The parts that have every one of the words, the nearest first; no words find everything."""
    return PartsAnswer(
        VERSION,
        words,
        tuple(
            PartLine(
                spec.name,
                spec.kind.name,
                _ordered_by(spec),
                spec.about or spec.kind.help,
                spec.also,
                spec.slots,
                _told_apart(spec),
            )
            for spec in search(offered, words)
        ),
    )


def _ordered_by(spec: PartSpec) -> str:
    part = spec.resolve()
    return part_figures(part.figures, part.facts.get("current_kind") == "ac")


def _told_apart(spec: PartSpec) -> tuple[str, ...]:
    said = {word.strip(",") for word in f"{spec.name} {spec.about}".split()}
    every = _of_lock(spec.resolve())
    return tuple(text for text in every if not said.issuperset(text.split()))


def _of_lock(part: Part) -> list[str]:
    """What tells locks of like volts apart; nothing of another part."""
    energised = part.facts.get("energised")
    if energised is None:
        return []
    fails = "fail-safe" if energised == "locks" else "fail-secure"
    told = [say("parts.stays put") if part.facts.get("stays_put") is True else fails]
    force = part.figures.get("holding_n")
    if force is not None:
        # In kilograms, as the trade does: the weight that would pull it open.
        told.append(f"{force.value / STANDARD_GRAVITY:.0f} kg")
    for fact, name in (("fire_listed", "parts.fire-listed"), ("monitored", "parts.monitored")):
        if part.facts.get(fact) is True:
            told.append(say(name))
    return told


def part_explained(offered: Catalogue, name: str) -> PartAnswer:
    """All that is known of the part that people call ``name``. Raises PartNotFound."""
    told = explain(offered.find(name))
    return PartAnswer(
        VERSION,
        told.name,
        told.kind,
        told.about,
        told.also,
        told.slots,
        {t.name: say(f"terminal.{t.does}") for t in told.terminals},
        tuple(
            _figure(f.word, f.field, f.unit, f.help, f.figure)
            for f in (*told.figures, *told.worked_out)
        ),
        tuple(
            WordLine(s.word, _setting(s.value), ", ".join(s.choices), s.help) for s in told.settings
        ),
        tuple(WordLine(word, "", w.wants(), w.help) for word, w in told.more_words),
        tuple(s.name for s in told.states),
    )


def _figure(word: str, field: str, unit: str, help_: str, f: Figure) -> FigureLine:
    # A figure that the program works out has no word of its own; its name ends in its unit.
    unit = unit or {"v": "V", "a": "A", "ohm": "Ω"}[field.rpartition("_")[2]]
    return FigureLine(word, field, unit, f.value, f.low, f.high, help_, f.source, f.certainty.value)


def _setting(value: str | int | bool) -> str:
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)
