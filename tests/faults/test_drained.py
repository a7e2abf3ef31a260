"""A supply below what its doors take at rest: its battery runs flat on mains, and that is said."""

from __future__ import annotations

from pathlib import Path

import pytest

from latchwork.answers.faults import faults_job
from latchwork.answers.faults_model import FaultsAnswer
from latchwork.cli.faults_page import faults_page
from latchwork.faults import Ask

DOOR = """
  {id}:
    supply: S1
    power lost: unlocks
    lock: magnet 24 V
    controller: controller
    controller at: door
    exit: button
    runs: {{power: 20 m of 2 x 1.0 mm², exit: 5 m of 4 x 0.22 mm²}}"""


def told(folder: Path, supply: str, doors: int) -> FaultsAnswer:
    text = f"latchwork: 1\nsupplies: {{S1: {{{supply}}}}}\ndoors:"
    text += "".join(DOOR.format(id=f"D{n + 1}") for n in range(doors))
    (folder / "job.yaml").write_text(text + "\n")
    ask = Ask("controller dead", attacks=False, processes=1)
    return faults_job(folder, (), ask)[0]


@pytest.mark.parametrize(("doors", "limit"), [(1, 0.2), (2, 0.5)])
def test_a_battery_that_runs_flat_on_mains_is_named(
    doors: int, limit: float, tmp_path: Path
) -> None:
    """By hand: a magnet of 0.25 A at 24 V takes 0.27 A at some 25.6 V, its controller 0.04 A: one
    such door takes more than 0.2 A at rest, two more than 0.5 A, and a supply of 1 A has enough."""
    supply = f"part: supply 24 V, limit: {limit} A, battery: 2 x 12 V 7 Ah"
    answer = told(tmp_path, supply, doors)
    assert answer.drained == ("S1",)
    page = faults_page(answer, "job", whole=False, width=400)
    assert "S1 gives less than its doors take with nobody about" in page
    enough = told(tmp_path, supply.replace(f"{limit} A", "1 A"), doors)
    assert enough.drained == ()
    assert "with nobody about" not in faults_page(enough, "job", whole=False, width=400)


def test_without_a_battery_on_its_output_none_runs_flat(tmp_path: Path) -> None:
    """A battery on a leg of its own gives nothing while the mains are on."""
    assert told(tmp_path, "part: supply 24 V, limit: 0.2 A", 1).drained == ()
    apart = 'part: "supply 24 V, separate charging", limit: 0.2 A, battery: 2 x 12 V 7 Ah'
    assert told(tmp_path, apart, 1).drained == ()
