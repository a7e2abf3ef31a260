"""Install the programs that the tests need and Python packages cannot bring.

Uses apt-get where it may (as root, or with sudo that asks for no password); elsewhere prints
what to run or to install, and exits 2.
"""

from __future__ import annotations

import ctypes.util
import os
import shutil
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import steps


@dataclass(frozen=True)
class Need:
    """A program or library, how its presence is seen, and the Debian package that has it."""

    what: str
    present: Callable[[], bool]
    package: str


NEEDS = (
    Need("ngspice", lambda: shutil.which("ngspice") is not None, "ngspice"),
    Need(
        "ngspice's shared library",
        lambda: ctypes.util.find_library("ngspice") is not None,
        "libngspice0",
    ),
)


def missing(needs: Sequence[Need]) -> list[Need]:
    """Those of `needs` that this machine lacks."""
    return [need for need in needs if not need.present()]


def root_prefix() -> list[str] | None:
    """What to put before a command to run it as root without being asked, or None."""
    if os.name == "posix" and os.geteuid() == 0:
        return []
    if shutil.which("sudo") and steps.run("ask sudo", ["sudo", "-n", "true"]):
        return ["sudo", "-n"]
    return None


def apt_install(packages: Sequence[str]) -> bool:
    """Install by apt-get; its package lists are fetched only if the first try fails."""
    prefix = root_prefix() if shutil.which("apt-get") else None
    if prefix is None:
        return False
    apt = [*prefix, "env", "DEBIAN_FRONTEND=noninteractive", "apt-get"]
    names = " ".join(packages)
    command = [*apt, "install", "-y", "--no-install-recommends", *packages]
    return steps.run(f"install {names}", command) or (
        steps.run("fetch apt's package lists", [*apt, "update"])
        and steps.run(f"install {names} again", command)
    )


def main(needs: Sequence[Need] = NEEDS) -> int:
    """Entry point; exit code 0 all is there, 2 something is missing and was said."""
    lacking = missing(needs)
    if not lacking:
        return 0
    packages = sorted({need.package for need in lacking})
    if apt_install(packages) and not (lacking := missing(needs)):
        return 0
    print("The tests need " + ", ".join(need.what for need in lacking) + ".", file=sys.stderr)
    print("On Debian or Ubuntu run:", file=sys.stderr)
    print(f"    sudo apt-get update && sudo apt-get install {' '.join(packages)}", file=sys.stderr)
    print("Elsewhere install them by the system's own means, then try again.", file=sys.stderr)
    return 2


if __name__ == "__main__":
    sys.exit(main())
