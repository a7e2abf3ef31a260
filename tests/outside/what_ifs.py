"""What-ifs of the fault run beside the same circuits as the second path reads them.

The contacts stand where the fault run left them; everything else is read anew.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from latchwork.circuit import Work
from latchwork.faults import Fault
from latchwork.faults.engine import Cell, solve_edits
from latchwork.faults.looks import MOMENTS, Looks
from latchwork.faults.prepare import Prepared
from latchwork.wiring import Wiring
from tests.circuit.sample import Resistance, Sample
from tests.outside.faulted import apart, faulted
from tests.outside.netlist import read

Array = NDArray[np.float64]
Wanted = Callable[[Fault, int], bool]
"""Whether a fault is wanted in a situation, by its column."""


@dataclass(frozen=True)
class Circuit:
    """One moment: our volts by node name, and the circuit as it is read the second time."""

    ours: dict[str, float]
    sample: Sample
    node_of: dict[str, int]


@dataclass(frozen=True)
class WhatIf:
    """One fault in one situation: as it begins, and held."""

    fault: Fault
    situation: str
    moments: tuple[Circuit, ...]

    @property
    def name(self) -> str:
        return f"{self.fault.id} in {self.situation}"


def solved(cell: Cell, door: int, faults: Sequence[Fault]) -> Looks:
    """Some faults of a cell in every situation of one of its doors, in their order."""
    edits = [fault.edits for fault in faults]
    return Looks(solve_edits([cell], [0] * len(edits), edits, cell.scripts[door], Work()))


def stable(looks: Looks) -> NDArray[np.bool_]:
    """Members x situations: what is solved and comes to rest."""
    calm: NDArray[np.bool_] = looks.solved.all_solved() & ~looks.solved.any_chatter()
    return calm


def what_ifs(
    wiring: Wiring, item: Prepared, door: int, faults: Sequence[Fault], wanted: Wanted
) -> Iterator[WhatIf]:
    """The wanted what-ifs of one door that come to rest."""
    cell = item.cell
    sound = apart(wiring, cell.doors, item.supplies)
    looks = solved(cell, door, faults)
    for m, c in np.argwhere(stable(looks)).tolist():
        if wanted(faults[m], c):
            found = faulted(sound, faults[m])
            moments = tuple(
                _circuit(cell, looks, found, m, c, _others(cell, door, c, held=held), held=held)
                for held in MOMENTS
            )
            yield WhatIf(faults[m], cell.situations[door][c].key, moments)


def _others(cell: Cell, door: int, column: int, *, held: bool) -> Array | None:
    """Amperes that the supply's other doors draw, at the volts of their curve."""
    if cell.curves is None:
        return None
    its = cell.scripts[door]
    stage, event, _ = its.columns[column]
    _, first, then = its.modes[stage]
    drawn: Array = cell.curves[then if held or event is not None else first]
    return drawn


def _circuit(
    cell: Cell,
    looks: Looks,
    wiring: Wiring,
    member: int,
    column: int,
    others_a: Array | None,
    *,
    held: bool,
) -> Circuit:
    net = cell.network
    where = np.array([member]), np.array([column])
    flags = looks.solved.at("flags", *where, held=held)[:, 0]
    volts = looks.solved.at("volts", *where, held=held)[:, 0]
    by_name = {flag: bool(flags[n]) for flag, n in net.flags.items()}
    sample, node_of = read(wiring, by_name).sample([net.reference])
    ours = {node: float(volts[n]) for node, n in net.nodes.items() if node in node_of}
    if others_a is not None:
        _, plus, minus, _, _ = net.shape.devices[-1]
        names = {n: name for name, n in net.nodes.items()}
        fed_v = float(volts[plus] - volts[minus])
        amps = float(np.interp(fed_v, cell.values.curve_v, others_a)) if fed_v > 0.0 else 0.0
        if amps > 0.0:
            # What they draw at our volts: were these wrong, theirs would be others.
            rest = Resistance(node_of[names[plus]], node_of[names[minus]], fed_v / amps)
            sample = replace(sample, resistances=(*sample.resistances, rest))
    return Circuit(ours, sample, node_of)
