"""A door solved with its supply and its neighbours as one curve, against the whole group at once.

The two must tell the same of every door: states the same, volts within a millivolt. Sixteen doors
weigh on the supply's limit, so that each door's volts hang on all the others.
"""

from __future__ import annotations

import sys
from dataclasses import replace

import numpy as np
import pytest

from latchwork.behaviour import (
    Case,
    DoorOutcome,
    Event,
    LockState,
    Mode,
    Power,
    Target,
    behave,
    climate_of,
    groups,
    outcome,
    run,
    targets,
)
from tests.truth.solved import wired

SAME_V = 1e-3

POWERS = (Power.MAINS, Power.BATTERY, Power.BATTERY_END, Power.ALL_LOST, Power.RETURNS)
MODES = (Mode.NORMAL, Mode.TIMED_UNLOCK, Mode.FIRE_ALARM, Mode.FIRE_RESET)
EVENTS = (Event.NOBODY, Event.CREDENTIAL, Event.EXIT)

KINDS = (
    "{lock: magnet 24 V, controller: controller, exit: button}",
    "{lock: strike 24 V fail-secure, controller: 'controller, reader outside', reader: reader,"
    " exit: exit sensor}",
    "{lock: strike 24 V fail-safe, controller: controller 24 V, fire: fire relay, exit: button}",
    "{lock: 'bolt 24 V fail-safe, staged coil', controller: controller, fire: fire relay}",
)
"""Doors of different kinds, on electronics of constant power and of constant current."""


def job(doors: int, limit: str) -> str:
    """A site with so many doors on one supply, in turn on its eight outputs."""
    text = (
        "latchwork: 1\nsupplies:\n"
        f"  S1: {{part: 'supply 24 V, eight outputs', limit: {limit}, battery: 2 x 12 V 17 Ah}}\n"
        "doors:\n"
    )
    for n in range(doors):
        kind = KINDS[n % len(KINDS)].rstrip("}")
        run_m = 5 + 3 * n
        text += (
            f"  D{n + 1}: {kind}, supply: S1 out {n % 8 + 1}, out by: lever,"
            f" runs: {{power: {run_m} m of 2 x 1.5 mm²}}}}\n"
        )
    return text


def _solved(text: str) -> dict[str, tuple[Target, DoorOutcome]]:
    wiring = wired(text)
    found = targets(wiring, groups(wiring), climate_of(wiring.plan), (Case.NOMINAL,)).targets
    less = [
        replace(
            target,
            situations=tuple(
                s
                for s in target.situations
                if s.power in POWERS and s.mode in MODES and s.event in EVENTS
            ),
        )
        for target in found
    ]
    return {ran.target.door: (ran.target, outcome(ran, wiring.plan)) for ran in run(less)}


