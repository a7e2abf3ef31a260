"""Fire contacts that doors share already are offered, whatever they are called."""

from __future__ import annotations

from itertools import islice

import pytest

from latchwork.behaviour import behave
from latchwork.parts import catalogue
from latchwork.remedies.moves.devices import fire_contact
from latchwork.remedies.scene import Scene
from latchwork.rules import judge
from tests.truth.solved import wired

JOB = """\
latchwork: 1
supplies: {S1: {part: supply 24 V, limit: 5 A}}
devices: {F1: NAME}
doors:
  D1:
    supply: S1
    fire alarm: unlocks
    out by: lever
    lock: magnet 24 V
    controller: controller
    runs: {power: 5 m of 2 x 1.0 mm²}
"""


@pytest.mark.parametrize("name", ["fire relay", "fire contact"])
def test_a_contact_that_is_there_is_offered_first(name: str) -> None:
    """Common practice, no source: the panel's relay is wired to once, and has two names."""
    job = JOB.replace("NAME", name)
    site = behave(wired(job))
    finding = next(f for f in judge(site) if f.rule == "fire-alarm-stays-locked")
    scene = Scene(job, "job.yaml", catalogue(), site)
    (first,) = islice(fire_contact(scene, finding), 1)
    assert any("F1" in repr(make(job)) for make in first.makes)
