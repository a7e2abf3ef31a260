"""A part with its figures resolved: terminals, elements, rules for its contacts, ratings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from latchwork.elements import Element, Figure, StateRule


@dataclass(frozen=True, slots=True)
class Terminal:
    """A screw. Terminals next to each other on the part stand next to each other in the tuple."""

    name: str
    does: str
    """A word key: what the terminal is for."""


@dataclass(frozen=True, slots=True)
class Part:
    """One kind of device with its figures.

    ``figures`` are numbers in SI units by name with the unit ("resistance_ohm"), ``facts`` are
    words and flags ("energised": "locks", "current": "dc", "ingress": "IP54").
    """

    name: str
    kind: str
    terminals: tuple[Terminal, ...]
    elements: tuple[Element, ...]
    rules: tuple[StateRule, ...]
    figures: Mapping[str, Figure] = field(default_factory=dict)
    facts: Mapping[str, str | int | float | bool] = field(default_factory=dict)

    def has_terminal(self, name: str) -> bool:
        """Whether the part has a terminal of that name."""
        return any(t.name == name for t in self.terminals)


def moved_at_rest(part: Part) -> bool:
    """Whether a part's relay is energised in healthy idle, so that its contacts have moved."""
    facts = part.facts
    return facts.get("relay") == "energised when idle" or facts.get("held") == "energised in normal"


def lever_frees(lock: Part) -> bool:
    """Whether a lever or panic bar frees a lock of this kind by itself."""
    return bool(lock.facts.get("lever_frees", lock.kind in ("strike", "motor")))


def sees_who_comes(part: Part) -> bool:
    """Whether it asks to leave for whoever comes, without anything done: no touchless button."""
    return part.kind == "exit sensor" and part.facts.get("worked_by_hand") is not True


@dataclass(frozen=True, slots=True)
class Core:
    """One core of a cable type. ``colour``: the cable's own words ("blue-white")."""

    name: str
    colour: str
    pair: int | None = None


@dataclass(frozen=True, slots=True)
class CableType:
    """A kind of cable. ``ohm_per_m`` at 20 °C for one core; ``limit_a`` what a core may carry."""

    name: str
    cores: tuple[Core, ...]
    ohm_per_m: Figure
    limit_a: float
    area_m2: float
    material: str = "copper"
    screened: bool = False
    neighbours: tuple[tuple[str, str], ...] = ()
    """Pairs of core names that touch in the lay."""
    facts: Mapping[str, str | int | float | bool] = field(default_factory=dict)
