"""Linear elimination against Gauss's in exact fractions, on random networks.

Reference: Python's ``fractions.Fraction``; the nodal equations are set up here again from the
description. A double has 53 bits; an elimination of n nodes without subtraction stays within a
few n units in the last place of each answer.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from latchwork.circuit import APART, Injection, LoadRow, Solution, Topology, order, solve

MOST_ERROR = 1e-12


@dataclass(frozen=True)
class Linear:
    nodes: int
    branches: tuple[tuple[int, int, float], ...]
    """Two nodes and siemens; 0 is an open conductor."""
    injections: tuple[tuple[int, int, float], ...]
    kept: tuple[tuple[int, int], ...]
    """Pairs of nodes to be left to the second level, as if a device stood between them."""


@st.composite
def networks(draw: st.DrawFn, signed: bool) -> Linear:
    nodes = draw(st.integers(2, 9))
    siemens = st.one_of(
        st.just(0.0),
        st.builds(lambda m, e: m * 10.0**e, st.floats(1.0, 9.99), st.integers(-9, 4)),
    )
    pair = st.tuples(st.integers(0, nodes - 1), st.integers(0, nodes - 1))
    branches = draw(st.lists(st.tuples(pair, siemens), max_size=3 * nodes))
    amps = st.floats(1e-6, 1e3)
    into = draw(st.lists(st.tuples(pair, amps), max_size=3))
    kept = draw(st.lists(pair, max_size=2))
    return Linear(
        nodes,
        tuple((a, b, g) for (a, b), g in branches),
        tuple((a, b if signed else 0, i) for (a, b), i in into),
        tuple(kept),
    )


def solved(net: Linear) -> np.ndarray:
    return solution(net).volts[:, 0]


def solution(net: Linear) -> Solution:
    """The solver's answer, and for each node what joins it to the reference."""
    topology = Topology(net.nodes, tuple((a, b) for a, b, _ in net.branches), ())
    injections = [Injection(a, b, np.array([i])) for a, b, i in net.injections]
    rows = [np.array([g]) for _, _, g in net.branches]
    pairs = [(0, node) for node in range(net.nodes)]
    return solve(order(topology), net.nodes, (), rows, injections, (), 1, pairs=pairs)


def exact(net: Linear) -> tuple[list[Fraction | None], list[Fraction]]:
    """Volts of every node in fractions (None where nothing holds it), and a bound's scale: the
    volts that the same currents would make if none of them cancelled."""
    held = {0}
    while True:
        more = {
            n for a, b, g in net.branches if g > 0.0 and (a in held) != (b in held) for n in (a, b)
        }
        if more <= held:
            break
        held |= more
    free = sorted(held - {0})
    at = {node: n for n, node in enumerate(free)}
    size = len(free)
    matrix = [[Fraction(0)] * (size + 2) for _ in range(size)]
    for a, b, g in net.branches:
        for here, there in ((a, b), (b, a)):
            if here in at and here != there:
                matrix[at[here]][at[here]] += Fraction(g)
                if there in at:
                    matrix[at[here]][at[there]] -= Fraction(g)
    for plus, minus, amps in net.injections:
        for node, sign in ((plus, 1), (minus, -1)):
            if node in at:
                matrix[at[node]][size] += sign * Fraction(amps)
                matrix[at[node]][size + 1] += Fraction(amps)
    for k in range(size):
        pivot = next(r for r in range(k, size) if matrix[r][k] != 0)
        matrix[k], matrix[pivot] = matrix[pivot], matrix[k]
        for r in range(size):
            if r != k and matrix[r][k] != 0:
                factor = matrix[r][k] / matrix[k][k]
                matrix[r] = [x - factor * y for x, y in zip(matrix[r], matrix[k], strict=True)]
    volts: list[Fraction | None] = [None] * net.nodes
    scale = [Fraction(0)] * net.nodes
    volts[0] = Fraction(0)
    for node, n in at.items():
        volts[node] = matrix[n][size] / matrix[n][n]
        scale[node] = matrix[n][size + 1] / matrix[n][n]
    return volts, scale


@settings(max_examples=100, deadline=None)
@given(networks(signed=False))
def test_each_node_to_a_part_in_a_million_million(net: Linear) -> None:
    ours = solved(net)
    for node, want in enumerate(exact(net)[0]):
        if want is not None:
            assert abs(Fraction(float(ours[node])) - want) <= want * Fraction(MOST_ERROR)


@settings(max_examples=100, deadline=None)
@given(networks(signed=True))
def test_currents_that_cancel_err_by_no_more_than_those_that_add(net: Linear) -> None:
    ours = solved(net)
    volts, scale = exact(net)
    for node, want in enumerate(volts):
        if want is not None:
            off = abs(Fraction(float(ours[node])) - want)
            assert off <= scale[node] * Fraction(MOST_ERROR)


@settings(max_examples=100, deadline=None)
@given(networks(signed=False))
def test_floating_is_what_the_graph_says(net: Linear) -> None:
    bonds = solution(net).bonds[:, 0]
    assert [bool(bond & APART) for bond in bonds] == [v is None for v in exact(net)[0]]


@settings(max_examples=100, deadline=None)
@given(networks(signed=True))
def test_nodes_left_to_the_second_level_come_out_alike(net: Linear) -> None:
    """Loads that are switched off stand between some nodes; nothing else changes."""
    topology = Topology(net.nodes, tuple((a, b) for a, b, _ in net.branches), net.kept)
    steps = order(topology)
    assert sorted(s.node for s in (*steps.first, *steps.second)) == list(range(1, net.nodes))
    assert {s.node for s in steps.second} == {n for pair in net.kept for n in pair} - {0}
    one = np.ones(1)
    off = [LoadRow(True, one, one, np.zeros(1)) for _ in net.kept]
    injections = [Injection(a, b, np.array([i])) for a, b, i in net.injections]
    rows = [np.array([g]) for _, _, g in net.branches]
    ours = solve(steps, net.nodes, net.kept, rows, injections, off, 1)
    assert ours.solved.all()
    volts, scale = exact(net)
    for node, want in enumerate(volts):
        if want is not None:
            off_by = abs(Fraction(float(ours.volts[node, 0])) - want)
            assert off_by <= scale[node] * Fraction(MOST_ERROR)


def test_an_open_conductor_is_exactly_nothing() -> None:
    """Node 2 hangs on an open conductor: at 1e4 S beside it not even a nanovolt gets through."""
    net = Linear(3, ((1, 0, 1e4), (1, 2, 0.0)), ((1, 0, 1e3),), ())
    assert solved(net)[2] == 0.0
    assert solved(net)[1] == pytest.approx(0.1, rel=1e-15)
    loose = Linear(4, ((1, 0, 1.0), (2, 3, 5.0)), ((2, 3, 7.0),), ())
    volts = solved(loose)
    assert volts[3] == 0.0
    assert volts[2] == pytest.approx(1.4, rel=1e-15)
