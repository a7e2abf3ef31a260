"""Random circuits of every kind of branch: against a dense Newton, side by side, in any order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TypeVar

import numpy as np
import pytest
from numpy.typing import NDArray

from latchwork.circuit import (
    CurveRow,
    Solution,
    SourceRow,
    Topology,
    Work,
    order,
    solve,
)
from tests.circuit.conservation import assert_sample_conserved
from tests.circuit.dense import dense, left_over, linear_part
from tests.circuit.sample import (
    Drawn,
    Resistance,
    Sample,
    Supply,
    Valve,
    held,
    random_sample,
    solved,
    solved_together,
)

SAMPLES = 200
SAME_V = 1e-3
LEFT_A = 1e-6
Branch = TypeVar("Branch")


@pytest.fixture(scope="module")
def samples() -> list[Sample]:
    rng = np.random.default_rng(20)
    return [random_sample(rng) for _ in range(SAMPLES)]


def test_every_sample_is_solved_and_leaves_no_current_over(samples: list[Sample]) -> None:
    """The laws are written a second time in ``dense``: the answer must satisfy those too."""
    for sample in samples:
        solution = solved(sample)
        assert_sample_conserved(sample, solution)
        over = left_over(sample, linear_part(sample), solution.volts[:, 0], 1.0)
        assert np.abs(over).max() < LEFT_A


def test_a_dense_newton_comes_to_the_same_volts(samples: list[Sample]) -> None:
    """Every node that something holds, wherever Newton finds one answer and one only."""
    compared = 0
    for sample in samples:
        want = dense(sample)
        if want is None:
            continue
        compared += 1
        ours = solved(sample).volts[:, 0]
        off = np.abs(ours - want)[held(sample, list(ours))]
        assert off.max() < SAME_V
    assert compared > 0.9 * SAMPLES


def varied(sample: Sample, rng: np.random.Generator) -> Sample:
    """The same circuit with other lengths and ratings, some conductors open, some loads off."""

    def other(number: float) -> float:
        return number * float(rng.uniform(0.5, 2.0))

    return replace(
        sample,
        resistances=tuple(
            replace(r, ohm=np.inf if rng.random() < 0.1 else other(r.ohm))
            for r in sample.resistances
        ),
        supplies=tuple(replace(s, volt=other(s.volt)) for s in sample.supplies),
        loads=tuple(
            replace(d, amount=other(d.amount), on=bool(rng.random() < 0.8)) for d in sample.loads
        ),
    )


def test_a_column_alone_equals_itself_in_any_batch_bit_for_bit(samples: list[Sample]) -> None:
    rng = np.random.default_rng(21)
    for sample in samples[:60]:
        columns = [varied(sample, rng) for _ in range(17)]
        together = solved_together(columns)
        for n, one in enumerate(columns):
            alone = solved(one)
            assert alone.solved[0] == together.solved[n]
            assert alone.volts[:, 0].tobytes() == together.volts[:, n].copy().tobytes()
            for ours, theirs in zip(alone.device_volts, together.device_volts, strict=True):
                assert ours[0] == theirs[n]
            assert [r[0] for r in alone.regions] == [r[n] for r in together.regions]


def test_columns_with_curves_equal_themselves_alone_bit_for_bit() -> None:
    rng = np.random.default_rng(23)
    count = 40
    topology = Topology(3, ((1, 2),), ((1, 0), (2, 0)))
    points = np.linspace(0.0, 15.0, 9)
    amps = rng.uniform(0.0, 3.0, (9, count))
    rows = [rng.uniform(low, high, count) for low, high in ((11, 15), (0.05, 0.4), (0.5, 4))]
    siemens = rng.uniform(0.5, 20.0, count)

    def run(at: NDArray[np.intp]) -> Solution:
        volt, ohm, limit = (row[at] for row in rows)
        source = SourceRow(volt, ohm, limit, limit * 0.5, np.ones(len(at)))
        curve = CurveRow(points, amps[:, at])
        return solve(
            order(topology), 3, topology.nonlinear, [siemens[at]], (), [source, curve], len(at)
        )

    together = run(np.arange(count))
    assert together.solved.all()
    for n in range(count):
        alone = run(np.array([n]))
        assert alone.volts[:, 0].tobytes() == together.volts[:, n].copy().tobytes()


def shuffled(sample: Sample, rng: np.random.Generator) -> tuple[Sample, list[int]]:
    """The same circuit with its nodes renumbered and its branches in another order."""
    names = [0, *(int(n) + 1 for n in rng.permutation(sample.nodes - 1))]

    def mixed(branches: Sequence[Branch]) -> tuple[Branch, ...]:
        return tuple(branches[n] for n in rng.permutation(len(branches)))

    return Sample(
        sample.nodes,
        mixed([replace(r, a=names[r.a], b=names[r.b]) for r in sample.resistances]),
        mixed([replace(p, plus=names[p.plus], minus=names[p.minus]) for p in sample.pulls]),
        mixed([replace(s, plus=names[s.plus], minus=names[s.minus]) for s in sample.supplies]),
        mixed([replace(d, plus=names[d.plus], minus=names[d.minus]) for d in sample.loads]),
        mixed([replace(v, anode=names[v.anode], cathode=names[v.cathode]) for v in sample.diodes]),
    ), names


def test_renaming_and_reordering_alter_nothing(samples: list[Sample]) -> None:
    rng = np.random.default_rng(22)
    for sample in samples:
        if dense(sample) is None:
            continue
        other, names = shuffled(sample, rng)
        ours, theirs = solved(sample).volts[:, 0], solved(other).volts[:, 0]
        off = np.abs(ours - theirs[names])[held(sample, list(ours))]
        assert off.max() < 1e-6


def test_a_conductor_split_by_a_perfect_joint_alters_nothing(samples: list[Sample]) -> None:
    for sample in samples:
        r = sample.resistances[0]
        middle = sample.nodes
        halves = (Resistance(r.a, middle, 0.3 * r.ohm), Resistance(middle, r.b, 0.7 * r.ohm))
        split = replace(sample, nodes=middle + 1, resistances=(*halves, *sample.resistances[1:]))
        ours, theirs = solved(sample).volts[:, 0], solved(split).volts[:-1, 0]
        off = np.abs(ours - theirs)[held(sample, list(ours))]
        assert off.max() < 1e-6


def test_the_work_on_a_fixed_circuit_is_counted_and_stays_what_it_is() -> None:
    """A slow-down shows here without a clock. 12 V through two cores, one joint in each, on 1 W
    and a coil with its diode: two joints to eliminate once, three nodes in each of two steps."""
    sample = Sample(
        6,
        (
            Resistance(1, 2, 0.5),
            Resistance(2, 3, 0.5),
            Resistance(0, 4, 0.5),
            Resistance(4, 5, 0.5),
            Resistance(3, 5, 48.0),
        ),
        supplies=(Supply(1, 0, 12.0, 0.1, limit_a=2.0),),
        loads=(Drawn(3, 5, True, 1.0, 6.0),),
        diodes=(Valve(5, 3),),
    )
    topology = sample.topology
    work = Work()
    siemens = [np.array([1.0 / r.ohm]) for r in sample.resistances]
    solve(order(topology), 6, topology.nonlinear, siemens, (), sample.devices(), 1, None, work)
    assert (work.reductions, work.newton_steps, work.eliminations) == (1, 2, 2 + 2 * 3)
