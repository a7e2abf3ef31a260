"""Doors with a fault against ngspice, every contact where the fault run left it.

The deck is read by a second path (``netlist``) from the same fault written down as found on site.
Every node that something holds agrees within a millivolt.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from latchwork.behaviour.place import NOTHING_OHM
from latchwork.circuit import Work
from latchwork.faults.engine import solve_edits
from latchwork.faults.looks import Looks
from latchwork.faults.prepare import Prepared, prepare
from latchwork.wiring import Wiring
from tests.circuit.dense import dense
from tests.circuit.sample import Sample, held
from tests.faults.known import jobs
from tests.faults.test_same_as_written import as_found
from tests.outside.netlist import read
from tests.outside.spice import operating_points
from tests.outside.test_circuit_spice import deck
from tests.truth.solved import wired

Array = NDArray[np.float64]
WITHIN_V = 1e-3
FAR_END = "12 m"
"""Where the fault run lays a short between cores: every run of the jobs is so long."""


@dataclass(frozen=True)
class WhatIf:
    """One fault in one situation: our volts by name, and the circuit as read the second time."""

    name: str
    volts: dict[str, float]
    sample: Sample
    node_of: dict[str, int]
    begin: Array


def apart(wiring: Wiring) -> Wiring:
    """Every lead a wire of its own, as the fault run has them."""
    leads = tuple(replace(lead, ohm=lead.ohm or NOTHING_OHM) for lead in wiring.leads)
    return replace(wiring, leads=leads)


def what_ifs(job: str, keep: float, rng: np.random.Generator) -> Iterator[WhatIf]:
    """A share of a job's what-ifs, those that chatter or have several answers left out."""
    (cell,) = prepare(wired(job))
    lines = []
    for n, fault in enumerate(cell.cell.faults):
        line = as_found(fault, FAR_END)
        if line is not None:
            lines.append((n, line))
    edits = [(), *(cell.cell.faults[n].edits for n, _ in lines)]
    run = solve_edits([cell.cell], [0] * len(edits), edits, cell.cell.scripts[0], Work())
    looks = Looks(run)
    calm = looks.solved.all_solved() & ~looks.solved.any_chatter()
    for m, (n, line) in enumerate(lines, start=1):
        wiring = apart(wired(f"{job}    found: [{line}]\n"))
        for column, situation in enumerate(cell.cell.situations[0]):
            if calm[m, column] and rng.random() < keep:
                name = f"{cell.cell.faults[n].id} in {situation.key}"
                found = one(cell, looks, wiring, name, m, column)
                if found is not None:
                    yield found


def one(
    cell: Prepared, looks: Looks, wiring: Wiring, name: str, member: int, column: int
) -> WhatIf | None:
    net = cell.cell.network
    where = np.array([member]), np.array([column])
    flags = looks.solved.at("flags", *where, held=True)[:, 0]
    volts = looks.solved.at("volts", *where, held=True)[:, 0]
    by_name = {flag: bool(flags[n]) for flag, n in net.flags.items()}
    sample, node_of = read(wiring, by_name).sample([net.reference])
    begin = dense(sample)
    if begin is None:  # there are several answers, and ngspice may find another
        return None
    ours = {node: float(volts[n]) for node, n in net.nodes.items() if node in node_of}
    return WhatIf(name, ours, sample, node_of, begin)


def compare(job: str, keep: float, seed: int, folder: Path) -> tuple[int, float]:
    """How many what-ifs were compared, and the largest difference."""
    found = list(what_ifs(job, keep, np.random.default_rng(seed)))
    decks = [deck(w.sample, w.begin) for w in found]
    compared, worst = 0, 0.0
    for what, theirs in zip(found, operating_points(decks, folder), strict=True):
        if theirs is None:
            continue
        volts = np.array([theirs.get(f"n{k}", 0.0) for k in range(what.sample.nodes)])
        tied = held(what.sample, list(volts))
        apart_v = {
            node: abs(v - volts[what.node_of[node]])
            for node, v in what.volts.items()
            if tied[what.node_of[node]]
        }
        far = max(apart_v, key=apart_v.__getitem__)
        assert apart_v[far] < WITHIN_V, (what.name, far, what.volts[far])
        worst = max(worst, apart_v[far])
        compared += 1
    return compared, worst


@pytest.mark.parametrize("section", list(jobs()))
def test_a_sample_of_faulty_doors_agrees_with_ngspice(section: str, tmp_path: Path) -> None:
    compared, _ = compare(jobs()[section], 0.03, 5, tmp_path)
    assert compared >= 30


@pytest.mark.slow_oracle
@pytest.mark.parametrize("section", list(jobs()))
def test_every_faulty_door_agrees_with_ngspice(section: str, tmp_path: Path) -> None:
    compared, worst = compare(jobs()[section], 1.0, 5, tmp_path)
    assert compared >= 1000
    assert 0.0 < worst < WITHIN_V
