"""``latchwork set``: other values in the job file, its comments and layout kept."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from latchwork.cli.editing import edits_told, save_shown

if TYPE_CHECKING:
    from latchwork.job.changes import Spot

_SECTIONS = ("doors", "supplies", "devices", "cables", "taps", "joints")


@click.command(name="set")
@click.argument("job", type=click.Path(path_type=Path))
@click.argument("where")
@click.argument("values", nargs=-1, metavar="KEY=VALUE…")
@click.option(
    "--runs", metavar="LEG=RUN", multiple=True, help="A run of a door: power=18 m of 2 x 1.0 mm²."
)
@click.option("--remove", metavar="KEY", multiple=True, help="Take a key out; repeatable.")
def set_(
    job: Path, where: str, values: tuple[str, ...], runs: tuple[str, ...], remove: tuple[str, ...]
) -> None:
    """Set values of WHERE in JOB: a door, supply, device or cable by its id, "site" or "usual".

    Only the lines concerned are rewritten, and the file as it was is kept as a version. A dot
    goes one step in. Nothing is saved where the outcome is no job.

    \b
    Examples:
      latchwork set boatyard D3 "lock=magnet 24 V" "lock.holds down to=18 V"
      latchwork set boatyard D3 --runs "power=18 m of 2 x 1.5 mm²" --remove release
      latchwork set boatyard site "standby=8 h"
      latchwork set boatyard doors --remove D8
    """
    from latchwork.answers.edits import edit
    from latchwork.folder import read_folder
    from latchwork.job.changes import as_typed, drop, put

    pairs = [_pair(value) for value in values]
    pairs += [(f"runs.{key}", value) for key, value in map(_pair, runs)]
    if not pairs and not remove:
        raise click.UsageError("nothing to set: give KEY=VALUE, --runs or --remove")
    with edits_told():
        folder = read_folder(job)
        path = _path(folder.text, where)
        makes = [
            partial(put, path=f"{path}.{key}", value=as_typed(value)) for key, value in pairs
        ] + [partial(drop, path=f"{path}.{key}") for key in remove]
        save_shown(edit(folder, makes), "set")


def _pair(text: str) -> tuple[str, str]:
    key, sign, value = text.partition("=")
    if not sign or not key.strip() or not value.strip():
        raise click.UsageError(f'found {text}, expected KEY=VALUE, such as "lock=magnet 24 V"')
    return key.strip(), value.strip()


def _path(text: str, where: str) -> str:
    """The path of what is called WHERE. Ends the command where nothing is."""
    from latchwork.cli.problems import stop
    from latchwork.findings.problems import Problem
    from latchwork.job import one_of
    from latchwork.job.changes import read_spots

    head, dot, rest = where.partition(".")
    if head in ("site", "usual") or head in _SECTIONS:
        return where
    known = dict(_ids(read_spots(text)))
    if head not in known:
        expected = one_of(head, [*known, "site", "usual"])
        stop([Problem("", 0, 0, "WHERE", head, expected, "call.unknown")])
    return f"{known[head]}{dot}{rest}"


def _ids(root: Spot) -> Iterator[tuple[str, str]]:
    for section in root.entries:
        if section.name in _SECTIONS:
            for entry in section.value.entries:
                yield entry.name, f"{section.name}.{entry.name}"
