"""What cannot matter to a door does not: names, the order of the file, a cut made good again.

Every arrangement of the tables is run again with everything renamed, with every list of names
turned round, and with each cable cut once and joined without loss. Nothing may come out
different; volts to a nanovolt.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import yaml

from latchwork.behaviour import Case, DoorOutcome, SiteOutcome, behave
from latchwork.elements import Figure
from latchwork.wiring import Wiring
from tests.truth.solved import wired
from tests.truth.tables import Arrangement, arrangements

SAME_V = 1e-9
SHARED = "devices:"
"""In a job with shared devices the first door of the file brings them their feed: turned round,
other cores carry it, and volts change a little while nothing else may."""


def renamed(text: str) -> str:
    """Other numbers for doors, supplies, ports, transformers and site devices: D1 becomes D8."""
    return re.sub(r"\b([DSFCTP])([0-9])\b", lambda m: m[1] + str(9 - int(m[2])), text)


def turned(value: Any) -> Any:
    """The same job with every list of names the other way round."""
    if isinstance(value, dict):
        return {key: turned(inner) for key, inner in reversed(value.items())}
    return value


def cut(wiring: Wiring) -> Wiring:
    """The wiring with every core cut at a third and joined again without loss."""
    pieces = []
    for core in wiring.conductors:
        ends = (core.start, f"{core.id}|joint", core.end)
        for n, share in enumerate((1 / 3, 2 / 3)):
            pieces.append(
                replace(
                    core,
                    id=f"{core.id}|{n}",
                    start=ends[n],
                    end=ends[n + 1],
                    length_m=_share(core.length_m, share),
                    ohm=_share(core.ohm, share),
                )
            )
    return replace(wiring, conductors=tuple(pieces))


def _share(figure: Figure, share: float) -> Figure:
    value, low, high = (x * share for x in (figure.value, figure.low, figure.high))
    return replace(figure, value=value, low=low, high=high)


def text(job: dict[str, Any]) -> str:
    """A job as text again."""
    return yaml.safe_dump(job, allow_unicode=True, sort_keys=False)


def assert_alike(
    one: SiteOutcome,
    other: SiteOutcome,
    called: Callable[[str], str] = str,
    *,
    volts: bool = True,
) -> None:
    """Both do the same; ``called``: what a door, supply or flag of one is called in the other."""
    assert {called(door) for door in one.outcomes} == set(other.outcomes)
    for door, by_case in one.outcomes.items():
        twin = called(door)
        answers = {(s.power, s.mode, s.which): s for s in other.states[twin]}
        assert len(answers) == len(one.states[door])
        for state in one.states[door]:
            which = called(state.which)
            assert replace(state, which=which) == answers[state.power, state.mode, which]
        for case, mine in by_case.items():
            _assert_outcomes_alike(mine, other.outcomes[twin][case], called, volts=volts)


def _assert_outcomes_alike(
    mine: DoorOutcome, theirs: DoorOutcome, called: Callable[[str], str], *, volts: bool
) -> None:
    at = [
        theirs.column[replace(s, which=called(s.which), lost=called(s.lost))]
        for s in mine.situations
    ]
    assert sorted(at) == list(range(len(theirs.situations)))
    np.testing.assert_array_equal(mine.solved, theirs.solved[at])
    np.testing.assert_array_equal(mine.chatter, theirs.chatter[at])
    for lock, like in zip(mine.locks, theirs.locks, strict=True):
        assert called(lock.device) == like.device
        np.testing.assert_array_equal(lock.state, like.state[at])
        if volts:
            np.testing.assert_allclose(lock.volts, like.volts[at], rtol=0, atol=SAME_V)
            np.testing.assert_allclose(lock.low_volts, like.low_volts[at], rtol=0, atol=SAME_V)
    powered = {sense.flag: sense.on[at] for sense in theirs.powered}
    assert len(powered) == len(mine.powered)
    for sense in mine.powered:
        np.testing.assert_array_equal(sense.on, powered[called(sense.flag)])
    blown = {name: theirs.fuse_blown[n, at] for n, name in enumerate(theirs.fuse_names)}
    for n, name in enumerate(mine.fuse_names):
        np.testing.assert_array_equal(mine.fuse_blown[n], blown[called(name)])


ALL = arrangements()
SEVERAL = [found for found in ALL if len(found.tables) > 1]


@pytest.mark.parametrize("found", ALL, ids=str)
def test_names_alter_nothing(found: Arrangement) -> None:
    one = behave(wired(found.job), (Case.NOMINAL,))
    other = behave(wired(renamed(found.job)), (Case.NOMINAL,))
    assert not one.outcomes.keys() & other.outcomes.keys()
    assert_alike(one, other, renamed)


@pytest.mark.parametrize("found", ALL, ids=str)
def test_order_and_good_joints_alter_nothing(found: Arrangement) -> None:
    job = yaml.safe_load(found.job)
    one = behave(wired(text(job)), (Case.NOMINAL,))
    jumbled = text(turned(job))
    assert jumbled != text(job)
    other = behave(cut(wired(jumbled)), (Case.NOMINAL,))
    assert_alike(one, other, volts=SHARED not in found.job)


@pytest.mark.parametrize("found", SEVERAL, ids=str)
def test_worst_cases_are_alike_too(found: Arrangement) -> None:
    one = behave(wired(found.job))
    assert set(one.outcomes["D1"]) == set(Case)
    assert_alike(one, behave(wired(renamed(found.job))), renamed)
    assert_alike(one, behave(cut(wired(found.job))))
