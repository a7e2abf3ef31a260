"""What benchmarks share: the time and memory of a whole process tree, and the closing line."""

from __future__ import annotations

import json
import os
import subprocess
import time
from collections.abc import Sequence
from dataclasses import dataclass

import psutil

SAMPLE_S = 0.02


@dataclass(frozen=True)
class Measured:
    """One run of a command."""

    seconds: float
    peak_rss_mb: float
    """Most resident memory of the process and all its descendants together, sampled every 20 ms;
    pages that they share count in each, so that the figure errs high. 1 MB is 1,000,000 bytes."""
    exit_code: int


def measured(command: Sequence[str]) -> Measured:
    """Run `command` to its end, its output thrown away; Python may keep what it compiles of it."""
    start_s = time.perf_counter()
    quiet = subprocess.DEVNULL
    peak_bytes = 0
    keeping = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    with psutil.Popen(command, stdin=quiet, stdout=quiet, stderr=quiet, env=keeping) as process:
        while True:
            peak_bytes = max(peak_bytes, tree_rss_bytes(process))
            try:
                exit_code = process.wait(timeout=SAMPLE_S)
            except psutil.TimeoutExpired:
                continue
            return Measured(time.perf_counter() - start_s, peak_bytes / 1e6, exit_code)


def tree_rss_bytes(process: psutil.Process) -> int:
    """Resident memory of `process` and its descendants now; what has just ended counts 0."""
    try:
        tree = [process, *process.children(recursive=True)]
    except psutil.NoSuchProcess:
        return 0
    total = 0
    for each in tree:
        try:
            total += each.memory_info().rss
        except psutil.NoSuchProcess:
            continue
    return total


def report(name: str, **figures: float | str) -> None:
    """Print the closing line that `make bench` looks for; numbers get four significant digits."""
    rounded = {
        key: float(f"{value:.4g}") if isinstance(value, float) else value
        for key, value in figures.items()
    }
    print(json.dumps({"name": name, **rounded}), flush=True)
