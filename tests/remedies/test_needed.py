"""What later steps of a walk make needless is taken back (common practice, no source: one buys what
is needed)."""

from __future__ import annotations

from latchwork.behaviour import behave
from latchwork.findings import Severity
from latchwork.job import read_job_text
from latchwork.job.changes import apply, put
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
WIDE = ("doors.D1.lock", "strike 12 V fail-secure, wide range")


def scene(text: str) -> Scene:
    site = behave(wire(plan(read_job_text(text, "job.yaml"), catalogue())))
    return Scene(text, "job.yaml", catalogue(), site)


def walked(
    *edits: tuple[str, str], text: str = STRIKE, together: int = 1, on_site: bool = False
) -> tuple[Remedy, ...]:
    """What is needed of steps that set something: the first ``together`` are one step."""
    start = scene(text)
    about = next(f for f in judge(start.site) if f.severity <= Severity.WEAK)
    steps: list[Remedy] = []
    for some in (edits[:together], *((each,) for each in edits[together:])):
        changes = []
        for path, value in some:
            changes.append(put(text, path, value))
            text, _ = apply(text, changes[-1])
        steps.append(Remedy(about, tuple(changes), text, (), (), (), on_site, False))
    return needed(start, scene(text), steps)


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


def test_what_was_put_right_on_site_stays() -> None:
    assert len(walked(CORES, WIDE, on_site=True)) == 2


def test_what_is_needless_goes_ahead_of_two_that_set_the_same_again() -> None:
    """Cores were bought, then the run was found longer on site, and thicker ones bought for that:
    who has found it buys once. By hand: 10.5 V and 0.2 A through 300 m there and back of 1.5 mm²
    (8 ohm) leave a strike of wide range hardly the 9 V it needs, of 2.5 mm² (4.8 ohm) 9.6 V."""
    path, text = CORES[0], STRIKE.replace("60 m", "160 m")
    text = text.replace("strike 12 V fail-secure", WIDE[1])
    start = scene(text)
    about = next(f for f in judge(start.site) if f.severity <= Severity.WEAK)
    runs = ("160 m of 2 x 1.5 mm²", "300 m of 2 x 1.5 mm²", "300 m of 2 x 2.5 mm²")
    steps = []
    for run in runs:
        change = put(text, path, run)
        text, _ = apply(text, change)
        steps.append(Remedy(about, (change,), text, (), (), (), run == runs[1], False))
    found, bought = needed(start, scene(text), steps)
    assert runs[1] in found.text
    assert apply(start.text, *found.changes)[0] == found.text
    assert bought.text == text


BARRED = """\
latchwork: 1
supplies: {S1: supply 24 V}
doors:
  D1:
    supply: S1
    power lost: stays locked
    fire alarm: stays locked
    out by: nothing mechanical
    lock: bolt 24 V fail-safe, staged coil
    controller: controller
    controller at: supply
    runs: {lock: 6 m of 2 x 1.0 mm²}
"""


def test_no_step_is_left_that_by_itself_brings_as_bad() -> None:
    """A strike has no use for the switch in a bar. The bar without it and the bolt still there let
    nobody out: whoever stops after that step has mended nothing."""
    bar = ("doors.D1.out by", "panic bar"), ("doors.D1.bar", "panic bar with two-pole switch")
    lock = "doors.D1.lock", "strike 24 V fail-secure, diode"
    first, _ = walked(*bar, lock, text=BARRED, together=2)
    assert [change.path for change in first.changes] == [path for path, _ in bar]
