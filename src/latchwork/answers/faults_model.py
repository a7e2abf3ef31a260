"""What ``faults`` answers: frozen, plain, the same facts for people and programs."""

from __future__ import annotations

import msgspec

from latchwork.answers.beyond import Beyond
from latchwork.answers.service import ServiceLine
from latchwork.answers.service_batteries import BatteryLine


class FaultLine(msgspec.Struct, frozen=True):
    """One fault at one door. ``id`` is its name, which ``--fault`` looks in; ``subjects`` the
    cores, terminals or device; ``seen`` False: direct current does not show the fault itself."""

    id: str
    kind: str
    subjects: tuple[str, ...]
    text: str
    effect: str
    also: tuple[str, ...]
    situation: str
    moment: str
    """"begins" or "held"."""
    case: str
    lock: str
    sound_v: float
    faulty_v: float
    sound_state: str
    faulty_state: str
    moved: dict[str, str]
    """Contacts and fuses that stand otherwise than without it: "open" or "closed"."""
    lost: tuple[str, ...]
    """Devices without their volts that have them otherwise."""
    restless: bool
    """Contacts never come to rest: the rest of this is one moment."""
    why: str
    seen: bool
    later: bool
    """It does its harm hours later, and nobody notices until then."""


class AttackLine(msgspec.Struct, frozen=True):
    """One attack that opens the door. ``unit`` "": nothing is taken off the wall."""

    unit: str
    text: str
    joined: tuple[tuple[str, ...], ...]
    across: tuple[str, ...]
    volts: float
    situation: str
    why: str


class CoverageLine(msgspec.Struct, frozen=True):
    """What was tried at a door from outside."""

    units: tuple[str, ...]
    ends: int
    joins: int
    of: int
    batteries: int
    without_tools: int


class PairLine(msgspec.Struct, frozen=True):
    """A silent fault, and the second one with which it does what neither does alone."""

    silent: str
    second: str
    effect: str
    situation: str


class ComesLine(msgspec.Struct, frozen=True):
    """What faults do at its door or at another one with a change, and did not before."""

    door: str
    effect: str
    faults: tuple[str, ...]


class FaultRemedyLine(msgspec.Struct, frozen=True):
    """A change that was tried. ``effect`` "attack": it is against attacks. ``had`` and ``left``:
    how many of that effect there are without it and with it."""

    effect: str
    takes_away: tuple[str, ...]
    had: int
    left: int
    comes: tuple[ComesLine, ...]
    """What it brings at other doors, of less harm than what it takes away."""
    lines: tuple[str, ...]
    """The difference it makes in the file's own lines."""
    new_parts: tuple[str, ...]
    on_site: bool
    takes_over: bool


class DoorFaults(msgspec.Struct, frozen=True):
    """One door. ``beyond``: what of it is beyond the model, and gets no answer, if anything;
    ``has_lock``: one is there that current moves, else nothing was tried; ``missing``: those that
    were found missing. ``counts``: faults by their worst effect; ``covered`` None: attacks were not
    asked for."""

    id: str
    name: str
    has_lock: bool
    missing: tuple[str, ...]
    beyond: Beyond | None
    counts: dict[str, int]
    faults: tuple[FaultLine, ...]
    attacks: tuple[AttackLine, ...]
    covered: CoverageLine | None
    pairs: tuple[PairLine, ...]
    remedies: tuple[FaultRemedyLine, ...]
    service: tuple[ServiceLine, ...]
    untried: tuple[str, ...]
    """Silent faults in words that no test finds: they show only in what is beyond the model, or at
    no lock for sure and by no meter."""


class CountsLine(msgspec.Struct, frozen=True):
    """Every point is counted: points = solved + unsolved. ``distinct`` are those that their
    network tells apart; chatter and what follows are among the points, up to the work done."""

    points: int
    distinct: int
    solved: int
    unsolved: int
    chatter: int
    marginal: int
    floating: int
    not_restarting: int
    eliminations: int
    newton_steps: int
    reductions: int


class FaultsAnswer(msgspec.Struct, frozen=True):
    """Single faults, attacks, silent pairs by door. ``latchwork_faults`` is the version of this
    form."""

    latchwork_faults: int
    file: str
    site: str
    faults: int
    """How many were listed."""
    drained: tuple[str, ...]
    """Supplies that give less than their doors take with nobody about: their battery runs flat on
    mains, and is taken for fresh here."""
    doors: tuple[DoorFaults, ...]
    batteries: tuple[BatteryLine, ...]
    """Of the service plan, the battery of each supply."""
    unseen: tuple[str, ...]
    counts: CountsLine
    attack_counts: CountsLine | None
    pair_counts: CountsLine | None
    pairs_run: int
    pairs_of: int
    remedies_asked: bool
    caution: str
