"""Doors with a fault against ngspice, every contact where the fault run left it.

The deck is read by a second path (``netlist``) from the fault as it is named (``faulted``). Every
node that something holds agrees within a millivolt, as a situation begins and as it is held.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest

from _jobs import job_text
from latchwork.behaviour import Case
from latchwork.faults import FaultKind
from latchwork.faults.prepare import Prepared, groups_of, prepare, prepare_whole
from latchwork.wiring import Wiring
from tests.circuit.dense import dense
from tests.circuit.sample import Sample, held
from tests.faults.known import jobs
from tests.outside.spice import operating_points
from tests.outside.test_circuit_doors import LEFT_A, over_a
from tests.outside.test_circuit_spice import deck
from tests.outside.what_ifs import Array, Circuit, WhatIf, what_ifs
from tests.truth.solved import wired

WITHIN_V = 1e-3
DENSE_V = 1e-5
"""The dense solver rests once less than a picoampere is left over: microvolts on megohms."""
LEFT_THERE_A = 1e-4
"""ngspice rests with a millionth part of its currents left over, and its shunts and leaks."""
POWERS = {"mains", "battery", "battery at its end", "all lost", "power returns"}
EARTHED = next(iter(jobs().values())) + (
    "    found: [{leak: [lock brown, earth], at: 1 m, resistance: 5 kohm}]\n"
)
"""A door whose plus leaks to earth, so that its cores may touch earth to some effect."""
DOORS = 112
"""Every recipe of the generator twice, a tenth of them as found with deviations."""
SAMPLED_FROM = 56
SAMPLED = ("D1", "D2", "D8", "D11", "D30", "D50")
"""Doors with each kind of lock, alone on their supply and beside up to five others."""


@dataclass
class Held:
    """What has been held against ngspice: what-ifs, and how many circuits they are, as many
    what-ifs are one circuit; the largest difference. ``several``: circuits of which the dense
    solver does not say that they have one answer; ngspice begins from ours there. ``elsewhere``:
    what-ifs in which it finds another, both being answers by the laws as they are written the
    second time. ``silent``: those of which ngspice finds none at all."""

    compared: int = 0
    circuits: int = 0
    several: int = 0
    worst_v: float = 0.0
    elsewhere: list[str] = field(default_factory=list)
    silent: list[str] = field(default_factory=list)
    kinds: set[FaultKind] = field(default_factory=set)
    powers: set[str] = field(default_factory=set)

    def __str__(self) -> str:
        return (
            f"{self.compared} what-ifs in {self.circuits} circuits, {self.several} of them from "
            f"our volts, largest difference {self.worst_v:.2g} V; "
            f"{len(self.elsewhere)} with another answer, {len(self.silent)} without one"
        )

    def take(self, some: list[WhatIf], folder: Path) -> None:
        """Hold some what-ifs against ngspice and the dense solver."""
        begins: dict[Sample, Array] = {}
        for circuit in (c for what in some for c in what.moments):
            if circuit.sample not in begins:
                only = only_answer(circuit)
                begins[circuit.sample] = ours_of(circuit) if only is None else only
                self.several += only is None
        decks = [deck(sample, begin) for sample, begin in begins.items()]
        theirs = dict(zip(begins, operating_points(decks, folder), strict=True))
        self.circuits += len(begins)
        for what in some:
            found = [theirs[c.sample] for c in what.moments]
            if any(volts is None for volts in found):
                self.silent.append(what.name)
                continue
            apart_v = []
            for circuit, volts in zip(what.moments, found, strict=True):
                assert volts is not None
                apart_v.append(farthest_v(circuit, volts))
                if apart_v[-1] > WITHIN_V:
                    for answer, left_a in (
                        (ours_of(circuit), LEFT_A),
                        (by_node(circuit, volts), LEFT_THERE_A),
                    ):
                        assert over_a(circuit.sample, answer) < left_a, (what.name, apart_v)
            if max(apart_v) > WITHIN_V:
                self.elsewhere.append(what.name)
                continue
            self.worst_v = max(self.worst_v, *apart_v)
            self.compared += 1
            self.kinds.add(what.fault.kind)
            self.powers.add(what.situation.partition("/")[0])


def ours_of(circuit: Circuit) -> Array:
    """Our volts by the node of the second reading."""
    ours = np.zeros(circuit.sample.nodes)
    for name, volts in circuit.ours.items():
        if (node := circuit.node_of[name]) != 0:
            ours[node] = volts
    return ours


def only_answer(circuit: Circuit) -> Array | None:
    """The answer of the dense solver where it finds but one, which is ours too."""
    found = dense(circuit.sample)
    if found is not None:
        tied = held(circuit.sample, list(found))
        for name, ours in circuit.ours.items():
            node = circuit.node_of[name]
            assert not tied[node] or abs(ours - found[node]) < DENSE_V, name
    return found


def by_node(circuit: Circuit, theirs: Mapping[str, float]) -> Array:
    return np.array([theirs.get(f"n{k}", 0.0) for k in range(circuit.sample.nodes)])


def farthest_v(circuit: Circuit, theirs: Mapping[str, float]) -> float:
    """The largest difference at a node that something holds."""
    volts = by_node(circuit, theirs)
    tied = held(circuit.sample, list(volts))
    nodes = {name: circuit.node_of[name] for name in circuit.ours}
    return max(abs(circuit.ours[n] - float(volts[k])) for n, k in nodes.items() if tied[k])


def some_of(
    wiring: Wiring, cells: Iterable[Prepared], keep: float, rng: np.random.Generator
) -> Iterator[list[WhatIf]]:
    """A share of the what-ifs of every door of some cells."""
    share = math.sqrt(keep)
    for item in cells:
        faults = [fault for fault in item.cell.faults if rng.random() < share]
        for door in range(len(item.cell.doors)):
            yield list(what_ifs(wiring, item, door, faults, lambda *_: rng.random() < share))


def compare(job: str, keep: float, seed: int, folder: Path) -> tuple[int, float]:
    """How many what-ifs of a job were compared, and the largest difference."""
    found = Held()
    wiring = wired(job)
    for some in some_of(wiring, prepare(wiring), keep, np.random.default_rng(seed)):
        found.take(some, folder)
    return found.compared, found.worst_v


def whole(wiring: Wiring, door: str) -> list[Prepared]:
    """The whole supply of a door, not apart at its plus."""
    return list(prepare_whole(wiring, groups_of(wiring, [door]), Case.NOMINAL, lambda _: True))


SECTIONS = [*jobs(), "earthed"]


@pytest.mark.parametrize(
    "section",
    [
        pytest.param(s, marks=pytest.mark.slow_oracle if n % 3 else ())
        for n, s in enumerate(SECTIONS)
    ],
)
def test_a_sample_of_faulty_doors_agrees_with_ngspice(section: str, tmp_path: Path) -> None:
    compared, _ = compare({**jobs(), "earthed": EARTHED}[section], 0.03, 5, tmp_path)
    assert compared >= 30


def test_a_sample_of_generated_doors_agrees_with_ngspice(tmp_path: Path) -> None:
    wiring = wired(job_text(SAMPLED_FROM))
    # Where 100 Ω before a whole door are drawn, ngspice finds no answer in most of its situations.
    rng = np.random.default_rng(7)
    cells = [p for p in prepare(wiring, SAMPLED) if set(SAMPLED) & set(p.cell.doors)]
    found = Held()
    for some in (
        *some_of(wiring, cells, 0.02, rng),
        *some_of(wiring, whole(wiring, "D8"), 0.003, rng),
    ):
        found.take(some, tmp_path)
    assert found.compared >= 300
    assert len(found.silent) + len(found.elsewhere) <= found.compared // 100
    assert found.powers == POWERS


@pytest.mark.slow_oracle
def test_ten_thousand_what_ifs_agree_with_ngspice(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Hand-written and generated doors, faults of every kind, in every situation."""
    rng = np.random.default_rng(7)
    found = Held()
    for job in (*jobs().values(), EARTHED):
        wiring = wired(job)
        for some in some_of(wiring, prepare(wiring), 0.15, rng):
            found.take(some, tmp_path)
    wiring = wired(job_text(DOORS))
    for some in some_of(wiring, prepare(wiring), 0.021, rng):
        found.take(some, tmp_path)
    for door in ("D2", "D4", "D7", "D11"):  # of two, three, four and six doors
        for some in some_of(wiring, whole(wiring, door), 0.02, rng):
            found.take(some, tmp_path)
    with capsys.disabled():
        print(f"\nheld against ngspice: {found}")
    assert found.compared >= 10_000
    assert len(found.elsewhere) <= found.compared // 1000, found.elsewhere
    assert len(found.silent) <= found.compared // 200, found.silent
    assert found.kinds == set(FaultKind)
    assert found.powers == POWERS
    assert 0.0 < found.worst_v < WITHIN_V