@pytest.mark.parametrize(
    ("doors", "limit"), [(2, "3 A"), (4, "3 A"), (16, "10 A"), (4, "0.9 A"), (16, "3.2 A")]
)
def test_cells_tell_what_the_whole_group_does(
    doors: int, limit: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = job(doors, limit)
    apart = _solved(text)
    monkeypatch.setattr(sys.modules["latchwork.behaviour.targets"], "cells", lambda group: None)
    whole = _solved(text)
    assert len(apart) == len(whole) == doors
    for door, (target, mine) in apart.items():
        full, theirs = whole[door]
        assert target.curves is not None
        assert full.curves is None
        assert len(full.things.elements) > len(target.things.elements)
        assert mine.situations == theirs.situations
        (lock,), (like,) = mine.locks, theirs.locks
        np.testing.assert_array_equal(lock.state, like.state, err_msg=door)
        np.testing.assert_allclose(lock.volts, like.volts, rtol=0, atol=SAME_V, err_msg=door)


def test_a_shared_contact_that_nothing_joins_leaves_a_door_as_it_is() -> None:
    """A contact without a wire does nothing: the door is the same as without it.

    One contact that several doors share cannot feed a strike that current frees: it is left out.
    """
    text = (
        "latchwork: 1\n"
        "supplies: {S1: {part: supply 24 V, outputs: {1: {fuse: 1.6 A}}}}\n"
        "devices: {F1: fire relay}\n"
        "usual: {supply: S1 out 1, out by: lever, fire alarm: unlocks, controller: controller,"
        " fire: F1, exit: button, runs: {power: 10 m of 4 x 1.0 mm²}}\n"
        "doors:\n  D1: {lock: strike 24 V fail-secure}\n  D2: {lock: strike 24 V fail-secure}\n"
    )
    here = behave(wired(text), (Case.NOMINAL,))
    alone = text.replace("fail-secure}", "fail-secure, fire: none}")
    without = behave(wired(alone), (Case.NOMINAL,))
    assert here.states["D1"] == without.states["D1"]
    (lock,) = here.outcomes["D1"][Case.NOMINAL].locks
    (same,) = without.outcomes["D1"][Case.NOMINAL].locks
    np.testing.assert_array_equal(lock.state, same.state)
    np.testing.assert_allclose(lock.volts, same.volts, atol=SAME_V)


SHORTED = (
    # Past every contact: 3 A do not blow a fuse of 2 A, which takes twice its rating.
    ("S1 out 1", "lock: magnet 12 V"),
    # Behind a contact that is shut while its unit is dead: the volts never come up.
    (
        "S1",
        "lock: strike 12 V fail-secure, controller: 'controller, relay energised when idle'",
    ),
)


@pytest.mark.parametrize(("feed", "kit"), SHORTED)
def test_a_short_next_door_takes_the_supply_down_for_all(feed: str, kit: str) -> None:
    """A supply of 3 A without a battery, shorted through 10 m of 2.5 mm² (2 x 7.98 mΩ/m, IEC 60228
    class 5) and at most a fuse and two contacts of a tenth of an ohm each, gives some
    3 A x 0.5 Ω = 1.5 V: no controller on it lives (9 V at least), and nobody gets in or out by
    one."""
    outputs = ", outputs: {1: {fuse: 2 A}, 2: {fuse: 2 A}}" if " out " in feed else ""
    text = (
        "latchwork: 1\n"
        f"supplies: {{S1: {{part: 'supply 12 V, no battery'{outputs}}}}}\n"
        "usual: {out by: nothing mechanical, controller at: supply,"
        " runs: {lock: 10 m of 2 x 2.5 mm²}}\n"
        "doors:\n"
        f"  D1: {{supply: {feed}, {kit}, found: [{{part: lock, state: coil short}}]}}\n"
        f"  D2: {{supply: {feed.replace('out 1', 'out 2')},"
        " lock: strike 12 V fail-secure, controller: controller, exit: exit button}\n"
    )
    site = behave(wired(text), (Case.NOMINAL,))
    for result in (by_case[Case.NOMINAL] for by_case in site.outcomes.values()):
        n = result.at(Power.MAINS, Mode.NORMAL, Event.NOBODY)
        assert n is not None
        assert result.feed_v[result.feed_names.index("S1.mains supply"), n].max() < 3.0
    (idle,) = (s for s in site.states["D2"] if (s.power, s.mode) == (Power.MAINS, Mode.NORMAL))
    assert not idle.leave.can
    assert not idle.enter_with_right.can


def test_a_magnet_next_door_to_a_short_lets_go() -> None:
    """3 A through 10 m of 2.5 mm² out and back (2 x 7.98 mΩ/m, IEC 60228 class 5), two contacts and
    a diode that is short are well below a tenth of 24 V, where a magnet holds no more (common
    practice, no source). Through a curve without a point there it had 3.4 V."""
    text = (
        "latchwork: 1\n"
        "supplies: {S1: {part: 'supply 24 V, no battery', limit: 3 A}}\n"
        "usual: {supply: S1, out by: nothing mechanical, power lost: unlocks,"
        " controller: controller, controller at: supply, exit: exit button,"
        " runs: {lock: 10 m of 2 x 2.5 mm²}}\n"
        "doors:\n"
        "  D1: {lock: 'strike 24 V fail-safe, diode', found: [{part: lock, state: diode short}]}\n"
        "  D2: {lock: magnet 24 V}\n"
    )
    result = behave(wired(text), (Case.NOMINAL,)).outcomes["D2"][Case.NOMINAL]
    n = result.at(Power.MAINS, Mode.NORMAL, Event.NOBODY)
    assert n is not None
    (lock,) = result.locks
    assert LockState(int(lock.state[n, 1])) is LockState.UNLOCKED
    assert lock.volts[n, 1] < 24.0 / 10.0
