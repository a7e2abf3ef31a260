"""What hangs on which supply: by what feeds it, whatever its door names."""

from __future__ import annotations

from pathlib import Path

import pytest

from latchwork.answers.opening import check_job
from latchwork.answers.schedules.answer import schedules_job
from latchwork.answers.schedules.model import SupplyRow
from tests.cli.calling import job_in

DOOR = """
latchwork: 1
supplies:
  S1: {first}
  S2: {{part: supply 12 V, battery: 1 x 12 V 7 Ah}}
doors:
  D1:
    name: Store
    supply: S1
    lock: {{part: {lock}, supply: S2}}
    out by: {out}
    power lost: {lost}
    controller: {controller}
    reader: reader
    release: {release}
    exit: exit button
    runs: {{power: 5 m of {cable}, lock: 5 m of 2 x 1.0 mm²}}
"""
TWO = DOOR.format(
    first="{part: supply 12 V, battery: 1 x 12 V 7 Ah}",
    lock="magnet 12 V",
    out="nothing mechanical",
    lost="unlocks",
    controller="controller, reader outside",
    release='"release, double pole"',
    cable="2 x 1.0 mm²",
)
PORT = DOOR.format(
    first='{part: "network port, class 3"}',
    lock='"strike 12 V fail-secure, wide range"',
    out="lever",
    lost="stays locked",
    controller='"controller, network-fed"',
    release="none",
    cable="category cable",
)


def rows(folder: Path, text: str) -> tuple[SupplyRow, ...]:
    return schedules_job(job_in(folder, text)).supplies


@pytest.mark.parametrize("text", [TWO, PORT], ids=["two", "port"])
def test_devices_stand_under_what_feeds_them(tmp_path: Path, text: str) -> None:
    """The currents of what hangs on a supply add up to what it gives (Kirchhoff); a reader behind
    a port's converter counts with its watts at the port's volts."""
    first, second = rows(tmp_path / "job", text)
    assert [d.device for d in first.devices] == ["D1.controller", "D1.reader"]
    assert [d.device for d in second.devices] == ["D1.lock"]
    assert [lock.device for lock in second.locks] == ["D1.lock"]
    assert first.locks == ()
    assert first.doors == second.doors == ("D1",)
    for row in (first, second):
        together = sum(d.idle_a for d in row.devices)
        assert together == pytest.approx(row.loads_a["mains/normal"], abs=2e-3)


def test_doors_that_are_solved_together_count_once(tmp_path: Path) -> None:
    """Each door's run shows the devices of both; Kirchhoff again."""
    door = TWO[TWO.index("  D1:") :]
    both = TWO + door.replace("D1:", "D2:").replace("Store", "Shed")
    for row in rows(tmp_path / "job", both):
        assert row.doors == ("D1", "D2")
        together = sum(d.idle_a for d in row.devices)
        assert together == pytest.approx(row.loads_a["mains/normal"], abs=2e-3)


def test_a_battery_that_is_fitted_is_told(tmp_path: Path) -> None:
    first, second = rows(tmp_path / "job", TWO)
    assert first.battery is not None
    assert second.battery is not None
    port, _ = rows(tmp_path / "port", PORT)
    assert (port.battery_blocks, port.battery) == (0, None)


OWN = """
latchwork: 1
site: {name: Oat barn, standby: 4 h}
supplies: {S1: supply 12 V}
devices: {B1: battery 12 V 7 Ah}
wiring: [[S1.+, lead, B1.+], [S1.-, lead, B1.-]]
doors:
  D1: {out by: lever, lock: strike 12 V fail-secure, controller: controller}
"""


def test_a_battery_that_is_a_part_of_its_own_is_one(tmp_path: Path) -> None:
    """The schedules of such a job ended in an error; a door on it was one without a battery."""
    job = job_in(tmp_path, OWN)
    assert [(s.id, s.battery_blocks) for s in schedules_job(job).supplies] == [("S1", 0), ("B1", 1)]
    assert "no-battery" not in {f.rule for f in check_job(job).findings}
