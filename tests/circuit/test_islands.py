"""Nodes that nothing joins, against SciPy's connected components of what conducts."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from latchwork.circuit import ADRIFT, APART, LOOSE
from latchwork.circuit.devices import REVERSED_V
from tests.circuit.joined import islands
from tests.circuit.sample import Sample, random_sample, solved_together

SAMPLES = 300
OPEN = 0.4


@pytest.fixture(scope="module")
def samples() -> list[list[Sample]]:
    """Circuits with many open conductors, three of one topology side by side."""
    rng = np.random.default_rng(7)
    return [_broken(random_sample(rng), rng) for _ in range(SAMPLES)]


def _broken(sample: Sample, rng: np.random.Generator) -> list[Sample]:
    def resistances() -> Sample:
        ohms = [math.inf if rng.random() < OPEN else r.ohm for r in sample.resistances]
        rows = zip(sample.resistances, ohms, strict=True)
        return replace(sample, resistances=tuple(replace(r, ohm=ohm) for r, ohm in rows))

    return [resistances() for _ in range(3)]


def _parts(sample: Sample, volts: np.ndarray, giving: list[bool]) -> np.ndarray:
    links = [(r.a, r.b) for r in sample.resistances if math.isfinite(r.ohm)]
    links += [(p.plus, p.minus) for p in sample.pulls]
    links += [(v.anode, v.cathode) for v in sample.diodes]
    links += [(s.plus, s.minus) for s, on in zip(sample.supplies, giving, strict=True) if on]
    for d in sample.loads:
        if d.on and volts[d.plus] - volts[d.minus] > REVERSED_V:
            links.append((d.plus, d.minus))
    return islands(sample.nodes, links)


def test_pairs_that_nothing_joins_are_told(samples: list[list[Sample]]) -> None:
    apart = joined = 0
    for some in samples:
        pairs = tuple(combinations(range(some[0].nodes), 2))
        solution = solved_together(some, pairs)
        for column, sample in enumerate(some):
            if not solution.solved[column]:
                continue
            giving = [bool(r) for r in solution.regions[: len(sample.supplies), column]]
            labels = _parts(sample, solution.volts[:, column], giving)
            for n, (a, b) in enumerate(pairs):
                loose = labels[0] not in (labels[a], labels[b])
                minus = {labels[s.minus] for s in sample.supplies}
                adrift = loose and minus.isdisjoint((labels[a], labels[b]))
                bond = APART * (labels[a] != labels[b]) + LOOSE * loose + ADRIFT * adrift
                assert solution.bonds[n, column] == bond
                apart += bool(labels[a] != labels[b])
                joined += bool(labels[a] == labels[b])
    assert min(apart, joined) > 1000
