"""The pack as a whole process: the demo and 100 generated doors; and one door's drawing.

Compiled code is made ready first, as a first fault run leaves it. `drawing_ms` is the mean over the
generated doors in this process, laid out and painted.
`made_100_s` is drawing and typesetting of the 100 doors in one process, the answers being there.
"""

from __future__ import annotations

import datetime
import sys
import tempfile
import time
from pathlib import Path

from _jobs import job_text
from _measure import measured, report
from latchwork.behaviour import make_ready
from latchwork.demo import write_demo
from latchwork.drawing.door import door_sheet
from latchwork.drawing.index import index
from latchwork.drawing.svg import svg
from latchwork.papers.asked import Paper, Stamp
from latchwork.papers.pack import pack_pdf
from latchwork.papers.source import source_of

DOORS = 100
RUNS = 3
DAY = "2026-03-02"


def _pack(job: Path, out: Path) -> float:
    """Seconds of `latchwork papers`, whole process."""
    command = [sys.executable, "-m", "latchwork", "papers", str(job), "--date", DAY]
    run = measured([*command, "--out", str(out)])
    if run.exit_code != 0:
        raise SystemExit(f"papers {job.name} ended with {run.exit_code}")
    return run.seconds


def main() -> None:
    """Measure and print the closing line; each figure is the best of three."""
    make_ready(lambda what, done, total: None)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        draft, _ = write_demo(folder / "demo")
        site = folder / "site"
        site.mkdir()
        (site / "job.yaml").write_text(job_text(DOORS), encoding="utf-8")
        demo_s = min(_pack(draft, folder / "demo.pdf") for _ in range(RUNS))
        pack_s = min(_pack(site, folder / "site.pdf") for _ in range(RUNS))
        source, version = source_of(site)
    stamp = Stamp(datetime.date.fromisoformat(DAY), version)
    start = time.perf_counter()
    pack_pdf(source, Paper.A4, stamp)
    made_s = time.perf_counter() - start
    start = time.perf_counter()
    found = index(source.index.wiring)
    for door in found.plan.doors:
        svg(door_sheet(found, door))
    drawing_s = (time.perf_counter() - start) / DOORS
    report(
        "papers",
        pack_100_s=pack_s,
        made_100_s=made_s,
        drawing_ms=1000.0 * drawing_s,
        demo_pack_s=demo_s,
    )


if __name__ == "__main__":
    main()
