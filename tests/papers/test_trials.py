"""Test sheets name the exit device that is there, and expect of it what it does (common practice,
no source)."""

from __future__ import annotations

import re
from functools import cache

import pytest

from latchwork.answers.schedules.trials import trials
from latchwork.behaviour import Event, Mode, Power, Situation
from latchwork.papers.content import people, power, tests
from latchwork.papers.content.lists import sentence
from tests.papers.made import source_from
from tests.rules.cases_people import HELD, PAIR
from tests.rules.jobs import but, job, outcome

SITE = """\
latchwork: 1
supplies: {S1: {part: "supply 24 V, eight outputs"}}
usual:
  power lost: unlocks
  fire alarm: unlocks
  controller: controller, reader outside
  controller at: door
  reader: reader
  runs: {power: 10 m of 3 x 1.5 mm², reader: 3 m of 6 x 0.22 mm²}
doors:
  D1: {supply: S1 out 1, out by: lever, lock: magnet 24 V, exit: exit button,
       second exit: exit sensor}
  D2: {supply: S1 out 2, out by: nothing mechanical, lock: magnet 24 V, exit: key switch}
  D3: {supply: S1 out 3, out by: panic bar, lock: magnet 24 V, bar: panic bar with switch}
  D4: {supply: S1 out 4, out by: lever, lock: magnet 24 V, bar: lever with switch}
  D5:
    supply: S1 out 5
    outside: outside
    out by: panic bar
    lock: magnet 24 V
    second lock: strike 24 V fail-secure
    bar: panic bar with switch
    release: release
    runs: {power: 20 m of 3 x 1.0 mm², reader: 3 m of 6 x 0.22 mm², release: 3 m of 4 x 1.0 mm²}
"""


@cache
def tried(door: str) -> dict[str, str]:
    source, _ = source_from(SITE)
    (sheet,) = (s for s in tests.test_sheets(source) if str(s["title"]).split()[1] == door)
    rows = sheet["tests"]
    assert isinstance(rows, list)
    return {str(row["do"]): str(row["expect"]) for row in rows}


@pytest.mark.parametrize(
    ("door", "does"),
    [
        ("D1", ["Press the exit button", "Set off the exit sensor"]),
        ("D2", ["Turn the key switch"]),
        ("D3", ["Push the bar"]),
        ("D4", ["Turn the lever"]),
    ],
)
def test_what_is_worked_is_what_is_fitted(door: str, does: list[str]) -> None:
    steps = ("Press", "Set off", "Turn", "Push", "Use")
    found = [do for do in tried(door) if do.startswith(steps)]
    assert len(found) == len(does)
    for do, wanted in zip(found, does, strict=True):
        assert do.startswith(wanted)
        assert tried(door)[do] == "unlocked"


def test_what_is_fitted_beside_a_reader_is_tried_too() -> None:
    """Trade practice: a key switch nobody turned at hand-over is found wired wrong at night."""
    kit = """
latchwork: 1
supplies: {S1: {part: supply 24 V, outputs: {1: {fuse: 1.0 A}}}}
usual:
  lock: strike 24 V fail-secure
  out by: lever
  controller: controller
  exit: exit button
  key switch: key switch
  radio: radio receiver
  supply: S1 out 1
  runs: {power: 9 m of 2 x 1.0 mm²}
doors:
  D1: {bell: bell 24 V, bell button: bell button}
  D2: {controller: none, radio: none}
  D3: {interlock: D1}
"""
    trials = source_from(kit)[0].schedules.trials
    tried = {d: [t.device for t in rows if t.key == "beside"] for d, rows in trials.items()}
    assert tried == {"D1": ["radio", "bell button"], "D2": [], "D3": []}
    assert [t.key for t in trials["D1"]][:5] == ["at rest", "card", "card", "exit", "beside"]
    assert trials["D1"][2].device == "key switch"


def test_a_bar_draws_the_latch_that_its_strike_keeps() -> None:
    """Its switch frees the magnet; the strike stays locked, and the bar's own latch leaves it."""
    assert tried("D5")["Push the bar"] == "opens by the bar or lever itself"


def test_the_guide_names_what_one_leaves_by() -> None:
    told = {str(g["title"]): str(g["parts"]) for g in people.guides(source_from(SITE)[0])}
    assert "Turn the key switch" in next(v for k, v in told.items() if "D2" in k)
    assert "exit button" not in next(v for k, v in told.items() if "D2" in k)
    first = next(v for k, v in told.items() if "D1" in k)
    assert "Press the exit button, and open the door." in first
    assert "'Turn the lever.'" in next(v for k, v in told.items() if "D4" in k), "not the bar"
    assert "Or step up to the sensor" in first, "it frees the door too, and was told nowhere"


def test_nobody_inside_is_sent_to_what_stands_on_the_other_side() -> None:
    """A button and a release for those outside (common practice, no source)."""
    site = """\
latchwork: 1
supplies: {S1: supply 24 V}
doors:
  D1: {out by: nothing mechanical, lock: magnet 24 V, exit: exit sensor, controller: controller,
       second exit: {part: exit button, place: WHERE}, release: {part: release, place: WHERE}}
"""
    for where, beside in (
        ("inside", "press the exit button, emergency release beside it"),
        ("outside", "another way out"),
    ):
        doors = people.emergency(source_from(site.replace("WHERE", where))[0])["doors"]
        assert isinstance(doors, list)
        assert [d["release"] for d in doors] == [beside]


