"""What a rule finds has a remedy where there is one, and it brings the job back to nothing found.

The mistakes are those that the rules are held against, written by hand.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from latchwork.answers.mend import mend_one
from latchwork.findings import Severity
from latchwork.job.changes import apply
from latchwork.parts import catalogue
from latchwork.remedies.bench import Bench
from latchwork.remedies.moves import wiring
from latchwork.remedies.scene import Scene
from latchwork.remedies.search import remedies
from latchwork.remedies.table import BY_RULE, may_mend
from latchwork.remedies.walk import walk
from tests.rules.jobs import MAGNET, Case, but, findings, job, outcome, told
from tests.rules.test_cases import CASES

NOBODY_CAN = {
    "exit-sensor-unsaid": "one has to try it from outside",
    "bar-to-pull": "somebody has to hang the door the other way",
    "battery-old": "somebody has to fit a new one",
    "fire-door-no-closer": "somebody has to fit one",
    "fire-door-unlabelled": "somebody has to look for it, or ask who answers for the door",
    "temperature-range": "somebody has to say how cold or hot it is where it stands",
    "assumed-figures": "somebody has to look at the part",
    "beyond-model": "this model has no answer",
    "look-up": "somebody has to look it up",
    "lock-contact-open": "somebody has to say whether it is wanted",
    "loop-resistance": "somebody has to find the joint or the other cable",
    "network-cable": "somebody has to find another way, or a switch on it",
    "nobody-gets-in": "somebody has to say which door is to have a key",
    "kept-in-unasked": "somebody has to say whether anybody is shut in there",
    "nobody-leaves": "somebody has to say how people leave",
    "one-leaf-only": "somebody has to say by which leaf people leave",
    "panel-supply-unknown": "somebody has to say which supply",
    "ports-together": "another switch, which the job does not describe",
    "release-unsaid": "somebody has to measure",
    "standby-unreckoned": "somebody has to run it on battery",
    "outputs-joined": "somebody has to say which of them is to feed it",
    "escape-inward": "somebody has to say how people are to get through from that side",
    "fed-elsewhere": "somebody has to mark both fuses, or part the contacts",
    "run-unsaid": "somebody has to walk the route",
    "unsolved": "this model has no answer",
}
"""Codes that no Change answers, and why."""

AGAINST = {
    # No bar of the catalogue is made for weather.
    ("indoor-in-weather", "bar: panic bar with switch"),
    # On 18 AWG already: no thicker core carries data further.
    ("reader-cable", "151 m of 6 x 18 AWG"),
    # Which lock the door has, or whether a mechanical one alone, somebody has to say.
    ("not-locked", "name: Lockless"),
    # Whether residents may be kept in, no Change decides.
    ("exit-needs-key", "may be kept in: residents"),
}
"""Mistakes that no Change answers because of another line of the same job."""


def _answered(case: Case) -> bool:
    other = any(case.code == code and line in case.hit for code, line in AGAINST)
    return case.code in BY_RULE and case.severity < Severity.NOTE and not other


WORSE = [case for case in CASES if _answered(case)]
GRAVE = [case for case in WORSE if case.severity <= Severity.INSECURE]
FIRST = list({case.code: case for case in reversed(GRAVE)}.values())[::2]
"""One of every second code that is about people's way out, or who gets in."""
OTHERS = [case for case in WORSE if case not in FIRST]


def scene(text: str) -> Scene:
    return Scene(text, "job.yaml", catalogue(), outcome(text))


def test_every_other_code_may_have_a_remedy() -> None:
    without = {case.code for case in CASES if case.code not in BY_RULE}
    assert without <= NOBODY_CAN.keys(), without - NOBODY_CAN.keys()


@pytest.mark.parametrize("code", sorted({code for code, _ in AGAINST}))
def test_what_another_line_rules_out_has_no_remedy(code: str) -> None:
    """And none is promised beside the finding."""
    cases = [case for case in CASES if case.code == code and not _answered(case)]
    assert cases
    for case in cases:
        found = next(f for f in findings(case.hit) if f.rule == code)
        assert next(remedies(scene(case.hit), found), None) is None
        assert not may_mend(found)


def test_what_comes_of_another_mistake_goes_with_that(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A port of too low a class starves the reader behind the unit: no cable feeds it better
    (IEEE 802.3: a class is the watts at the unit, from memory)."""
    # To try all that might feed it better takes ten seconds.
    monkeypatch.setattr("latchwork.answers.mend.remedies", lambda *_: iter(()))
    case = next(c for c in CASES if c.code == "port-overload" and "class 1" in c.hit)
    (tmp_path / "job.yaml").write_text(case.hit, encoding="utf-8")
    found = {f.rule: f for f in findings(case.hit) if f.subject in ("D1.reader", "S1")}
    answer, _ = mend_one(tmp_path, found["restarts"].id)
    (told_of,) = answer.remedies
    assert told_of.finding == found["restarts"].id
    assert found["port-overload"].id in told_of.also_gone
    assert told_of.paths == ("supplies.S1",)


def test_no_other_lock_is_told_where_a_mains_failure_opens_the_door() -> None:
    """Without a battery a bolt or a strike that current holds lets go in every outage as a magnet
    does (its kind: fail-safe): only a battery helps."""
    case = next(c for c in CASES if c.code == "magnet-alone")
    its = scene(case.hit)
    found = next(f for f in findings(case.hit) if f.rule == "magnet-alone")
    bench = Bench(its)
    made = [bench.lay(c) for move in BY_RULE[found.rule] for c in move(its, found)]
    lock = its.part("D1", "lock")
    assert any(made)
    assert all(laid.wiring.plan.devices["D1.lock"].part == lock for laid in made if laid)


def test_of_ways_that_bring_something_the_least_grave_comes_first(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A release of one pole that only asks the controller (common practice, no source): wired into
    the lock's power it breaks one pole; on its other contact the door is never locked."""
    rows = "[[controller.EXIT, lead, release.NO], [controller.GND, lead, release.COM]]"
    asks = {"release": "release", "controller": "controller, level exit", "reader": "-"}
    runs = "{power: 8 m of 3 x 1.0 mm²}"
    text = job(but(MAGNET, {**asks, "runs": runs, "wiring": f"{{release: {rows}}}"}))
    found = next(f for f in findings(text) if f.rule == "release-signals")
    moves = (wiring.other_contact, wiring.standard_leg)
    monkeypatch.setattr("latchwork.remedies.search.BY_RULE", {"release-signals": moves})
    ways = [[f.rule for f in remedy.came] for remedy in remedies(scene(text), found)]
    assert ways == [["release-one-pole"], ["not-locked"]]


@pytest.mark.parametrize("case", FIRST, ids=lambda case: f"{case.code} {case.subject}")
def test_the_planted_mistake_is_mended(case: Case) -> None:
    _mended(case)


@pytest.mark.slow_oracle
@pytest.mark.parametrize("case", OTHERS, ids=lambda case: f"{case.code} {case.subject}")
def test_every_planted_mistake_is_mended(case: Case) -> None:
    _mended(case)


def _mended(case: Case) -> None:
    found = next(f for f in findings(case.hit) if (f.rule, f.subject) == (case.code, case.subject))
    remedy = next(remedies(scene(case.hit), found), None)
    assert remedy is not None
    assert found.id in {f.id for f in remedy.gone}
    assert all(f.severity > found.severity for f in findings(remedy.text) if f in remedy.came)
    end = walk(scene(remedy.text))
    assert told(end.text) == []
    text = case.hit
    for change in remedy.changes:
        text, _ = apply(text, change)
    assert text == remedy.text
