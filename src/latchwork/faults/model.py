"""Faults, what they change in a network's numbers, and what they do to a door."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum


class FaultKind(StrEnum):
    """What kind of single fault it is."""

    OPEN = "open"
    JOINT = "joint"
    SHORT = "short"
    TO_PLUS = "to plus"
    TO_MINUS = "to minus"
    STATE = "part state"


@dataclass(frozen=True, slots=True)
class Edit:
    """One number of a network changed: ``what`` names the field of Values, ``name`` the branch,
    source, sense or flag; ``value`` is put there, or added to what is there."""

    what: str
    """"ohm", "source volt", "source ohm", "diode", "sense", "flag"."""
    name: str
    value: float
    add: bool = False


@dataclass(frozen=True, slots=True)
class Fault:
    """One single fault. ``subjects``: cores, terminals or device, as ids; ``state``: a part's.

    ``doors``: the doors of the cell it is in. ``seen_by_dc`` False: direct current cannot show it.
    """

    id: str
    kind: FaultKind
    subjects: tuple[str, ...]
    edits: tuple[Edit, ...]
    state: str = ""
    ohm: float | None = None
    seen_by_dc: bool = True


class Effect(StrEnum):
    """What a fault does to a door, worst first."""

    TRAPS = "traps"
    BLOCKS = "blocks the exit"
    LATCH = "frees the latch in a fire"
    OPENS = "opens"
    STOPS = "stops"
    SILENT = "silent"
    SHOWS = "shows"
    """It alters daily use in a way somebody notices, and nothing worse."""
    NOTHING = "nothing"


@dataclass(frozen=True, slots=True)
class Consequence:
    """One fault on one door: its worst effect, in which situation, and every other effect."""

    fault: str
    door: str
    effect: Effect
    situation: str
    also: tuple[Effect, ...] = ()
    figures: Mapping[str, float | str] = field(default_factory=dict)
    """Volts at the lock sound and with the fault, and the contact that moved."""


@dataclass(frozen=True, slots=True)
class Counts:
    """Every point is counted: run = solved + unsolved; chatter and marginal are among them."""

    points: int = 0
    solved: int = 0
    unsolved: int = 0
    chatter: int = 0
    faults: int = 0
    eliminations: int = 0
    newton_steps: int = 0
    reductions: int = 0

    def __add__(self, other: Counts) -> Counts:
        return Counts(
            self.points + other.points,
            self.solved + other.solved,
            self.unsolved + other.unsolved,
            self.chatter + other.chatter,
            self.faults + other.faults,
            self.eliminations + other.eliminations,
            self.newton_steps + other.newton_steps,
            self.reductions + other.reductions,
        )


@dataclass(frozen=True, slots=True)
class FaultReport:
    """The answer of a fault run. ``consequences`` leave out what does nothing and what only
    shows; ``unseen`` are faults that direct current cannot show."""

    consequences: tuple[Consequence, ...]
    faults: Mapping[str, Fault]
    counts: Counts
    unseen: tuple[str, ...]
    may_not_restart: tuple[str, ...]