def test_the_emergency_page_names_what_else_frees_a_door() -> None:
    """A bar that breaks the magnet's own power (NFPA 101 7.2.1.6.2 asks for such a way, from
    memory) was left out: whoever the sensor did not see was sent to another door."""
    site = """\
latchwork: 1
supplies: {S1: supply 24 V}
doors:
  D1: {out by: panic bar, bar: panic bar with two-pole switch, exit: exit sensor,
       lock: magnet 24 V, controller: controller}
  D2: {out by: lever, lock: strike 24 V fail-secure, diode: diode, controller: controller}
"""
    doors = people.emergency(source_from(site)[0])["doors"]
    assert isinstance(doors, list)
    assert [d["release"] for d in doors] == ["push the bar, another way out", "another way out"]


@pytest.mark.parametrize(
    ("fitted", "told"),
    [
        ("controller, reader outside, reader: reader", "Show your card at the reader, and open"),
        ("controller", "Key in your code, and open"),
        ("controller, fingerprint", "Put your finger on the reader, and open"),
        ("controller, card and code", "Show your card at the reader, or key in your code, and"),
    ],
)
def test_the_guide_asks_for_what_the_door_reads(fitted: str, told: str) -> None:
    """Of a keypad alone it said to show a card at a reader that is not there."""
    name, _, reader = fitted.partition(", reader: ")
    devices = f'"{name}"' + (f", reader: {reader}" if reader else "")
    site = f"""\
latchwork: 1
supplies: {{S1: {{part: supply 12 V}}}}
doors:
  D1: {{out by: lever, lock: strike 12 V fail-secure, diode: diode, controller: {devices}}}
"""
    (guide,) = people.guides(source_from(site)[0])
    assert told in str(guide["parts"])


def test_a_lever_with_a_switch_is_no_bar() -> None:
    """It stands in the bar's place in the file; papers sent people to a bar that is not there."""
    row = source_from(SITE)[0].door("D4")
    assert sentence(row).startswith("In by card or code, out by the lever.")
    assert tried("D4")["Leave it shut and look at it"] == "locked; out by the lever"


BARE = """\
latchwork: 1
supplies: {S1: {part: "supply 12 V, no battery", limit: 3 A}}
doors:
  D1: {out by: lever, lock: strike 12 V fail-secure, diode: diode, controller: controller,
       supply: S1, runs: {power: 10 m of 2 x 1.5 mm²}}
  D2: {name: Cellar door, out by: lever}
"""


def test_no_battery_is_switched_off_where_there_is_none() -> None:
    source, _ = source_from(BARE)
    sheet = next(s for s in tests.test_sheets(source) if "D1" in str(s["title"]))
    assert "Mains off" in str(sheet["tests"])
    assert "attery" not in str(sheet["tests"])
    (lid,) = power.lid_sheets(source)
    assert "Battery" not in str(lid["order"])
    assert "D1" in str(lid["outputs"])


def test_no_controller_is_unplugged_where_there_is_none() -> None:
    site = """\
latchwork: 1
supplies: {S1: {part: supply 24 V}}
doors:
  D1: {lock: magnet 24 V, power lost: unlocks, release: release, exit: button}
"""
    sheet = str(tests.test_sheets(source_from(site)[0])[0]["tests"])
    assert "Operate the emergency release" in sheet
    assert "ontroller" not in sheet


def test_a_door_with_nothing_electrical_is_left_by_its_lever() -> None:
    source, _ = source_from(BARE)
    doors = people.emergency(source)["doors"]
    assert isinstance(doors, list)
    assert {str(d["id"]): str(d["out"]) for d in doors}["D2"] == "by the lever"


IDLE = """\
latchwork: 1
site: {name: Network, standby: 2 h}
supplies:
  S1: {part: "network port, class 4"}
  S2: {part: "supply 12 V, 2 A", battery: 1 x 12 V 7 Ah}
doors:
  D1:
    out by: lever
    lock: strike 12 V fail-secure, wide range
    controller: controller, network-fed
    diode: diode
    supply: S1
    runs: {power: 45 m of category cable, lock: 6 m of 2 x 1.0 mm²}
    wiring:
      lock:
        - [S2.+, lock brown, controller.COM]
        - [controller.NO, lead, lock.+]
        - [lock.-, lock blue, S2.-]
"""


def test_a_battery_that_feeds_nothing_lasts_no_years() -> None:
    """It loses a few hundredths a month by itself (common practice, no source)."""
    source, _ = source_from(IDLE)
    sheets = "".join(str(s) for s in [*power.power_sheets(source), *power.lid_sheets(source)])
    assert "over 1000 h" in sheets
    assert not re.search(r"\d{4,}\.\d h", sheets)


@pytest.mark.parametrize(("active", "expected"), [("left", "unlocked"), ("both", "locked")])
def test_a_card_is_to_open_the_active_leaf(active: str, expected: str) -> None:
    """The other leaf is bolted all the time, and its lock is in nobody's way."""
    site = outcome(job(but(PAIR, {**HELD, "active leaf": active})))
    card = Situation(Power.MAINS, Mode.NORMAL, Event.CREDENTIAL)
    assert {t.state for t in trials(site, "D1", (card,)) if t.key == "card"} == {expected}
