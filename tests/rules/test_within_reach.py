"""Who works from outside what lets people out comes in by it: pressing is no right to enter."""

from __future__ import annotations

import pytest

from latchwork.behaviour import Mode, Pass, Power
from tests.rules.jobs import MAGNET, Door, but, findings, job, outcome

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


BUTTON = "{part: button, place: outside}"


@pytest.mark.parametrize(
    ("lines", "leave"),
    [
        ({"exit": BUTTON, "release": "-"}, Pass(False, "out of reach")),
        ({"exit": BUTTON, "escape direction": "both"}, Pass(False, "release only")),
        ({"exit": BUTTON, "second exit": "button"}, Pass(True, "second exit")),
        ({"exit": "-", "release": RELEASE}, Pass(False, "out of reach")),
        ({"exit": BUTTON, "out by": "lever", "lock": "strike 24 V fail-safe, diode"},
         Pass(True, "lever")),
        # Those who escape come from where it stands, and those inside have another way.
        ({"exit": BUTTON, "escape direction": "inward"}, Pass(True, "exit")),
    ],
)  # fmt: skip
def test_nobody_leaves_by_what_stands_on_the_other_side(lines: Door, leave: Pass) -> None:
    """A wall is between them and it (common practice, no source)."""
    states = outcome(job(but(MAGNET, lines))).states["D1"]
    (usual,) = (s for s in states if (s.power, s.mode) == (Power.MAINS, Mode.NORMAL))
    assert usual.leave == leave
    (alarm,) = (s for s in states if (s.power, s.mode) == (Power.MAINS, Mode.FIRE_ALARM))
    assert alarm.leave.can


@pytest.mark.parametrize(("way", "told_of"), [("both", True), ("inward", False)])
def test_a_button_outside_is_meant_for_those_who_escape_inward_alone(
    way: str, told_of: bool
) -> None:
    """Where people escape outward too it lets the street in, and those inside have none."""
    found = {f.rule for f in findings(job(but(MAGNET, {"exit": BUTTON, "escape direction": way})))}
    assert ("exit-from-outside" in found) is told_of


@pytest.mark.parametrize(("way", "told_of"), [("both", True), ("inward", False)])
def test_a_release_on_the_other_side_breaks_the_power_for_nobody_inside(
    way: str, told_of: bool
) -> None:
    """IBC and NFPA 101, from memory: the release is for those who leave, beside the door. Where
    people escape inward alone it is on their side."""
    found = findings(job(but(MAGNET, {"release": RELEASE, "escape direction": way})))
    assert ("no-release" in {f.rule for f in found}) is told_of
