"""A core that was found missing joins nothing, and is told where it should be."""

from __future__ import annotations

from latchwork.job import read_job_text
from latchwork.parts import catalogue
from latchwork.plan import plan
from latchwork.wiring import Wiring, wire
from tests.tapped import DOOR

JOB = f"""\
latchwork: 1
supplies: {{S1: {{part: supply 24 V, outputs: {{1: {{fuse: 1.0 A}}}}}}}}
cables: {{trunk: 20 m of 2 x 2.5 mm²}}
taps: {{K1: {{on: trunk, at: 8 m}}, K2: {{on: trunk, at: 12 m}}}}
wiring: [[S1.1, trunk brown, open], [S1.-, trunk blue, open]]
doors:
  D1:
{DOOR}    found: [OWN]
  D2:
    lock: strike 24 V fail-secure
    controller: controller
    wiring: {{power: [[K2.brown, lead, controller.+], [K2.blue, lead, controller.-]]}}
found: [FOUND]
"""


def wired(own: str = "", found: str = "") -> Wiring:
    text = JOB.replace("OWN", own).replace("FOUND", found)
    return wire(plan(read_job_text(text, "job.yaml"), catalogue()))


def test_a_tapped_core_that_is_missing_joins_no_taps() -> None:
    found = wired(found="{missing: trunk blue}")
    assert not [c.id for c in found.conductors if c.core == "blue" and c.cable == "trunk"]
    # Where it should be: 8 m, 4 m and 8 m of the 20 m, from tap to tap.
    told = [(c.start, c.end, c.length_m.value) for c in found.absent]
    assert told == [
        ("S1.-", "K1.blue", 8.0),
        ("K1.blue", "K2.blue", 4.0),
        ("K2.blue", "trunk.blue@2", 8.0),
    ]


def test_a_core_of_a_run_is_absent_whole_and_a_spare_one_not_at_all() -> None:
    found = wired("{missing: exit brown}, {missing: exit green}")
    assert [c.id for c in found.absent] == ["D1.exit.brown"]
    assert not [
        c.id for c in found.conductors if c.id.startswith(("D1.exit.brown", "D1.exit.green"))
    ]


def test_what_is_put_in_its_place_is_not_absent() -> None:
    put = "{missing: exit brown}, {added: exit brown, from: controller.GND, to: exit.NC}"
    found = wired(put)
    assert found.absent == ()
    assert [c.end for c in found.conductors if c.id == "D1.exit.brown"] == ["D1.exit.NC"]
