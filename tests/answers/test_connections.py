"""The list of connections, by where one stands: common practice, no source."""

from __future__ import annotations

from pathlib import Path

from latchwork.answers.schedules.answer import schedules_job
from tests.cli.calling import job_in

BELL = """
latchwork: 1
supplies: {S1: supply 12 V}
doors:
  D1:
    supply: S1
    lock: magnet 12 V
    controller: controller
    out by: lever
    bell: sounder 12 V
    bell button: bell button
    runs: {power: 18 m of 2 x 1.0 mm², bell: 18 m of 4 x 1.5 mm²}
    found:
      - {short: [bell black, bell blue], resistance: 2 ohm}
"""


def test_a_spare_core_ends_where_its_neighbours_do_be_it_at_a_joint(tmp_path: Path) -> None:
    rows = schedules_job(job_in(tmp_path, BELL)).connections
    joint = {row.device for row in rows if row.cable == "D1.bell" and row.device == "D1.X1"}
    assert joint == {"D1.X1"}, "the bell's cable starts at a joint"
    at = {
        core: {(row.stand, row.at) for row in rows if (row.cable, row.core) == ("D1.bell", core)}
        for core in ("black", "brown")
    }
    assert at["black"] - {("between", "D1")} == at["brown"]
