"""The demo: the draft shows what faults and attacks do, the mended site traps nobody."""

from __future__ import annotations

from pathlib import Path

import pytest
from click import unstyle

from latchwork.answers.faults import faults_job
from latchwork.answers.faults_model import DoorFaults, FaultsAnswer
from latchwork.cli.faults_page import faults_page
from latchwork.demo import write_demo


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    return write_demo(tmp_path_factory.mktemp("demo"))


@pytest.fixture(scope="module")
def draft(written: tuple[Path, Path]) -> FaultsAnswer:
    return faults_job(written[0])[0]


@pytest.fixture(scope="module")
def mended(written: tuple[Path, Path]) -> FaultsAnswer:
    return faults_job(written[1])[0]


def doors_with(answer: FaultsAnswer, effect: str) -> set[str]:
    return {door.id for door in answer.doors if door.counts[effect]}


def test_the_draft_shows_every_kind(draft: FaultsAnswer) -> None:
    assert doors_with(draft, "traps") >= {"D2", "D4", "D5"}
    assert doors_with(draft, "opens") >= {"D3", "D6"}
    assert doors_with(draft, "silent")
    assert {door.id for door in draft.doors if door.attacks} >= {"D4", "D6"}
    assert any(door.service for door in draft.doors)


def test_the_mended_site_traps_nobody(mended: FaultsAnswer) -> None:
    assert doors_with(mended, "traps") == set()
    assert doors_with(mended, "frees the latch in a fire") == set()
    assert mended.counts.unsolved == 0


def test_what_is_silent_in_the_mended_site_is_in_its_service_plan(mended: FaultsAnswer) -> None:
    slow: set[str] = set()
    found: list[str] = []
    # What a battery's own test finds is in no test of a door.
    weak = {f for line in mended.batteries for f in line.finds}
    for door in mended.doors:
        silent = {f.id for f in door.faults if "silent" in (f.effect, *f.also)}
        finds = {f for line in door.service for f in line.finds}
        dead = {f for f in silent if f.endswith("supply dead with its battery flat")}
        # Of two poles that stand in for each other each has its test.
        poles = {f for f in finds if " contact NC" in f} - silent
        assert len(poles) == 2 * len(door.pairs)
        # With one ohm more a strike may do as it should on a battery near its end, and may not.
        unsure = {f.id for f in door.faults if f.text in door.untried}
        assert all(f.endswith(" joint 1") for f in unsure)
        assert finds - dead - poles == silent - dead - unsure - weak
        slow |= dead
        found += finds & dead
    # A supply is looked at once for all of its doors.
    assert (
        sorted(found)
        == sorted(slow)
        == [f"{s} supply dead with its battery flat" for s in ("S1", "S2")]
    )


def remedied(written: tuple[Path, Path], door: str) -> DoorFaults:
    (found,) = faults_job(written[0], [door], remedies=True)[0].doors
    return found


@pytest.mark.slow_oracle
def test_the_loading_door_is_given_a_release(written: tuple[Path, Path]) -> None:
    """Where the rod of the bar comes off the switch, an emergency release lets people out
    (common practice, no source)."""
    door = remedied(written, "D5")
    traps = {f.id for f in door.faults if f.effect == "traps"}
    assert traps == {"D5.bar stuck at rest"}
    (remedy,) = (r for r in door.remedies if r.effect == "traps")
    assert set(remedy.takes_away) == traps
    assert any("release: release, double pole" in line for line in remedy.lines)


def test_the_bench_room_is_wired_as_standard(written: tuple[Path, Path]) -> None:
    """A strike on the contact at rest: what opens it, and the attack, go with the leg's own
    rows."""
    door = remedied(written, "D6")
    by_effect = {r.effect: r for r in door.remedies}
    assert by_effect["attack"].left == 0
    assert len(by_effect["attack"].takes_away) == len(door.attacks)
    assert by_effect["opens"].takes_away


def test_supplies_stand_in_the_order_of_the_job(mended: FaultsAnswer) -> None:
    """The first door hangs on the second supply."""
    lines = unstyle(faults_page(mended, "job", whole=False)).splitlines()
    assert [line for line in lines if line in ("S1", "S2", "S3")] == ["S1", "S2"]
