"""What a situation adds to a drawing: volts at terminals, currents in wires, moved contacts."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

DEAD_A = 1e-5
"""A wire with less is drawn as dead: below what a fitter's meter shows."""


@dataclass(frozen=True, slots=True)
class Overlay:
    """A state to paint over a sheet. Layout does not depend on it.

    ``volts``: terminal -> volts against the reference, None where it floats. ``amps``: id of a
    core, lead or bridge -> amperes, positive from its start to its end; a wire that is not named
    is drawn as it is without an overlay. ``moved``: elements ("D3.controller.contact NO") that are
    not as at rest.
    """

    volts: Mapping[str, float | None] = field(default_factory=dict)
    amps: Mapping[str, float] = field(default_factory=dict)
    moved: Collection[str] = frozenset()
