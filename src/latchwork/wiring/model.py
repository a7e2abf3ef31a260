"""Wiring: which terminal is joined to which, through which core."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from latchwork.elements import Figure
from latchwork.plan.model import Plan


@dataclass(frozen=True, slots=True)
class Conductor:
    """One core, or one stretch of it between the places where something meets it.

    ``id``: "D3.main.brown", with "#2" behind it for the second stretch. ``start`` and ``end`` are
    node names: terminals ("D3.controller.NO"), joints ("D3.J1"), taps ("K1.brown"), open ends
    ("D3.main.green@2", each a node of its own), the two sides of a break ("D3.main.green~1a",
    "D3.main.green~1b") or the place of a short or leak ("D3.main.green~1"). ``ohm`` is at 20 °C.
    """

    id: str
    cable: str
    core: str
    start: str
    end: str
    length_m: Figure
    ohm: Figure
    leg: str
    door: str


@dataclass(frozen=True, slots=True)
class Lead:
    """A short wire or link, taken as nothing: its two ends are one node unless ``ohm`` says.

    A joint with a resistance is a lead of that resistance between the first row made in it
    ("D3.J1") and all the others ("D3.J1~").
    """

    id: str
    start: str
    end: str
    leg: str
    door: str
    ohm: Figure | None = None


@dataclass(frozen=True, slots=True)
class Bridge:
    """A short or leak between two nodes, with its resistance."""

    id: str
    a: str
    b: str
    ohm: Figure
    door: str


@dataclass(frozen=True, slots=True)
class PartState:
    """A part that is not as its data sheet says: "contact NO welded", "coil open" …

    ``state`` is one of the part's own names for its states; "missing": it is not there at all.
    """

    device: str
    state: str
    ohm: Figure | None = None
    when: str = ""


@dataclass(frozen=True, slots=True)
class WiredRow:
    """One row as people read it: from, cores, to, by leg (for lists, drawings and pasting)."""

    door: str
    leg: str
    start: str
    cores: tuple[str, ...]
    """Core ids; empty for a lead."""
    end: str
    planned: bool
    """False where a deviation changed it."""


@dataclass(frozen=True, slots=True)
class Trouble:
    """What the standard arrangement could not do with the kit that is there.

    ``code`` is one of "too few cores", "no such contact", "no such terminal", "supply unsaid",
    "output unsaid", "nothing to join to", "in no row", "one contact for several locks", "left
    open". ``figures`` are the numbers and names that the words need (needed, available, cable,
    device, terminal).
    """

    code: str
    door: str
    leg: str
    figures: Mapping[str, str | int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Wiring:
    """The site's conductors after deviations, and the rows they came from."""

    plan: Plan
    rows: tuple[WiredRow, ...]
    conductors: tuple[Conductor, ...]
    leads: tuple[Lead, ...]
    bridges: tuple[Bridge, ...] = ()
    states: tuple[PartState, ...] = ()
    arrangement: Mapping[str, str] = field(default_factory=dict)
    """Door id -> code of the standard arrangement chosen ("own wiring" where described whole)."""
    planned_rows: tuple[WiredRow, ...] = ()
    """The rows before the deviations."""
    troubles: tuple[Trouble, ...] = ()
    absent: tuple[Conductor, ...] = ()
    """Cores that the plan has and the site has not, where they should be: nothing flows in them."""
    interlocked: frozenset[str] = frozenset()
    """Doors whose wires make another door's contact a condition of theirs."""
