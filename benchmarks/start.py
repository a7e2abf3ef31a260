"""How long the command line takes to start: `latchwork --help`, whole process.

The best of ten after one run that is not counted (it compiles Python's byte code).
"""

from __future__ import annotations

import sys
from pathlib import Path

from _measure import measured, report

RUNS = 10


def main() -> None:
    """Measure and print."""
    command = [str(Path(sys.executable).with_name("latchwork")), "--help"]
    runs = [measured(command) for _ in range(RUNS + 1)][1:]
    if any(run.exit_code for run in runs):
        sys.exit("latchwork --help failed")
    report("start", help_s=min(run.seconds for run in runs))


if __name__ == "__main__":
    main()
