"""Run one command as one line of progress; its output goes to a log shown only on failure.

Used by scripts that run before anything is installed: standard library only.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
LOGS = ROOT / "build" / "log"
SHOWN_LINES = 60


def run(label: str, command: Sequence[str], env: Mapping[str, str] | None = None) -> bool:
    """Run `command` in the project's folder; say `label`, the outcome and the seconds taken.

    Returns whether the command exited 0. On failure the end of its log follows on stderr.
    """
    LOGS.mkdir(parents=True, exist_ok=True)
    log = LOGS / (label.replace(" ", "-").replace("/", "-") + ".log")
    print(f"{label} …", end=" ", flush=True)
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
    print(f"{'ok' if code == 0 else 'FAILED'} ({time.monotonic() - start_s:.1f} s)", flush=True)
    if code != 0:
        lines = log.read_text(encoding="utf-8", errors="replace").splitlines()
        if len(lines) > SHOWN_LINES:
            print(f"… the whole log: {log.relative_to(ROOT)}", file=sys.stderr)
        print("\n".join(lines[-SHOWN_LINES:]), file=sys.stderr, flush=True)
    return code == 0
