"""Every rule: a mistake it finds and names, and the same job just short of it."""

from __future__ import annotations

import pytest

from latchwork.answers.check import finding_line
from latchwork.behaviour import Case as Worst
from latchwork.behaviour import Event, LockState, Mode, Power
from latchwork.findings import Severity
from latchwork.rules import RULES
from latchwork.words import has
from tests.rules import cases_electrical, cases_people, cases_security
from tests.rules.jobs import MAGNET, STRIKE, Case, but, findings, job, outcome, told

CASES = [*cases_people.CASES, *cases_electrical.CASES, *cases_security.CASES]
ELSEWHERE = {
    "unsolved",
    "fire-alarm-latch-free",
    "standby-short",
    "standby-margin",
    "standby-by-cut-off",
    "standby-unreckoned",
    "no-battery",
    "battery-volts",
}
"""Codes whose hits and near misses stand in test_judge and in tests/power."""


def _name(case: Case) -> str:
    return f"{case.code} {case.subject}"


@pytest.mark.parametrize("case", CASES, ids=_name)
def test_the_mistake_is_found_and_named(case: Case) -> None:
    found = findings(case.hit)
    named = [f for f in found if (f.rule, f.subject) == (case.code, case.subject)]
    assert named, told(case.hit, Severity.NOTE)
    assert named[0].severity is case.severity
    others = {rule for rule, _ in told(case.hit)} - {case.code} - case.also
    assert not others, others


@pytest.mark.parametrize("case", CASES, ids=_name)
def test_all_that_is_found_can_be_said(case: Case) -> None:
    """Every text's figures are among its finding's: one that is not stops the whole check."""
    for found in findings(case.hit):
        line = finding_line(found, outcome(case.hit))
        assert all((line.title, line.why, line.do, line.source)), line


@pytest.mark.parametrize("case", CASES, ids=_name)
def test_just_short_of_it_nothing_is_found(case: Case) -> None:
    assert told(case.near) == []
    again = [f for f in findings(case.near) if f.rule == case.code and f.subject == case.subject]
    assert all(f.severity > case.severity for f in again)


def test_ordinary_doors_have_nothing_to_say() -> None:
    assert told(job(STRIKE), Severity.NOTE) == []
    assert told(job(MAGNET), Severity.NOTE) == []
    assert told(job(STRIKE, MAGNET, STRIKE), Severity.NOTE) == []


def test_every_code_has_a_case_and_its_words() -> None:
    codes = {code for rule in RULES for code in rule.codes}
    tried = {case.code for case in CASES} | ELSEWHERE
    assert codes - tried == set()
    wordless = [
        f"{code}.{part}"
        for code in codes
        for part in ("title", "why", "do")
        if not has(f"finding.{code}.{part}")
    ]
    assert wordless == []


def test_a_unit_found_dead_is_not_said_to_want_volts() -> None:
    """It has 27 V and starts at 10: no feed or cable is to be looked for (common practice, no
    source)."""
    text = job(but(STRIKE, {"found": "[{part: controller, state: controller dead}]"}))
    (found,) = (f for f in findings(text) if f.rule == "unpowered")
    line = finding_line(found, outcome(text))
    assert line.title.endswith("never starts")
    assert line.why.endswith("Found on site: controller dead.")
    assert line.do == "Change it."


def test_one_fire_contact_ahead_of_two_supplies_is_named() -> None:
    """Open, it leaves the plus of both magnets joined, between minuses that are 27.3 V and 13.65 V
    below the joined pluses: 13.65 V over 24 and 96 ohm, of which the first has 2.7 V and the other
    10.9 V. Above a tenth of their volts, neither surely lets go (common practice, no source)."""
    shared = but(MAGNET, {"fire": "F1", "controller": "controller", "reader": "-"})
    doors = but(shared, {"lock": "magnet 12 V"}), but(shared, {"supply": "S2"})
    more = "  S2: {part: supply 24 V, battery: 2 x 12 V 7 Ah}\ndevices: {F1: fire relay}"
    text = job(*doors, supplies="S1: {part: supply 12 V, battery: 1 x 12 V 7 Ah}", more=more)
    held = [f for f in findings(text) if f.rule == "fire-alarm-stays-locked"]
    assert [f.subject for f in held] == ["D1", "D2"]
    for found in held:
        line = finding_line(found, outcome(text))
        assert line.do.endswith("Give the doors of each supply a fire contact of their own.")


@pytest.mark.parametrize("slots", [("lock", "second lock"), ("second lock", "lock")])
def test_a_magnet_beside_a_motor_lock_goes_with_it(slots: tuple[str, str]) -> None:
    """One changeover works both: on a grant, in a fire and at the release its minus leaves the
    magnet and draws the bolt; without power the bolt stays where it is, whichever is named first
    (common practice, no source)."""
    motor, magnet = slots
    locks = {motor: "motor lock 24 V", magnet: MAGNET["lock"], "second lock on": "same leaf"}
    duty = {"power lost": "stays locked", "out by": "lever", "runs": "{power: 8 m of 3 x 1.0 mm²}"}
    text = job(but(MAGNET, {**locks, **duty, "controller": "controller", "reader": "-"}))
    assert told(text) == []
    (door,) = (by_case[Worst.NOMINAL] for by_case in outcome(text).outcomes.values())
    for mode, event in (
        (Mode.NORMAL, Event.CREDENTIAL),
        (Mode.NORMAL, Event.RELEASE),
        (Mode.FIRE_ALARM, Event.NOBODY),
    ):
        column = door.at(Power.MAINS, mode, event)
        assert [lock.state[column, 0] for lock in door.locks] == [LockState.UNLOCKED] * 2


def test_a_throw_that_keeps_a_pole_open_is_no_pole_that_nobody_notices() -> None:
    """A changeover has one blade: welded to NO it never closes NC, and the lock is never fed."""
    found = "[{part: release, state: contact NO1 welded}]"
    assert told(job(but(MAGNET, {"found": found}))) == [("not-locked", "D1")]
