"""Cores are judged by what they are joined to, not by what their leg is called."""

from __future__ import annotations

import pytest

from latchwork.findings import Severity
from latchwork.rules.protection import class_2_a
from tests.rules.jobs import MAGNET, STRIKE, but, findings, job, told

STRONG = "S1: {part: supply 24 V, limit: 5 A, battery: 2 x 12 V 7 Ah}"
PLENTY = "S1: {part: supply 24 V, limit: 10 A, battery: 2 x 12 V 7 Ah}"
RUNS = "{power: 8 m of 3 x 1.5 mm², lock: 4 m of 2 x 1.0 mm², reader: 2 m of 6 x 0.22 mm²}"
"""0.22 mm² carry 1 A; the supply gives 5 A, more than a class 2 source does."""
READER = "[{plus}, reader white, reader.+], [{minus}, reader brown, reader.-]"


def _read(plus: str, minus: str, *, by_leg: bool) -> str:
    """A reader fed from somewhere: as rows of its leg, or among the rows of the whole door."""
    rows = READER.format(plus=plus, minus=minus)
    data = "[controller.D0, reader green, reader.D0], [controller.D1, reader yellow, reader.D1]"
    if by_leg:
        return job(
            but(MAGNET, {"runs": RUNS, "wiring": f"{{reader: [{rows}, {data}]}}"}),
            supplies=STRONG,
        )
    power = "[S1.+, power brown, controller.+], [S1.-, power blue, controller.-]"
    return job(but(MAGNET, {"runs": RUNS, "wiring": f"[{power}, {rows}, {data}]"}), supplies=STRONG)


@pytest.mark.parametrize("by_leg", [True, False])
def test_rows_of_a_leg_and_of_a_whole_door_are_judged_alike(by_leg: bool) -> None:
    """What a controller gives its reader it holds itself (common practice, no source); the
    supply's 5 A at 24 V are above the 4.17 A of class 2 (NEC chapter 9 table 11(A), from memory).
    """
    assert class_2_a(24.0) == pytest.approx(100 / 24)
    over = ("fuse-over-cable", "D1.reader")
    own = told(_read("controller.R+", "controller.R-", by_leg=by_leg))
    straight = told(_read("controller.+", "controller.-", by_leg=by_leg))
    assert (over in own, over in straight) == (False, True)


@pytest.mark.parametrize(
    ("way", "by"),
    [
        ("[S1.+, lead, F1.2], [F1.1, lead, F8.1], [F8.2, power brown, controller.+]", None),
        ("[S1.+, lead, F8.1], [F8.2, power brown, controller.+]", "F8"),
        ("[S1.+, power brown, F1.1], [F1.2, lead, controller.+]", "the limit of S1"),
    ],
)
def test_a_fuse_in_a_holder_holds_what_is_behind_it(way: str, by: str | None) -> None:
    """0.5 mm² carry 3 A: less than the supply's 10 A and a fuse of 8 A, more than one of 1 A, which
    lets through no more whatever stands behind it, and whichever way round it is put in."""
    wiring = f"{{power: [{way}, [S1.-, power blue, controller.-]]}}"
    door = but(STRIKE, {"runs": "{power: 1 m of 2 x 0.5 mm²}", "wiring": wiring})
    text = job(door, supplies=PLENTY, more="devices: {F1: fuse 1 A, F8: {part: fuse, rating: 8 A}}")
    over = [f for f in findings(text) if f.rule == "fuse-over-cable"]
    assert [(f.subject, f.figures["by"]) for f in over] == ([("D1.power", by)] if by else [])


@pytest.mark.parametrize(("fuse", "told_of"), [("0.8 A", True), ("1.25 A", False)])
def test_a_fuse_of_several_doors_is_held_against_all_of_them_at_once(
    fuse: str, told_of: bool
) -> None:
    """Four strikes of 0.25 A at 12 V take 1.14 A at 13.65 V, and each controller some 0.07 A at
    rest and 0.05 A more for its relay: 1.6 A, at which a fuse of 0.8 A blows. One door at a time
    brings it to half an ampere."""
    door = but(STRIKE, {"supply": "S1 out 1", "lock": "strike 12 V fail-secure"})
    supplies = f"S1: {{part: supply 12 V, limit: 5 A, outputs: {{1: {{fuse: {fuse}}}}}}}"
    text = job(door, door, door, door, supplies=supplies)
    assert (("fuse-overload", "S1.fuse 1") in told(text)) is told_of
    assert "fuse-overload" not in {rule for rule, _ in told(job(door, supplies=supplies))}


@pytest.mark.parametrize(("fuse", "told_of"), [("0.35 A", True), ("0.375 A", False)])
def test_a_fuse_is_held_against_the_most_that_it_may_carry(fuse: str, told_of: bool) -> None:
    """A magnet of 96 Ω and a controller of 1 W at 27.3 V take 0.284 + 0.037 = 0.32 A. At 27.6 V, of
    91.4 Ω and as cold as 5 °C (copper, 0.393 % a kelvin: 86.0 Ω) and with 1.2 W, they take
    0.321 + 0.043 = 0.364 A."""
    lost = {"power lost": "unlocks", "fire alarm": "unlocks", "diode": "-"}
    door = but(STRIKE, {"supply": "S1 out 1", "lock": "magnet 24 V", **lost})
    text = job(door, supplies=f"S1: {{part: supply 24 V, outputs: {{1: {{fuse: {fuse}}}}}}}")
    found = [f for f in findings(text) if f.rule == "fuse-overload"]
    assert [(f.severity, f.figures.get("also")) for f in found] == (
        [(Severity.WEAK, "most")] if told_of else []
    )
    assert [f.figures["current_a"] for f in found] == pytest.approx([0.364] * told_of, abs=0.003)


def test_what_a_blown_fuse_takes_along_does_not_restart() -> None:
    """A diode turned round shorts the feed as the strike is granted: the fuse goes, and with it
    the controller, to which no thicker cable would bring its volts back."""
    door = but(STRIKE, {"supply": "S1 out 1", "found": "[{part: diode, state: diode reversed}]"})
    supplies = "S1: {part: supply 24 V, limit: 5 A, outputs: {1: {fuse: 1 A}}}"
    rules = {rule for rule, _ in told(job(door, supplies=supplies))}
    assert "fuse-blows" in rules
    assert "restarts" not in rules
