"""Write the lock files again from the ranges in pyproject.toml.

    python scripts/lock.py              keep locked versions that still fit the ranges
    python scripts/lock.py --upgrade    take the newest versions that the ranges allow

`requirements-tests.lock` holds everything, extras included; `requirements.lock` what a run
needs, with what compiles the solver, at the same versions. Both hold the hashes of every
platform's files for every Python from 3.11 on, and no address of a registry.
"""

from __future__ import annotations

import subprocess
import sys
import tomllib
import venv
from pathlib import Path

import setup
import steps

TOOLS = steps.ROOT / "build" / "lock-tools"
COMPILE = [
    *("pip", "compile", "pyproject.toml", "--quiet", "--no-header", "--no-annotate"),
    *("--universal", "--python-version", "3.11", "--generate-hashes"),
]


def locker() -> Path:
    """The lock tool, installed in a place of its own on first use."""
    tool = setup.venv_python(TOOLS).with_name("uv.exe" if sys.platform == "win32" else "uv")
    if not tool.exists():
        groups = tomllib.loads((steps.ROOT / "pyproject.toml").read_text())["dependency-groups"]
        venv.create(TOOLS, with_pip=True, clear=True)
        python = str(setup.venv_python(TOOLS))
        subprocess.run([python, "-m", "pip", "install", "--quiet", *groups["lock"]], check=True)
    return tool


def main(arguments: list[str]) -> int:
    """Entry point; exit code 0 written, 1 the ranges cannot be met, 2 wrong call."""
    if arguments not in ([], ["--upgrade"]):
        print(__doc__, file=sys.stderr)
        return 2
    command = [str(locker()), *COMPILE, *arguments]
    tests, run = setup.LOCKS["tests"], setup.LOCKS["run"]
    everything = ["--all-extras", "--group", "test", "-o", tests]
    only_run = ["--extra", "fast", "--group", "build", "--constraint", tests, "-o", run]
    done = steps.run(f"write {tests}", [*command, *everything]) and steps.run(
        f"write {run}", [*command, *only_run]
    )
    return 0 if done else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
