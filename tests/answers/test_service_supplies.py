"""What the service plan says of supplies and their batteries."""

from __future__ import annotations

import pytest

from latchwork.answers.service_supplies import near_end, supplies_of
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
