"""Who works from outside what lets people out comes in by it: pressing is no right to enter."""

from __future__ import annotations

import pytest

from latchwork.behaviour import Mode, Pass, Power
from tests.rules.jobs import MAGNET, Door, but, job, outcome

RELEASE = '{part: "release, double pole", place: outside}'


@pytest.mark.parametrize(
    ("lines", "by"),
    [
        ({"exit": "{part: button, place: outside}"}, "exit"),
        ({"exit": "exit sensor", "sensor seen from outside": "yes"}, "exit"),
        ({"release": RELEASE}, "release"),
        # For those who escape inward it is meant, and lets in whoever pulls it all the same.
        ({"release": RELEASE, "escape direction": "both"}, "release"),
        ({"exit": "{part: button, place: by the desk}"}, ""),
        # A key is a right.
        ({"exit": "{part: key switch, place: outside}"}, ""),
    ],
)
def test_one_comes_in_by_what_is_within_reach_from_outside(lines: Door, by: str) -> None:
    states = outcome(job(but(MAGNET, lines))).states["D1"]
    (usual,) = (s for s in states if (s.power, s.mode) == (Power.MAINS, Mode.NORMAL))
    assert usual.enter_without_right == (Pass(True, by) if by else Pass(False, "locked"))
    assert usual.stands_open == Pass(False, "locked")
