"""Keep this machine out of committed files: its folders, and the addresses of registries.

Such a line works where it was written and nowhere else.
"""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path

import steps

_FORBIDDEN = {
    "a machine path": re.compile(
        r"""(?:^|[\s"'`(=:,\[<])(?:/(?:work|root|farm|home|tmp|Users|opt|mnt)/\w|[A-Z]:\\Users\\)"""
    ),
    "a registry address": re.compile(
        r"\bpypi\.(?:org|python)|pythonhosted\.|registry\.npmjs|deb\.debian\.|archive\.ubuntu\."
        r"|\bindex[-]url\b|\bfind[-]links +[/f]|\"resolved\" *:|registry *= *\"http"
    ),
}


def offences(root: Path, names: Iterable[str]) -> list[str]:
    """Every such line in the named files under `root`: "file:line: what"; binary files pass."""
    found = []
    for name in names:
        path = root / name
        content = path.read_bytes() if path.is_file() else b""
        if b"\0" in content:
            continue
        lines = content.decode("utf-8", errors="replace").splitlines()
        for number, line in enumerate(lines, start=1):
            found += [
                f"{name}:{number}: {what} in {line.strip()[:80]!r}"
                for what, pattern in _FORBIDDEN.items()
                if pattern.search(line)
            ]
    return found


def main() -> int:
    """Entry point; exit code 0 none, 1 offences, printed. Needs a git checkout."""
    listing = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=steps.ROOT,
        capture_output=True,
        check=True,
    ).stdout
    found = offences(steps.ROOT, listing.decode().split("\0")[:-1])
    print("\n".join(found))
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
