"""Run commands, each as one line of progress; its output goes to a log shown only on failure.

Used by scripts that run before anything is installed: standard library only.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor, as_completed
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
LOGS = ROOT / "build" / "log"
SHOWN_LINES = 60


Step = tuple[str, Sequence[str]]
"""What a step is called, and its command."""


def run(label: str, command: Sequence[str], env: Mapping[str, str] | None = None) -> bool:
    """Run `command` in the project's folder; say `label`, the outcome and the seconds taken.

    Returns whether the command exited 0. On failure the end of its log follows on stderr.
    """
    print(f"{label} …", end=" ", flush=True)
    told, failed = _tried(label, command, env)
    print(told, flush=True)
    _show(failed)
    return not failed


def run_side_by_side(steps: Sequence[Step], env: Mapping[str, str] | None = None) -> bool:
    """As `run`, as many at a time as the machine has cores, each said once it has ended; all of
    them run even after one has failed."""
    failures = []
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        begun = {pool.submit(_tried, *step, env): step[0] for step in steps}
        for done in as_completed(begun):
            told, failed = done.result()
            print(f"{begun[done]} … {told}", flush=True)
            failures += failed
    _show(failures)
    return not failures


def _tried(
    label: str, command: Sequence[str], env: Mapping[str, str] | None
) -> tuple[str, list[str]]:
    """What to say of a step that was run, and, where it failed, the end of its log."""
    LOGS.mkdir(parents=True, exist_ok=True)
    log = LOGS / (label.replace(" ", "-").replace("/", "-") + ".log")
    start_s = time.monotonic()
    with log.open("wb") as out:
        try:
            code = subprocess.run(
                command,
                cwd=ROOT,
                env=env,
                stdin=subprocess.DEVNULL,
                stdout=out,
                stderr=subprocess.STDOUT,
                check=False,
            ).returncode
        except OSError as error:
            out.write(f"{command[0]}: {error.strerror}\n".encode())
            code = 127
    took = f"({time.monotonic() - start_s:.1f} s)"
    if code == 0:
        return f"ok {took}", []
    lines = log.read_text(encoding="utf-8", errors="replace").splitlines()
    whole = [f"… the whole log: {log.relative_to(ROOT)}"] if len(lines) > SHOWN_LINES else []
    return f"FAILED {took}", [*whole, *lines[-SHOWN_LINES:]]


def _show(lines: Sequence[str]) -> None:
    if lines:
        print("\n".join(lines), file=sys.stderr, flush=True)
