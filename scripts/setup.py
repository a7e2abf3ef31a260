"""Make `.venv` with what the lock file names and the project itself in it.

    python scripts/setup.py            what it takes to run Latchwork
    python scripts/setup.py --tests    and what the checks and tests need

Needs nothing but Python 3.11 or newer with its venv module. A second run ends at once: a stamp
in `.venv` holds the hash of the files that decide what is installed.
"""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import sys
from pathlib import Path

import steps

VENV = steps.ROOT / ".venv"
LOCKS = {"run": "requirements.lock", "tests": "requirements-tests.lock"}
OLDEST = (3, 11)
# Whoever lets Python keep nothing would wait for its sources to be compiled at every call. On all
# cores, which pip does not use; of what a library brings, files for other Pythons may not compile.
COMPILE = """
import compileall, sysconfig
for folder in (sysconfig.get_path("purelib"), "src"):
    compileall.compile_dir(folder, quiet=2, workers=0)
"""


def venv_python(venv: Path) -> Path:
    """The interpreter of `venv`, which may not exist yet."""
    return venv / ("Scripts/python.exe" if sys.platform == "win32" else "bin/python")


def wanted_digest(root: Path, kind: str) -> str:
    """What the stamp of `kind` must hold: the files that decide what is installed, hashed."""
    digest = hashlib.sha256(f"{sys.version_info[:2]} {root}".encode())
    for name in (LOCKS[kind], "pyproject.toml"):
        digest.update((root / name).read_bytes())
    return digest.hexdigest()


def is_set_up(root: Path, venv: Path, kind: str) -> bool:
    """Whether `venv` already holds what `kind` needs; the tests' set holds all that a run needs."""
    kinds = ("run", "tests") if kind == "run" else ("tests",)
    for each in kinds:
        stamp = venv / f"latchwork-{each}.stamp"
        if stamp.is_file() and stamp.read_text() == wanted_digest(root, each):
            return True
    return False


def works(python: Path) -> bool:
    """Whether `python` runs, is new enough and has pip (a copied or half-made `.venv` may not)."""
    if not python.exists():
        return False
    probe = f"import pip, sys; sys.exit(sys.version_info < {OLDEST})"
    return subprocess.run([python, "-c", probe], capture_output=True, check=False).returncode == 0


def install(kind: str) -> bool:
    """Create `.venv` if need be and install; say each step. Returns whether all went well."""
    python = venv_python(VENV)
    if not works(python):
        if VENV.exists():
            shutil.rmtree(VENV)
        if not steps.run("make .venv", [sys.executable, "-m", "venv", str(VENV)]):
            print(
                "Python's venv module did not work; on Debian or Ubuntu it is a package of its"
                " own: apt-get install python3-venv",
                file=sys.stderr,
            )
            return False
    pip = [str(python), "-m", "pip", "install", "--disable-pip-version-check", "--no-input"]
    locked = [*pip, "--no-compile", "--require-hashes", "-r", LOCKS[kind]]
    # The build tool is in the lock too, so that nothing is fetched beside it.
    project = [*pip, "--no-deps", "--no-build-isolation", "-e", "."]
    if not (
        steps.run(f"install what {LOCKS[kind]} names", locked)
        and steps.run("install latchwork", project)
        and steps.run("compile what is installed", [str(python), "-c", COMPILE])
    ):
        return False
    (VENV / f"latchwork-{kind}.stamp").write_text(wanted_digest(steps.ROOT, kind))
    return True


def main(arguments: list[str]) -> int:
    """Entry point; exit code 0 done, 1 a step failed, 2 wrong call or Python too old."""
    if arguments not in ([], ["--tests"]):
        print(__doc__, file=sys.stderr)
        return 2
    if sys.version_info < OLDEST:
        print(
            f"Latchwork needs Python 3.11 or newer; this is {sys.version.split()[0]}."
            " Name a newer one: make setup PYTHON=python3.12",
            file=sys.stderr,
        )
        return 2
    kind = "tests" if arguments else "run"
    if is_set_up(steps.ROOT, VENV, kind):
        return 0
    return 0 if install(kind) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
