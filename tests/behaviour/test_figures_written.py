"""Figures that a job writes of its cables and supplies reach the worst cases."""

from __future__ import annotations

import pytest

from latchwork.behaviour import Case, SiteOutcome, behave
from latchwork.behaviour.cases import source_gives
from latchwork.elements import Figure
from latchwork.job import read_job_text
from latchwork.parts import catalogue
from latchwork.plan import plan
from latchwork.wiring import wire

JOB = """
latchwork: 1
site: {{name: Quillet Yard, ambient: 0 to 40 °C}}
supplies: {{S1: {{part: supply 12 V, limit: 3 A}}}}
doors:
  D1:
    supply: S1
    lock: {{part: magnet 12 V, holds down to: 6 V}}
    out by: nothing mechanical
    power lost: unlocks
    controller: controller
    exit: button
    runs: {{power: {power}}}
"""


def least_v(power: str) -> float:
    text = JOB.format(power=power)
    site: SiteOutcome = behave(wire(plan(read_job_text(text, "job.yaml"), catalogue())))
    return float(site.outcomes["D1"][Case.LEAST_VOLTS].locks[0].volts[0, 1])


def test_a_cable_in_a_hot_place_is_as_hot_as_written() -> None:
    plain = least_v("20 m of 2 x 0.75 mm²")
    as_ambient = least_v("{cable: 2 x 0.75 mm², length: 20 m, temperature: 0 to 40 °C}")
    hot = least_v("{cable: 2 x 0.75 mm², length: 20 m, temperature: 0 to 75 °C}")
    assert as_ambient == plain
    # R(75 °C) / R(40 °C) = 1.2162 / 1.0786 (IEC 60028, from memory): more drop, in proportion.
    supply = 13.5 - plain
    assert 0.0 < plain - hot < supply * (1.2162 / 1.0786 - 1.0)
    assert plain - hot == pytest.approx(0.1 * supply, rel=0.35)


def test_a_limit_stands_at_the_end_that_the_case_asks_for() -> None:
    limit = Figure(3.0, 2.7, 3.3)
    assert source_gives(limit, Case.NOMINAL) == 3.0
    assert source_gives(limit, Case.LEAST_VOLTS) == 2.7
    assert source_gives(limit, Case.MOST_CURRENT) == 3.3
