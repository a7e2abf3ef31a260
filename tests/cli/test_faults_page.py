"""The page of faults in a terminal of 80 columns."""

from __future__ import annotations

import re
from pathlib import Path

from click import unstyle
from msgspec.structs import replace

from latchwork.answers.faults import faults_job
from latchwork.cli.faults_page import faults_page
from latchwork.cli.page import cells
from latchwork.faults import Ask
from tests.cli.calling import ONE_DOOR, job_in


def test_long_names_and_many_counts_stay_on_the_page(tmp_path: Path) -> None:
    """Names are wrapped, counts parted between two of them, and a reason's lines line up."""
    name = "Bibliothèque générale, salle de lecture et d'étude, entrée du personnel"
    text = ONE_DOOR.replace("Sample house", "LONG").replace("Front", "LONG")
    job = job_in(tmp_path, text.replace("LONG", f'"{name}"'))
    answer, _ = faults_job(job, (), Ask("controller frozen off", attacks=False, processes=1))
    (door,) = answer.doors
    answer = replace(answer, doors=(replace(door, counts=dict.fromkeys(door.counts, 1234)),))
    lines = unstyle(faults_page(answer, "job", whole=False, width=80)).splitlines()
    assert max(map(cells, lines)) <= 80
    counts = [line for line in lines if "1234" in line]
    assert len(counts) > 1
    assert all(re.search(r"\w 1234$", part) for line in counts for part in line.split(" · "))
    first = next(n for n, line in enumerate(lines) if line.lstrip().startswith("in mains/"))
    assert lines[first][:8].isspace() == lines[first + 1][:8].isspace()
