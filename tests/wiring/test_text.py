"""A door's rows, printed and pasted back, give the same wiring."""

from __future__ import annotations

import re

import pytest

from latchwork.wiring import Wiring, rows_text
from tests.wiring.sites import SUPPLIES, electrical, wired
from tests.wiring.test_arrangements import ARRANGEMENTS
from tests.wiring.test_shared import FIRE_AHEAD_OF_TWO, TWO_DOORS

JOBS = {
    **{n: (s if "latchwork: 1" in s else SUPPLIES + s) for n, (_, s, _) in ARRANGEMENTS.items()},
    "two doors on a controller": TWO_DOORS,
    "fire contact ahead of two": FIRE_AHEAD_OF_TWO,
}


def pasted(job: str, wiring: Wiring, door: str) -> str:
    """The job with a door's printed rows put under its name."""
    return re.sub(
        rf"^  {door}:\n", lambda match: match[0] + rows_text(wiring, door), job, flags=re.MULTILINE
    )


@pytest.mark.parametrize("name", JOBS)
def test_what_is_printed_reads_back_as_the_same_conductors(name: str) -> None:
    job = JOBS[name]
    before = wired(job, "")
    for door in before.plan.doors:
        after = wired(pasted(job, before, door), "")
        assert after.arrangement[door] == "own wiring"
        assert electrical(after) == electrical(before)
        assert [c.id for c in after.conductors] == [c.id for c in before.conductors]


def test_rows_are_printed_as_planned_and_in_columns() -> None:
    wiring = wired(
        """
doors:
  D1:
    supply: S1 out 1
    lock: strike 24 V fail-secure
    controller: controller
    runs:
      power: {cable: "4 x 1.0 mm², screened", length: about 18 m, core resistance: measured 0.3 ohm}
      exit: {cable: 4 x 0.22 mm², length: unknown}
    found:
      - {swapped: [power brown, power blue]}
"""
    )
    assert rows_text(wiring, "D1") == (
        "    # power: about 18 m of 4 x 1.0 mm², screened, core resistance measured 0.3 ohm\n"
        "    # exit: unknown of 4 x 0.22 mm²\n"
        "    wiring:\n"
        "      - [S1.1,          power brown, controller.+]\n"
        "      - [S1.-,          power blue,  controller.-]\n"
        "      - [controller.+,  lead,        controller.COM]\n"
        "      - [controller.NO, lead,        lock.+]\n"
        "      - [controller.-,  lead,        lock.-]\n"
    )


def test_joints_the_rows_need_are_printed_beside_those_of_the_door() -> None:
    wiring = wired(
        """
doors:
  D1:
    supply: S1 out 1
    lock: magnet 24 V
    controller: controller
    controller at: supply
    release: release, double pole
    joints: {X1: {place: "box: ceiling", made: crimp, resistance: measured 0.02 ohm}}
    runs: {lock: 34 m of 2 x 1.5 mm², release: 34 m of 4 x 1.5 mm²}
"""
    )
    assert (
        "    joints:\n"
        "      X2: {}\n"
        '      X1: {place: "box: ceiling", made: crimp, resistance: measured 0.02 ohm}\n'
    ) in rows_text(wiring, "D1")
