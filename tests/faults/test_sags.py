"""Faults of one door that others feel by way of their supply's volts alone.

By hand: Ohm's law; copper from IEC 60228, table 3, class 5: 39.0 ohm a km for 0.5 mm², 26.0 for
0.75 mm², at 20 °C.
"""

from __future__ import annotations

import pytest

from latchwork.behaviour import Case
from latchwork.faults import Ask, Consequence, Effect, FaultReport, faults
from latchwork.faults.prepare import groups_of, prepare_whole
from latchwork.faults.run import run_task
from latchwork.faults.tasks import tasks
from tests.truth.solved import wired

SHARED = """\
latchwork: 1
supplies: {{S1: {{part: supply 24 V, limit: {limit}}}}}
usual:
  supply: S1
  controller: controller
  controller at: supply
doors:
  D1:
    power lost: stays locked
    fire alarm: stays locked
    out by: nothing mechanical
    lock: {strike}
    exit: button
    runs: {{lock: 10 m of 2 x 1.5 mm², exit: 10 m of 2 x 0.5 mm²}}
  D2:
    power lost: unlocks
    fire alarm: unlocks
    out by: lever
    lock: magnet 24 V
    runs: {{lock: {cable}}}
"""
SHORT = "D2.lock.brown D2.lock.blue short"


def told(report: FaultReport) -> dict[tuple[str, str], set[Effect]]:
    unnoticed = {Effect.SILENT, Effect.SHOWS}
    found = {(c.door, c.fault): {c.effect, *c.also} - unnoticed for c in report.consequences}
    return {key: effects for key, effects in found.items() if effects}


def run(text: str, fault: str = "") -> FaultReport:
    return faults(wired(text), ask=Ask(fault, attacks=False, processes=1))


def next_door(text: str) -> list[Consequence]:
    """What D2's short does at D1, tried among all shorts of either door."""
    found = run(text, "short").consequences
    return [c for c in found if (c.door, c.fault) == ("D1", SHORT)]


def test_a_short_next_door_leaves_too_little_to_draw_a_strike() -> None:
    """80 m of 0.5 mm² out and back are 6.24 ohm. Shorted at the far end they take all 2.5 A that
    the supply gives: some 15 V are left. A controller lives on that; a strike that surely draws at
    20.4 V (85 % of 24 V, common practice, no source) does not, and nothing else lets out. Nobody
    touches D1's strike while D2's short is there: it must be tried with somebody leaving."""
    strike = "strike 24 V fail-secure"
    text = SHARED.format(limit="2.5 A", strike=strike, cable="80 m of 2 x 0.5 mm²")
    (found,) = next_door(text)
    assert (found.effect, found.situation) == (Effect.TRAPS, "mains/normal/exit request")
    assert found.why.lock == "D1.lock"
    assert found.why.faulty_v < 15.6 < 20.4


def test_what_a_fault_takes_is_missing_where_a_lock_next_door_asks_for_more() -> None:
    """400 m of 0.75 mm² out and back are 20.8 ohm: shorted they take 1.3 A of 1.8 A, and the supply
    holds its 27.3 V. A strike of 1.5 A asks for more than is left: of 16 ohm beside 20.8 ohm the
    1.8 A make 16 V at most, too few to draw it at 20.4 V."""
    strike = "{part: strike 24 V fail-secure, current: 1.5 A}"
    text = SHARED.format(limit="1.8 A", strike=strike, cable="400 m of 2 x 0.75 mm²")
    (found,) = next_door(text)
    assert found.effect is Effect.TRAPS
    assert found.why.faulty_v < 16.3
    larger = SHARED.format(limit="3.5 A", strike=strike, cable="400 m of 2 x 0.75 mm²")
    assert next_door(larger) == []


@pytest.mark.parametrize(
    ("limit", "cable"), [("2.5 A", "80 m of 2 x 0.5 mm²"), ("1.8 A", "400 m of 2 x 0.75 mm²")]
)
def test_every_fault_is_told_as_the_whole_supply_has_it(limit: str, cable: str) -> None:
    """Every fault of either door at both, the whole supply solved at once (Kirchhoff), against what
    is told where a fault is tried next door only if it may be felt there."""
    strike = "{part: strike 24 V fail-secure, current: 0.4 A}"
    text = SHARED.format(limit=limit, strike=strike, cable=cable)
    wiring, unnoticed = wired(text), {Effect.SILENT, Effect.SHOWS}
    whole: dict[tuple[str, str], set[Effect]] = {}
    for item in prepare_whole(wiring, groups_of(wiring), Case.NOMINAL, lambda _: True):
        for task in tasks([item]):
            for c in run_task(task).consequences:
                whole[c.door, c.fault] = {c.effect, *c.also} - unnoticed
    ours = told(run(text))
    assert {key: effects for key, effects in whole.items() if effects} == ours
    assert {door for door, fault in ours if fault.startswith("D2.")} == {"D1", "D2"}


HELD_UP = """\
latchwork: 1
supplies: {S1: {part: supply 24 V, limit: 3 A, battery: 2 x 12 V 7 Ah}}
usual:
  supply: S1
  power lost: unlocks
  lock: magnet 24 V
  controller: controller
  controller at: supply
  runs: {lock: 20 m of 2 x 0.5 mm²}
doors:
  D1: {out by: nothing mechanical, exit: button, release: release}
  D2: {out by: lever}
"""


def test_a_dead_battery_waits_for_a_short_next_door() -> None:
    """20 m of 0.5 mm² out and back are 1.56 ohm. Shorted at the far end they leave 4.7 V of a
    supply that gives 3 A: too few for a controller, and more than the tenth at which D1's magnet
    lets go (common practice, no source): the button does nothing. A battery at some 25 V holds the
    supply up, and nobody notices one that is dead. Neither alone keeps anybody from D1's exit."""
    dead = "S1 battery dead"
    ask = Ask(attacks=False, pairs=100, processes=1, only=frozenset((dead, SHORT)))
    report = faults(wired(HELD_UP), ask=ask)
    alone = [{c.effect, *c.also} for c in report.consequences if c.door == "D1"]
    assert all(effects <= {Effect.OPENS, Effect.SILENT, Effect.SHOWS} for effects in alone)
    assert report.pairs is not None
    told = {p.door: (p.silent, p.second, p.effect) for p in report.pairs.pairs}
    assert told == {"D1": (dead, SHORT, Effect.BLOCKS)}
    assert report.pairs.run == report.pairs.of == 2  # at D2, and of these what D1 feels
