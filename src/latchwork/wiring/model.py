"""Wiring: which terminal is joined to which, through which core."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from latchwork.elements import Figure
from latchwork.plan.model import Plan


@dataclass(frozen=True, slots=True)
class Conductor:
    """One core (or one stretch of it between taps) from ``start`` to ``end``.

    ``id``: "D3.main.brown", with "#2" behind it for the second stretch. ``start`` and ``end`` are
    node names: terminals ("D3.controller.NO"), joints ("D3.J1"), taps ("K1.brown"), or open ends
    ("D3.main.green@2", each a node of its own). ``ohm`` is at 20 °C, joints at its ends included
    in ``joint_ohm``. Broken cores are two conductors with an open end each.
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
    start_joint_ohm: float = 0.0
    end_joint_ohm: float = 0.0


@dataclass(frozen=True, slots=True)
class Lead:
    """A short wire or link, taken as nothing: its two ends are one node unless ``ohm`` says."""

    id: str
    start: str
    end: str
    leg: str
    door: str
    ohm: float = 0.0


@dataclass(frozen=True, slots=True)
class Bridge:
    """A short, leak or added link between two nodes, with its resistance."""

    id: str
    a: str
    b: str
    ohm: float
    door: str


@dataclass(frozen=True, slots=True)
class PartState:
    """A part that is not as its data sheet says: "contact NO welded", "coil open" …"""

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
