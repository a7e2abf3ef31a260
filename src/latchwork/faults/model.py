"""Faults, what they change in a network's numbers, and what they do to a door."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

import msgspec

from latchwork.behaviour import Case


class FaultKind(StrEnum):
    """What kind of single fault it is."""

    OPEN = "open"
    JOINT = "joint"
    SHORT = "short"
    TO_PLUS = "to plus"
    TO_MINUS = "to minus"
    TO_EARTH = "to earth"
    STATE = "part state"
    SITE = "site"


class Many(msgspec.Struct, frozen=True, gc=False):
    """What a large run has by the hundred thousand: as dataclasses such things take four times as
    long to make, and to take in from another process."""


class Edit(Many, frozen=True):
    """One number of a network changed: ``what`` names the field of Values, ``name`` the branch,
    source, load, diode, fuse or flag; ``value`` is put there, or added to what is there."""

    what: str
    """"ohm", "source volt", "source ohm", "load", "diode", "fuse", "rail", "flag"."""
    name: str
    value: float
    add: bool = False
    needs: str = ""
    """For a flag held on: another one that it cannot do without, such as power."""


class Fault(Many, frozen=True):
    """One single fault. ``subjects``: cores, terminals or device, as ids; ``state``: a part's.

    ``seen_by_dc`` False: direct current cannot show it. ``till_then``: of what does its harm hours
    later only, and nobody notices before, where a meter tells it meanwhile.
    """

    id: str
    kind: FaultKind
    subjects: tuple[str, ...]
    edits: tuple[Edit, ...]
    state: str = ""
    ohm: float | None = None
    seen_by_dc: bool = True
    till_then: Reading | None = None


class Effect(StrEnum):
    """What a fault does to a door, worst first."""

    TRAPS = "traps"
    BLOCKS = "blocks the exit"
    INWARD = "shuts out who escapes inward"
    HOLDS = "stays locked in a fire"
    RELEASE = "stops the emergency release"
    LATCH = "frees the latch in a fire"
    OPENS = "opens"
    STOPS = "stops"
    SILENT = "silent"
    SHOWS = "shows"
    """It alters daily use in a way somebody notices, and nothing worse."""
    NOTHING = "nothing"


GRAVE = (
    Effect.TRAPS,
    Effect.BLOCKS,
    Effect.INWARD,
    Effect.HOLDS,
    Effect.RELEASE,
    Effect.LATCH,
    Effect.OPENS,
)
"""What people's lives or their property hang on."""
TOLD = (*GRAVE, Effect.STOPS, Effect.SILENT)
"""What a report tells."""


class Why(Many, frozen=True):
    """How a consequence comes about, at one lock in one situation and moment.

    Volts across the lock and its state, without the fault and with it. ``moved``: contacts and
    fuses that stand otherwise with the fault ("D2.controller.contact NC"), and whether they are
    closed now; ``lost``: devices without their volts that have them otherwise; ``restless``:
    contacts never come to rest, and what is told is one moment of it.
    """

    lock: str
    held: bool
    """Whether it is about the situation held, not as it begins."""
    sound_v: float
    faulty_v: float
    sound_state: str
    faulty_state: str
    moved: tuple[tuple[str, bool], ...]
    lost: tuple[str, ...]
    restless: bool = False


UNTOLD = Why("", False, 0.0, 0.0, "", "", (), ())
"""Where nobody asked for reasons."""


class Reading(Many, frozen=True):
    """Where a meter tells a silent fault best: volts of ``terminal`` against ``against`` in one
    situation, without the fault and with it."""

    situation: str
    held: bool
    terminal: str
    against: str
    sound_v: float
    faulty_v: float


class Shown(NamedTuple):
    """Where a silent fault shows: in one situation, ``held`` or as it begins, a lock does otherwise
    than its ``state`` without the fault. Not ``sure``: it is marginal then, and may do as it
    should."""

    situation: str
    held: bool
    lock: str
    state: str
    sure: bool = True


