"""A threshold that is moved makes a case fail: each is held from both sides."""

from __future__ import annotations

from dataclasses import replace
from types import ModuleType

import pytest

from latchwork.behaviour import Power
from latchwork.findings import Severity
from latchwork.rules import cabling, currents, fit, judge, lock_volts, made_for, sets
from tests.rules import cases_electrical, cases_people, cases_security
from tests.rules.jobs import Case, outcome

CASES = [*cases_people.CASES, *cases_electrical.CASES, *cases_security.CASES]

MOVED: list[tuple[ModuleType, str, object, str]] = [
    (currents, "MARGIN", 1.05, "supply-overload"),
    (currents, "MARGIN", 1.5, "supply-overload"),
    (currents, "AT_LIMIT", 0.6, "relock-overload"),
    (currents, "AT_LIMIT", 1.5, "relock-overload"),
    (currents, "JOINT_W", 0.3, "joint-hot"),
    (currents, "JOINT_W", 0.7, "joint-hot"),
    (cabling, "BELOW", 0.5, "loop-resistance"),
    (cabling, "BELOW", 1.0, "loop-resistance"),
    (cabling, "ABOVE", 0.85, "loop-resistance"),
    (cabling, "ABOVE", 1.4, "loop-resistance"),
    (cabling, "READER_M", 149.0, "reader-cable"),
    (cabling, "READER_M", 153.0, "reader-cable"),
    (cabling, "PORT_M", 99.0, "network-cable"),
    (cabling, "PORT_M", 102.0, "network-cable"),
    (cabling, "CARRIES", (), "copper-clad"),
    (cabling, "CARRIES", ("power", "lock", "exit"), "copper-clad"),
    (made_for, "MISMATCH_HIGH", 2.5, "wrong-voltage"),
    (made_for, "MISMATCH_HIGH", 0.9, "wrong-voltage"),
    (made_for, "MISMATCH_LOW", 0.5, "wrong-voltage"),
    (made_for, "MISMATCH_LOW", 1.6, "wrong-voltage"),
    (lock_volts, "ORDINARY", (Power.MAINS,), "volts-low"),
    (fit, "NEEDS_GRADE", {"outside": (4, 2), "weather": (4, 3)}, "enclosure-grade"),
    (fit, "NEEDS_GRADE", {"outside": (4, 2), "weather": (4, 5)}, "enclosure-grade"),
    (fit, "NEEDS_GRADE", {"outside": (4, 3), "weather": (4, 4)}, "enclosure-grade"),
    (fit, "NEEDS_GRADE", {"outside": (4, 1), "weather": (4, 4)}, "enclosure-grade"),
    (fit, "NEEDS_GRADE", {"outside": (3, 2), "weather": (3, 4)}, "enclosure-grade"),
]

US = sets.US_MODEL_CODES
LIMITS = [
    ("release_height_m", 1.005, 1.2192, "release-height"),
    ("release_height_m", 1.02, 1.2192, "release-height"),
    ("release_height_m", 1.016, 1.215, "release-height"),
    ("release_height_m", 1.016, 1.23, "release-height"),
    ("release_distance_m", None, 1.52, "release-distance"),
    ("release_distance_m", None, 1.56, "release-distance"),
    ("release_hold_s", None, None, "release-hold"),
    ("closer_s", 5.1, None, "closer-fast"),
    ("closer_s", 4.8, None, "closer-fast"),
    ("opening_n", None, 22.1, "opening-force"),
    ("opening_n", None, 22.4, "opening-force"),
]


def _holds(case: Case) -> bool:
    """Whether a case's mistake is found and its near miss is not."""
    hit = {(f.rule, f.subject, f.severity) for f in judge(outcome(case.hit))}
    near = [f for f in judge(outcome(case.near)) if f.severity <= Severity.WEAK]
    return (case.code, case.subject, case.severity) in hit and not near


def _some_case_fails(code: str) -> bool:
    cases = [case for case in CASES if case.code == code]
    assert cases
    return not all(_holds(case) for case in cases)


@pytest.mark.parametrize(("module", "name", "value", "code"), MOVED)
def test_a_moved_threshold_is_noticed(
    monkeypatch: pytest.MonkeyPatch, module: ModuleType, name: str, value: object, code: str
) -> None:
    assert not _some_case_fails(code)
    monkeypatch.setattr(module, name, value)
    assert _some_case_fails(code)


@pytest.mark.parametrize(("name", "least", "most", "code"), LIMITS)
def test_a_moved_limit_of_a_rule_set_is_noticed(
    monkeypatch: pytest.MonkeyPatch, name: str, least: float | None, most: float | None, code: str
) -> None:
    moved = replace(getattr(US, name), least=least, most=most)
    monkeypatch.setitem(sets._SETS, "US model codes", replace(US, **{name: moved}))
    assert _some_case_fails(code)


@pytest.mark.parametrize(
    ("name", "value", "code"),
    [
        ("release_poles", None, "release-one-pole"),
        ("categories", True, ""),
    ],
)
def test_what_a_rule_set_asks_is_noticed(
    monkeypatch: pytest.MonkeyPatch, name: str, value: object, code: str
) -> None:
    general = replace(sets.GENERAL, **{name: value})  # type: ignore[arg-type]  # as the field
    monkeypatch.setitem(sets._SETS, "general", general)
    assert _some_case_fails(code) if code else not _some_case_fails("fire-alarm-stays-locked")
