"""The primitive electrical elements a part is made of.

Every element joins two terminals of its part. An element with ``on`` is there only while that
expression is true. Conductances that the solver sees are never negative.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from latchwork.elements.figures import Figure
from latchwork.elements.rules import TRUE, Expr


class ResistorRole(StrEnum):
    """What a resistance is; the table of worst cases chooses its value by this."""

    CONDUCTOR = "conductor"
    COIL = "coil"
    LOAD = "load"
    JOINT = "joint"
    LEAK = "leak"
    INTERNAL = "internal"


@dataclass(frozen=True, slots=True)
class Resistor:
    """A linear resistance, at 20 °C. Conductors and coils are copper and follow temperature."""

    name: str
    a: str
    b: str
    ohm: Figure
    role: ResistorRole = ResistorRole.LOAD
    on: Expr = TRUE
    impedance_ohm: Figure | None = None
    """Effective impedance on alternating current, where it differs (coils)."""


@dataclass(frozen=True, slots=True)
class Rail:
    """A stiff internal voltage behind a resistance: the pull-up of an input.

    Drives ``plus`` towards ``volt`` above ``minus`` through ``ohm``. Always linear; the current it
    takes from the part's own supply is too small to matter (under a milliamp).
    """

    name: str
    plus: str
    minus: str
    volt: Figure
    ohm: Figure
    on: Expr = TRUE


class SourceShape(StrEnum):
    """What a source does past its limit."""

    CONSTANT = "constant current"
    FOLD_BACK = "folds back"
    BREAKS_DOWN = "breaks down"
    """No limit of its own (a battery): the volts sag by ``ohm`` alone."""


@dataclass(frozen=True, slots=True)
class Source:
    """A supply or battery: ``volt`` behind ``ohm``, never taking current back in.

    Regions: giving (volt - ohm*I), at the limit (I = limit_a, or on the fold-back line from
    limit_a at full volts to ``fold_a`` at zero volts), off (terminals above ``volt``).
    ``low_volt`` replaces ``volt`` while ``low_when`` is true (a battery at its end).
    ``alternating`` sources give effective values at one frequency.
    """

    name: str
    plus: str
    minus: str
    volt: Figure
    ohm: Figure
    limit_a: Figure | None
    shape: SourceShape = SourceShape.CONSTANT
    fold_a: float = 0.0
    on: Expr = TRUE
    low_volt: Figure | None = None
    low_when: Expr | None = None
    alternating: bool = False


class LoadLaw(StrEnum):
    """How a load's current follows its volts."""

    POWER = "constant power"
    CURRENT = "constant current"


@dataclass(frozen=True, slots=True)
class Load:
    """An electronic load between ``plus`` and ``minus``; draws nothing when reversed.

    ``amount`` is watts for POWER, amperes for CURRENT. Below ``floor_v`` it is the resistance
    that meets the law at ``floor_v``, so that it fades to nothing at zero volts.
    """

    name: str
    plus: str
    minus: str
    law: LoadLaw
    amount: Figure
    floor_v: float
    on: Expr = TRUE


@dataclass(frozen=True, slots=True)
class Diode:
    """I = saturation_a * (exp(V / (ideality * 25.85 mV)) - 1), anode to cathode, at 300 K."""

    name: str
    anode: str
    cathode: str
    saturation_a: float = 1e-9
    ideality: float = 1.8


@dataclass(frozen=True, slots=True)
class Contact:
    """A mechanical or solid-state contact: ``closed_ohm`` while ``closed`` is true, else open."""

    name: str
    a: str
    b: str
    closed: Expr
    closed_ohm: Figure
    rating_a: float | None = None
    at_rest: str = "open"
    """"open" or "closed" with nothing powered and nobody touching it (how it is drawn)."""


@dataclass(frozen=True, slots=True)
class Fuse:
    """Carries ``rating_a`` for ever, blows above ``blows_at_a``. ``resets``: a polymer fuse that
    comes back once its load is taken away."""

    name: str
    a: str
    b: str
    ohm: Figure
    rating_a: float
    blows_at_a: float
    resets: bool = False


Element = Resistor | Rail | Source | Load | Diode | Contact | Fuse


def joining_ohm(what: Element) -> Figure | None:
    """Ohms with which an element joins its two nodes for a meter with the power off, its contact
    closed; None: coils, loads, sources, diodes and leaks do not."""
    match what:
        case Contact(closed_ohm=ohm) | Fuse(ohm=ohm):
            return ohm
        case Resistor(role=ResistorRole.INTERNAL | ResistorRole.JOINT, ohm=ohm):
            return ohm
    return None
