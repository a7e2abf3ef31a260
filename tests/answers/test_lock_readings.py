"""What a meter shows across a lock, and at data lines."""

from __future__ import annotations

from pathlib import Path

import pytest

from latchwork.answers.schedules.answer import schedules_job
from tests.cli.calling import job_in

TWO_SUPPLIES = """
latchwork: 1
supplies:
  S1: {part: supply 24 V, battery: 2 x 12 V 7 Ah}
  S2: {part: supply 24 V}
devices: {F1: fire relay}
usual: {lock: magnet 24 V, controller: controller, controller at: supply, out by: lever, fire: F1}
doors:
  D1: {supply: S1, runs: {lock: 10 m of 2 x 1.5 mm²}}
  D2: {supply: S2, runs: {lock: 10 m of 2 x 1.5 mm²}}
"""


def _across(folder: Path, text: str) -> dict[str, float]:
    door = schedules_job(job_in(folder, text)).readings[0]
    (lock,) = door.locks
    return {s: v.value for s, v in zip(door.situations, lock.volts_v, strict=True)}


def test_both_leads_are_at_the_lock_whatever_its_ends_belong_to(tmp_path: Path) -> None:
    """One fire contact joins two supplies' pluses, and not their minuses. With the mains off S1's
    battery still feeds the magnet: 12 cells at rest, 2.12 to 2.15 V each (handbook, from memory),
    is 25.4 to 25.8 V, less the drop of 0.25 A in 2 x 10 m of 1.5 mm² (11.7 mΩ/m), 0.06 V."""
    assert _across(tmp_path, TWO_SUPPLIES)["mains off"] == pytest.approx(25.6, abs=0.3)


def test_across_an_open_coil_on_a_broken_core_there_is_nothing(tmp_path: Path) -> None:
    """One lead at a terminal that nothing holds: a meter shows 0 V. With the core whole it shows
    the supply's float, 27.0 to 27.6 V."""
    head = TWO_SUPPLIES.partition("  D2:")[0]
    coil = head + "    found:\n      - {part: lock, state: coil open}\n"
    coil = coil.replace("{supply: S1, runs: {lock: 10 m of 2 x 1.5 mm²}}", "")
    coil = coil.replace(
        "    found:", "    supply: S1\n    runs: {lock: 10 m of 2 x 1.5 mm²}\n    found:"
    )
    assert _across(tmp_path, coil)["idle"] == pytest.approx(27.3, abs=0.3)
    broken = coil + "      - {break: lock blue}\n"
    assert _across(tmp_path, broken)["idle"] == pytest.approx(0.0, abs=0.01)


READER = """
latchwork: 1
supplies: {S1: supply 12 V}
doors:
  D1:
    supply: S1
    out by: lever
    lock: strike 12 V fail-secure, diode
    controller: controller, reader outside
    reader: reader
    runs: {power: 10 m of 2 x 1.0 mm², reader: 3 m of 6 x 0.22 mm²}
"""


def test_data_lines_are_at_rest_between_bits(tmp_path: Path) -> None:
    """A line rests at 5 V, and a bit is low for some 50 µs (SIA AC-01, from memory): a meter shows
    no bits. What the strike's 0.25 A lift the door's minus by goes on top: 10 m of 1.0 mm² are
    0.2 Ω."""
    door = schedules_job(job_in(tmp_path, READER)).readings[0]
    lines = [t for t in door.terminals if t.terminal.rpartition(".")[2] in ("D0", "D1")]
    assert len(lines) == 4
    for line in lines:
        for situation, volts in zip(door.situations, line.volts_v, strict=True):
            if situation in ("idle", "granted"):
                assert 4.9 <= volts.low <= volts.value <= volts.high <= 5.3
