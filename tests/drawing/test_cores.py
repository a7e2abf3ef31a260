"""Every core of a cable is in one list: used, spare, faulty (spare too) or missing. By hand."""

from __future__ import annotations

import pytest

from latchwork.drawing.cores import cores
from latchwork.drawing.door import door_sheet
from tests.drawing.jobs import index_of
from tests.tapped import DOOR

JOB = f"""\
latchwork: 1
site: {{name: Sample house}}
supplies: {{S1: {{part: supply 24 V, outputs: {{1: {{fuse: 1.0 A}}}}}}}}
cables: {{trunk: 20 m of 4 x 2.5 mm²}}
taps: {{K1: {{on: trunk, at: 8 m}}}}
wiring: [[S1.1, trunk brown, open], [S1.-, trunk blue, open]]
found: [SITE]
doors:
  D1:
{DOOR}    found: [FOUND]
"""
PLAIN: tuple[list[str], ...] = (["white", "brown"], ["green", "yellow"], [], [])


@pytest.mark.parametrize(
    ("found", "lists"),
    [
        ("", PLAIN),
        (
            "{short: [exit green, exit yellow], at: 2 m}",
            (["white", "brown"], [], ["green", "yellow"], []),
        ),
        ("{break: exit green, at: 2 m}", (["white", "brown"], ["yellow"], ["green"], [])),
        # A used core stays used: what is the matter with it is the door's trouble, not the list's.
        ("{break: exit white, at: 2 m}", PLAIN),
        (
            "{short: [exit white, exit green], at: 2 m}",
            (["white", "brown"], ["yellow"], ["green"], []),
        ),
        ("{missing: exit brown}", (["white"], ["green", "yellow"], [], ["brown"])),
        (
            "{added: exit green, from: controller.GND, to: exit.NC}",
            (["white", "brown", "green"], ["yellow"], [], []),
        ),
    ],
)
def test_cores_of_a_run(found: str, lists: tuple[list[str], ...]) -> None:
    its = cores(index_of(JOB.replace("FOUND", found).replace("SITE", "")))["D1.exit"]
    assert (its.used, its.spare, its.faulty, its.missing) == lists


def test_a_tapped_core_that_leads_nowhere_is_spare() -> None:
    found = "{short: [trunk black, trunk grey], at: 12 m}"
    its = cores(index_of(JOB.replace("SITE", found).replace("FOUND", "")))["trunk"]
    assert (its.used, its.spare, its.faulty) == (["brown", "blue"], [], ["black", "grey"])


def test_the_drawing_says_which_spare_cores_are_not_to_be_used() -> None:
    job = JOB.replace("FOUND", "{short: [exit green, exit yellow], at: 2 m}").replace("SITE", "")
    texts = [label.text for label in door_sheet(index_of(job), "D1").labels]
    assert "GN YE faulty" in texts
    assert "WH BN" in texts, "used"
