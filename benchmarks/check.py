"""`check` as a whole process: help, the demo, 100 and 1,000 generated doors.

Compiled code is made ready first, as a first fault run leaves it.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from _jobs import job_text
from _measure import Measured, measured, report
from latchwork.behaviour import make_ready


def _check(path: Path) -> Measured:
    measured_run = measured([sys.executable, "-m", "latchwork", "check", str(path)])
    if measured_run.exit_code not in (0, 1):
        raise SystemExit(f"check {path.name} ended with {measured_run.exit_code}")
    return measured_run


def main() -> None:
    """Measure and print the closing line; each figure is the second run or later."""
    make_ready(lambda what, done, total: None)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        demo = folder / "demo"
        measured([sys.executable, "-m", "latchwork", "demo", str(demo)])
        help_s = min(
            measured([sys.executable, "-m", "latchwork", "--help"]).seconds for _ in range(3)
        )
        demo_s = min(_check(demo / "draft").seconds for _ in range(3))
        runs = {}
        for doors in (100, 1000):
            site = folder / f"site{doors}"
            site.mkdir()
            (site / "job.yaml").write_text(job_text(doors), encoding="utf-8")
            runs[doors] = _check(site)
            print(f"{doors} doors: {runs[doors].seconds:.1f} s", flush=True)
    report(
        "check",
        help_s=help_s,
        demo_s=demo_s,
        doors_100_s=runs[100].seconds,
        doors_1000_s=runs[1000].seconds,
        doors_1000_rss_mb=runs[1000].peak_rss_mb,
    )


if __name__ == "__main__":
    main()
