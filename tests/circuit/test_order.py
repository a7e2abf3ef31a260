"""Which node goes when: little grows where many doors meet, and places for faults are no matter.

Eliminating a node joins all of its neighbours to each other. The middle of a star that goes before
its n tips makes n (n - 1) / 2 conductances, and after them none: the textbook example of fill in
sparse elimination (Rose 1972, from memory).
"""

from __future__ import annotations

import numpy as np
import pytest

from latchwork.circuit import LoadRow, SourceRow, Topology, order, solve

TIPS = 16
HUB = 1
Branches = tuple[tuple[int, int], ...]


def star(tips: int) -> tuple[int, Branches, Branches]:
    """Nodes, arms, and devices: a supply at a node beside the hub, and one load at each tip."""
    arms = tuple((HUB, HUB + 1 + n) for n in range(tips + 1))
    return tips + 3, arms, tuple((end, 0) for _, end in arms)


def grown(topology: Topology) -> int:
    """Pairs of neighbours that the second level joins at every step of the iteration."""
    return sum(len(step.pairs) for step in order(topology).second)


@pytest.mark.parametrize("tips", [4, TIPS])
def test_where_many_meet_goes_last(tips: int) -> None:
    """Each tip has the reference and the hub: one pair each, and none for the hub."""
    its = order(Topology(*star(tips)))
    assert grown(Topology(*star(tips))) == tips + 1
    assert HUB in [step.node for step in its.second][-2:]  # by then it has one tip left, as that it
    assert its.first == ()


def test_where_few_meet_goes_first() -> None:
    """What joins two is out of the way before the iteration begins."""
    assert [step.node for step in order(Topology(*star(1))).first] == [HUB]


def test_places_for_faults_alter_no_order() -> None:
    """Each tip may be shorted to each other one; in hardly any column it is."""
    nodes, arms, devices = star(TIPS)
    ends = [end for _, end in arms]
    shorts = tuple((a, b) for a in ends for b in ends if a < b)
    places = frozenset(range(len(arms), len(arms) + len(shorts)))
    with_places = order(Topology(nodes, arms + shorts, devices, places))
    without = order(Topology(nodes, arms, devices))
    assert [s.node for s in with_places.second] == [s.node for s in without.second]


def test_a_hub_that_is_kept_has_its_volts() -> None:
    """Kirchhoff and Ohm by hand: 13.8 V behind 0.1 ohm, an arm of 0.2 ohm to the hub, 16 arms of
    0.5 ohm with 0.1 A each. 1.6 A: 13.64 V at the supply, 13.32 V at the hub, 13.27 V at each."""
    nodes, arms, devices = star(TIPS)
    one = np.ones(1)
    ohms = [0.2, *[0.5] * TIPS]
    source = SourceRow(13.8 * one, 0.1 * one, 5.0 * one, 5.0 * one, one)
    loads = [LoadRow(power=False, amount=0.1 * one, floor_v=0.5 * one, on=one)] * TIPS
    found = solve(
        order(Topology(nodes, arms, devices)),
        nodes,
        devices,
        [1.0 / ohm * one for ohm in ohms],
        [],
        [source, *loads],
        1,
    )
    assert found.solved.all()
    expected = [0.0, 13.32, 13.64, *[13.27] * TIPS]
    assert found.volts[:, 0] == pytest.approx(expected, abs=1e-6)
