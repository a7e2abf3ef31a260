"""Random circuits against ngspice's operating point, from decks written here from the samples' own
description: every node that something holds within a millivolt."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from tests.circuit.conservation import assert_sample_conserved
from tests.circuit.dense import dense
from tests.circuit.sample import Drawn, Sample, Supply, held, random_sample, solved
from tests.outside.spice import operating_points

WITHIN_V = 1e-3
LEAK_S = 1e-10
"""What a reversed load and a supply pushed above its volts let through over there: without a
slope ngspice does not find its way back to a node that hangs on one of them alone."""


def supply_line(n: int, s: Supply) -> str:
    """A current that follows the volts across: off, giving, at the limit or folding."""
    v = f"V(n{s.plus},n{s.minus})"
    knee = s.volt - s.ohm * s.limit_a
    slope = (s.limit_a - s.at_zero_a) / knee
    at_limit = f"{s.at_zero_a} + {slope} * max({v}, 0) + 1e-6 * ({knee} - {v})"
    on = f"{v} >= {knee} ? ({s.volt} - {v}) / {s.ohm} : {at_limit}"
    off = f"{LEAK_S} * ({s.volt} - {v})"
    return f"Bs{n} n{s.minus} n{s.plus} I = {v} >= {s.volt} ? {off} : ({on})"


def load_line(n: int, d: Drawn) -> str:
    v = f"V(n{d.plus},n{d.minus})"
    above = f"{d.amount} / {v}" if d.power else f"{d.amount}"
    siemens = d.amount / d.floor_v ** (2 if d.power else 1)
    below = f"{v} >= 0 ? {siemens} * {v} : {LEAK_S} * {v}"
    return f"Bl{n} n{d.plus} n{d.minus} I = {v} >= {d.floor_v} ? {above} : ({below})"


def deck(sample: Sample, begin: np.ndarray) -> list[str]:
    """``begin`` says from where ngspice is to look: which of several answers is meant."""
    lines = ["Vref n0 0 0", ".model valve D(IS=1e-9 N=1.8)"]
    for n, r in enumerate(sample.resistances):
        if math.isfinite(r.ohm):
            lines.append(f"Rr{n} n{r.a} n{r.b} {r.ohm}")
    for n, p in enumerate(sample.pulls):
        lines += [f"Vp{n} p{n} n{p.minus} {p.volt}", f"Rp{n} p{n} n{p.plus} {p.ohm}"]
    lines += [supply_line(n, s) for n, s in enumerate(sample.supplies) if s.on]
    lines += [load_line(n, d) for n, d in enumerate(sample.loads) if d.on]
    lines += [f"Dd{n} n{v.anode} n{v.cathode} valve" for n, v in enumerate(sample.diodes)]
    lines += [f".nodeset V(n{n})={volts}" for n, volts in enumerate(begin) if n]
    return lines


def compare(seed: int, count: int, folder: Path) -> None:
    rng = np.random.default_rng(seed)
    samples: list[Sample] = []
    decks = []
    while len(samples) < count:
        sample = random_sample(rng)
        begin = dense(sample)
        if begin is not None:
            samples.append(sample)
            decks.append(deck(sample, begin))
    silent = []
    for n, (sample, theirs) in enumerate(
        zip(samples, operating_points(decks, folder), strict=True)
    ):
        ours = solved(sample)
        assert_sample_conserved(sample, ours)
        volts = ours.volts[:, 0]
        if theirs is None:
            silent.append(n)
            continue
        for node, tied in enumerate(held(sample, list(volts))):
            if tied and f"n{node}" in theirs:
                assert abs(volts[node] - theirs[f"n{node}"]) < WITHIN_V, (n, node)
    assert len(silent) <= count // 50, f"ngspice found no operating point of {silent}"


def test_a_sample_of_circuits_agrees_with_ngspice(tmp_path: Path) -> None:
    compare(30, 250, tmp_path)


@pytest.mark.slow_oracle
@pytest.mark.parametrize("seed", range(31, 39))
def test_many_circuits_agree_with_ngspice(seed: int, tmp_path: Path) -> None:
    compare(seed, 1000, tmp_path)
