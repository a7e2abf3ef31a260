"""What the service plan says of supplies and their batteries."""

from __future__ import annotations

from pathlib import Path

import pytest

from latchwork.answers.service import service_plan
from latchwork.answers.service_supplies import near_end, supplies_of
from latchwork.answers.service_together import together
from latchwork.faults import Ask, faults
from tests.cli.calling import call, job_in
from tests.faults.test_pairs import TIRED
from tests.truth.solved import wired

SITE = """\
latchwork: 1
supplies:
  S1: {{part: supply 24 V, battery: 2 x 12 V 7 Ah{more}}}
  S2: {{part: supply 12 V, battery: 1 x 12 V 7 Ah}}
  S3: {{part: "supply 12 V, no battery"}}
doors:
  D1: {{supply: S1, out by: lever, lock: strike 24 V fail-secure, controller: controller}}
  D2:
    supply: S3
    out by: lever
    lock: {{part: strike 12 V fail-secure, supply: S2}}
    controller: controller
  D3: {{supply: S3, out by: lever, lock: strike 12 V fail-secure, controller: controller}}
"""


@pytest.mark.parametrize(
    ("more", "told"),
    [
        # Twelve cells at 1.75 V (a trade handbook's end of discharge, from memory) are 21 V.
        ("", "S1 at 21.00 V, 1.75 V a cell"),
        (", cut-off: 20 V", "S1 at 21.00 V, 1.75 V a cell"),
        (", cut-off: 22.2 V", "S1 at 22.20 V, its cut-off"),
    ],
)
def test_a_battery_near_its_end_has_its_volts_named(more: str, told: str) -> None:
    """The higher of the two: no battery is drawn below either."""
    assert near_end(wired(SITE.format(more=more)), "D1") == told


def test_the_battery_of_a_lock_that_hangs_on_a_supply_of_its_own_counts() -> None:
    """Six cells at 1.75 V are 10.5 V; the controller's supply has no battery."""
    site = wired(SITE.format(more=""))
    assert supplies_of(site, "D2") == ("S2", "S3")
    assert near_end(site, "D2") == "S2 at 10.50 V, 1.75 V a cell"
    assert near_end(site, "D3") == ""


def test_a_battery_that_is_a_part_of_its_own_is_near_its_end_with_the_others() -> None:
    parts = "devices: {B1: battery 12 V 7 Ah, B2: battery 12 V 7 Ah}\nwiring: [[S3.+, lead, B1.+]]"
    site = wired(SITE.format(more="").replace("doors:", f"{parts}\ndoors:"))
    assert near_end(site, "D3") == "B1 at 10.50 V, 1.75 V a cell"


def test_a_supply_is_switched_off_once_for_all_its_doors() -> None:
    """Common practice, no source: one walk to the supply, then to each of its doors."""
    wiring = wired(TIRED)
    plan = service_plan(wiring, faults(wiring, ask=Ask(attacks=False, processes=1)))
    tests = together(plan)
    assert len({(t.supply, t.given) for t in tests}) == len(tests)
    (off,) = (t for t in tests if t.given == "with the mains off")
    assert (off.supply, [look.door for look in off.looks]) == ("S1", ["D1", "D2"])
    # Every fault is told once, though it is seen at each of the doors.
    assert sum(told == "S1 battery dead" for told in off.told) == 1
    # What needs no switching is a matter of each door.
    assert {line.supply for line in plan if line.situation.startswith("mains/")} <= {""}


def test_the_page_has_one_test_of_a_supply_and_names_its_doors(tmp_path: Path) -> None:
    job = job_in(tmp_path, TIRED)
    page = " ".join(call("faults", job, "--no-attacks").output.split())
    assert page.count("S1 with the mains off: look at D1, D2") == 1
    assert page.index("S1 with the mains off: look") < page.index("S1: With the mains off for")
    assert "Ask to come in with the mains off" not in page
    alone = " ".join(call("faults", job, "--no-attacks", "--door", "D2").output.split())
    assert "look at D1, D2" not in alone
    assert "Ask to come in with the mains off" in alone