class Consequence(Many, frozen=True):
    """One fault on one door: its worst effect, in which situation, and every other effect.

    Of silent faults ``shows_in`` names every situation in which a lock does otherwise;
    ``reading`` is where a meter tells (None: nowhere clearly).
    """

    fault: str
    door: str
    effect: Effect
    situation: str
    also: tuple[Effect, ...]
    why: Why
    case: Case = Case.NOMINAL
    shows_in: tuple[Shown, ...] = ()
    reading: Reading | None = None


class Counts(Many, frozen=True):
    """Every point is counted: points = solved + unsolved.

    ``distinct`` are those that their network tells apart: a fire alarm where nothing hears it is
    no other situation. ``chatter``, ``marginal``, ``floating`` (a lock hangs on nothing) and
    ``not_restarting`` (what runs on mains does not start when power returns) are among the points.
    ``eliminations`` and what follows is work done.
    """

    points: int = 0
    distinct: int = 0
    solved: int = 0
    unsolved: int = 0
    chatter: int = 0
    marginal: int = 0
    floating: int = 0
    not_restarting: int = 0
    eliminations: int = 0
    newton_steps: int = 0
    reductions: int = 0

    def __add__(self, other: Counts) -> Counts:
        names = self.__struct_fields__
        return Counts(*(getattr(self, name) + getattr(other, name) for name in names))


@dataclass(frozen=True, slots=True)
class Attack:
    """One thing done from outside. ``unit``: what is off the wall; ``groups``: ends of its cores
    joined; ``volts`` of a battery from the first of ``across`` to the second; ``beside``: a second
    unit that is off the wall."""

    door: str
    unit: str
    name: str
    groups: tuple[tuple[str, ...], ...] = ()
    across: tuple[str, str] | None = None
    volts: float = 0.0
    beside: str = ""


@dataclass(frozen=True, slots=True)
class AttackResult:
    """An attack that opened the door, in which situation, and how."""

    attack: Attack
    situation: str
    why: Why


@dataclass(frozen=True, slots=True)
class Coverage:
    """What was tried at one door. Joins ``of`` all there are (the partitions of the ends in hand),
    batteries across two ends, and things done without tools."""

    door: str
    units: tuple[str, ...]
    ends: int
    joins: int
    of: int
    batteries: int
    without_tools: int


@dataclass(frozen=True, slots=True)
class AttackReport:
    """What was tried, by door, and what opened."""

    opened: tuple[AttackResult, ...]
    coverage: tuple[Coverage, ...]
    counts: Counts


@dataclass(frozen=True, slots=True)
class Pair:
    """A silent fault and the second one that brings it to light."""

    door: str
    silent: str
    second: str
    effect: Effect
    situation: str
    reading: Reading | None
    """Where a meter tells the silent one."""
    second_reading: Reading | None = None
    """Where a meter tells the second one, if nobody notices that either."""
    both: bool = False
    """Whether nobody notices the second one either."""


@dataclass(frozen=True, slots=True)
class PairReport:
    """Pairs that matter; how many were ``run`` of how many there are."""

    pairs: tuple[Pair, ...]
    run: int
    of: int
    counts: Counts


class WhatIf(Many, frozen=True):
    """One fault, one door, one situation: a lock's state and volts as it begins and held."""

    door: str
    fault: str
    case: Case
    situation: str
    lock: str
    begins: str
    held: str
    begins_v: float
    held_v: float
    solved: bool
    chatter: bool
    floating: bool


@dataclass(frozen=True, slots=True)
class FaultReport:
    """The answer of a fault run.

    ``consequences`` leave out what does nothing and what only shows; ``faults`` are those that are
    told of, by id, of as many as were ``listed``; ``unseen`` those that direct current cannot
    show; ``what_ifs`` every single one, where they were asked for; ``drained`` supplies whose
    battery runs flat on mains, and is taken for fresh all the same. ``attacks`` and ``pairs`` None:
    not asked for.
    """

    doors: tuple[str, ...]
    consequences: tuple[Consequence, ...]
    faults: Mapping[str, Fault]
    listed: int
    unseen: tuple[str, ...]
    counts: Counts
    attacks: AttackReport | None
    pairs: PairReport | None
    what_ifs: tuple[WhatIf, ...] = ()
    drained: tuple[str, ...] = ()
