"""What later steps of a walk make needless is taken back (common practice, no source: one buys what
is needed)."""

from __future__ import annotations

import pytest

from latchwork.behaviour import behave
from latchwork.findings import Finding, Severity
from latchwork.job import read_job_text
from latchwork.job.changes import Change, apply, put
from latchwork.parts import catalogue
from latchwork.plan import plan
from latchwork.remedies.needed import needed
from latchwork.remedies.scene import Scene
from latchwork.remedies.search import Remedy
from latchwork.rules import judge
from latchwork.wiring import wire

STRIKE = """\
latchwork: 1
supplies: {S1: {part: supply 12 V, battery: 1 x 12 V 17 Ah}}
doors:
  D1:
    supply: S1
    out by: lever
    power lost: stays locked
    fire alarm: stays locked
    lock: strike 12 V fail-secure
    diode: diode
    controller: controller
    controller at: supply
    runs: {lock: 60 m of 2 x 0.5 mm²}
"""
"""A battery at its end, 10.5 V, and 4.7 Ω there and back leave a strike of 0.2 A about 9.5 V: one
that needs 85 % of 12 V stays shut, one that needs 75 % opens."""
CORES = ("doors.D1.runs.lock", "60 m of 2 x 1.0 mm²")
LARGER = ("doors.D1.runs.lock", "60 m of 2 x 1.5 mm²")
WIDE = ("doors.D1.lock", "strike 12 V fail-secure, wide range")
SIGN = ("site.name", "Reed mill")


def scene(text: str) -> Scene:
    site = behave(wire(plan(read_job_text(text, "job.yaml"), catalogue())))
    return Scene(text, "job.yaml", catalogue(), site)


def walked(*edits: tuple[str, str], on_site: bool = False) -> tuple[Remedy, ...]:
    """The steps that are needed of those that set something each."""
    start = scene(STRIKE)
    about = next(f for f in judge(start.site) if f.severity <= Severity.WEAK)
    steps, text = [], STRIKE
    for path, value in edits:
        change = put(text, path, value)
        text, _ = apply(text, change)
        steps.append(_step(about, change, text, on_site))
    return needed(start, scene(text), steps)


def _step(about: Finding, change: Change, text: str, on_site: bool) -> Remedy:
    return Remedy(about, (change,), text, (), (), (), on_site, False)


def test_cores_that_another_lock_makes_needless_are_taken_back() -> None:
    (step,) = walked(CORES, WIDE)
    assert "0.5 mm²" in step.text
    assert WIDE[1] in step.text
    assert step.new_parts == (WIDE[1],)
    assert step.finding in step.gone
    text, _ = apply(STRIKE, *step.changes)
    assert text == step.text


def test_cores_that_are_set_twice_are_set_once() -> None:
    (step,) = walked((WIDE[0], "strike 12 V fail-secure, monitored"), WIDE)
    assert [change.path for change in step.changes] == [WIDE[0]]
    text, _ = apply(STRIKE, *step.changes)
    assert text == step.text


@pytest.mark.parametrize("edits", [(WIDE, CORES), (CORES, LARGER)])
def test_the_last_step_stays(edits: tuple[tuple[str, str], ...]) -> None:
    assert walked(*edits)[-1].text.count(edits[-1][1]) == 1


def test_what_was_put_right_on_site_stays() -> None:
    assert len(walked(CORES, WIDE, on_site=True)) == 2
