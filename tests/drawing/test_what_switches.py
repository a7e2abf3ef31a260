"""What a lock is said to be switched by, written by hand from how such doors are wired.

Common practice, no source: a fail-secure lock hangs on the contact that closes on a grant, one that
current locks on the contact that opens; release and fire contact stand in its feed.
"""

from __future__ import annotations

import pytest

from latchwork.drawing.door import door_sheet
from tests.drawing.jobs import demo, index_of

HEAD = "latchwork: 1\nsupplies: {S1: {part: supply 24 V}}\ndoors:\n  D1:\n"
CASES = [
    (
        "lock: strike 24 V fail-secure\n    controller: controller",
        ["Fed through controller NO"],
    ),
    (
        "lock: magnet 24 V\n    controller: controller",
        ["Fed through controller NC"],
    ),
    (
        "lock: magnet 24 V\n    controller: controller, relay energised when idle",
        ["Fed through controller NO"],
    ),
    (
        'lock: magnet 24 V\n    controller: controller\n    release: "release, double pole"',
        ["Fed through controller NC, release NC1", "Return through release NC2"],
    ),
    (
        "lock: motor lock 24 V\n    controller: controller",
        ["Worked by controller NO"],
    ),
    # Its minus comes by the throws that a motor lock leaves free, never by both of a changeover.
    (
        "lock: magnet 24 V\n    second lock: motor lock 24 V\n    fire alarm: unlocks\n"
        "    controller: controller\n    fire: fire relay\n    release: release, double pole",
        ["Fed through release NC2", "Return through controller NC, release NC1, fire NO"],
    ),
    # A fire contact alone would be the shorter way; nobody comes in by it.
    (
        "lock: motor lock 24 V\n    second lock: magnet 24 V\n    fire alarm: unlocks\n"
        "    controller: controller\n    fire: fire relay\n    release: release, double pole",
        ["Worked by controller NO, release NC1, fire NO"],
    ),
    (
        "lock: strike 24 V fail-secure\n    controller: controller\n    relay: relay 24 V",
        ["Fed through relay NO"],
    ),
]


def notes(index_text: str) -> str:
    sheet = door_sheet(index_of(index_text), "D1")
    lock = next(block for block in sheet.blocks if block.id == "D1.lock")
    return " ".join(label.full or label.text for label in lock.labels)


@pytest.mark.parametrize(("kit", "said"), CASES, ids=range(len(CASES)))
def test_lock_says_what_switches_it(kit: str, said: list[str]) -> None:
    text = notes(f"{HEAD}    {kit}\n")
    for each in said:
        assert each in text
    assert ("Return through" in text) is any(each.startswith("Return") for each in said)


def test_the_fire_contact_of_the_site_is_named() -> None:
    sheet = door_sheet(demo("mended"), "D2")
    lock = next(block for block in sheet.blocks if block.id == "D2.lock")
    text = " ".join(label.text for label in lock.labels)
    assert "Fed through controller NC, release NC1, F1 NO" in text
    assert "Return through release NC2" in text
