"""Run one benchmark: `python scripts/bench.py check` runs benchmarks/check.py.

Whatever it prints on its way, its last line must be one JSON object that bears its name. Where
there is a benchmarks/_check_first.py, that is run before it, in a process of its own.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import setup
import steps


def names(folder: Path) -> list[str]:
    """The benchmarks there are."""
    return sorted(path.stem for path in folder.glob("*.py") if not path.stem.startswith("_"))


def is_result(line: str, name: str) -> bool:
    """Whether `line` is the closing line of benchmark `name`."""
    try:
        result = json.loads(line)
    except ValueError:
        return False
    return isinstance(result, dict) and result.get("name") == name


def run(name: str, folder: Path) -> int:
    """Run a benchmark, its output passed on as it comes; 1 if it fails or closes otherwise."""
    python = str(setup.venv_python(setup.VENV))
    first = folder / f"_{name}_first.py"
    if first.is_file() and subprocess.run([python, "-u", str(first)], check=False).returncode:
        return 1
    last = ""
    command = [python, "-u", str(folder / f"{name}.py")]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, encoding="utf-8") as process:
        for line in process.stdout or ():
            print(line, end="", flush=True)
            last = line.strip() or last
    if process.returncode == 0 and not is_result(last, name):
        print(f'benchmark {name}: its last line is not {{"name": "{name}", …}}', file=sys.stderr)
        return 1
    return 1 if process.returncode else 0


def main(arguments: list[str]) -> int:
    """Entry point; exit code 0 measured, 1 it failed, 2 no such benchmark."""
    folder = steps.ROOT / "benchmarks"
    if len(arguments) != 1 or arguments[0] not in names(folder):
        print("make bench BENCH=name, of: " + ", ".join(names(folder)), file=sys.stderr)
        return 2
    return run(arguments[0], folder)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
