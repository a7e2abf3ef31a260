"""All checks that are not tests, one line each; every one runs even after another has failed.

`python scripts/checks.py words types` runs only those whose names hold one of these words.
"""

from __future__ import annotations

import os
import sys

import setup
import steps

_PYTHON = str(setup.venv_python(setup.VENV))
CHECKS: dict[str, list[str]] = {
    # The longest first.
    "types": [_PYTHON, "-m", "mypy"],
    "lint": [_PYTHON, "-m", "ruff", "check", "."],
    "format": [_PYTHON, "-m", "ruff", "format", "--check", "."],
    "import direction": [
        _PYTHON,
        "-c",
        "from importlinter.cli import lint_imports_command; lint_imports_command()",
    ],
    "words": [_PYTHON, "scripts/words_check.py"],
    "machine paths and registry addresses": [_PYTHON, "scripts/tidy_check.py"],
}


def main(names: list[str]) -> int:
    """Entry point; exit code 0 all well, 1 a check failed, 2 no check of that name."""
    chosen = {
        label: command
        for label, command in CHECKS.items()
        if not names or any(name in label for name in names)
    }
    if not chosen:
        print("checks: " + ", ".join(CHECKS), file=sys.stderr)
        return 2
    env = os.environ | {"PYTHONPATH": "scripts"}
    return 0 if steps.run_side_by_side(list(chosen.items()), env) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
