"""What judging a door takes from the job: what stands within reach of those who come from outside,
and which situations are whose."""

from __future__ import annotations

import pytest

from latchwork.behaviour import Event, Mode, Power, Situation
from latchwork.behaviour.situations import KEY
from latchwork.faults.door_facts import Cases
from latchwork.faults.prepare import prepare
from tests.truth.solved import wired

INWARD = """
latchwork: 1
supplies: {S1: {part: supply 24 V}}
doors:
  D1:
    supply: S1
    outside: inside
    escape direction: inward
    out by: nothing mechanical
    lock: magnet 24 V
    controller: controller
    runs: {power: 5 m of 2 x 1.0 mm²}
"""
INSIDE, OUTSIDE = "exit button", "{part: exit button, place: outside}"


@pytest.mark.parametrize(
    ("devices", "reached"),
    [
        (f"exit: {INSIDE}", set()),
        # The only one is not named in a situation.
        (f"exit: {OUTSIDE}", {"exit", ""}),
        (f"exit: {INSIDE}\n    second exit: {OUTSIDE}", {"second exit"}),
        ("release: {part: release, place: outside}", {"release"}),
    ],
)
def test_whoever_escapes_inward_reaches_what_stands_outside(
    devices: str, reached: set[str]
) -> None:
    """A button within is nothing to those who come from outside (common practice, no source)."""
    job = f"{INWARD}    {devices}\n"
    ((its,),) = (cell.facts for cell in prepare(wired(job)))
    assert set(its.reached) == reached
    ((other,),) = (cell.facts for cell in prepare(wired(job.replace("inward", "outward"))))
    assert other.reached == ()


def test_a_fire_is_an_alarm_or_a_lost_panel_and_a_lost_supply_opens_to_no_card() -> None:
    """By the fault run's situations: what the fire contact is to do in, and where nobody expects a
    card or a button to do anything."""
    cases = Cases(
        [
            Situation(power, mode, event)
            for power in (Power.MAINS, Power.ALL_LOST)
            for mode in (Mode.NORMAL, Mode.TAMPER, Mode.FIRE_ALARM, Mode.PANEL_LOST)
            for event in (Event.NOBODY, Event.EXIT)
        ]
    )
    fire = {Mode.FIRE_ALARM, Mode.PANEL_LOST}
    assert {cases.situations[n].mode for n in cases.alarm} == fire
    assert {cases.situations[n].event for n in cases.alarm} == {Event.NOBODY}
    assert {cases.situations[n].power for n in cases.asked} == {Power.MAINS}
    # A key turned beside cards is told of last: what stops the button too is told of that.
    key, usual = (
        Situation(Power.MAINS, Mode.NORMAL, event, which=which)
        for event, which in ((Event.CREDENTIAL, KEY), (Event.EXIT, ""))
    )
    assert Cases([key, usual]).asked == [1, 0]
    # Whoever escapes inward does so from a fire, told of or not; a unit tampered with is no fire.
    modes = {cases.situations[n].mode for n, _ in cases.inward(())}
    assert modes == {Mode.NORMAL, *fire}


def test_what_those_inside_do_not_reach_says_nothing_of_how_they_are_kept_in() -> None:
    """A lock that a button on the other side frees is locked for them: they stand there, and nobody
    is about (common practice, no source)."""
    events = (Event.NOBODY, Event.EXIT, Event.DEAD)
    cases = Cases([Situation(Power.MAINS, Mode.NORMAL, event) for event in events])
    assert cases.ways(()).tolist() == [1, 2]
    assert cases.ways(("exit", "")).tolist() == [0, 0]
