"""``latchwork wiring``: a door's rows, to be pasted back and changed."""

from __future__ import annotations

from pathlib import Path

import click

from latchwork.cli.problems import stop, unusable_told


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@click.argument("door")
def wiring(job: Path, door: str) -> None:
    """Print the wiring rows of a DOOR, in the form of the job file.

    Paste them below the door's id and change what is wired otherwise.
    """
    from latchwork.findings.problems import Problem
    from latchwork.job import one_of
    from latchwork.opening import open_job
    from latchwork.wiring import rows_text

    with unusable_told():
        found = open_job(job).wiring
        if door not in found.plan.doors:
            known = one_of(door, found.plan.doors, found.plan.door_called)
            stop([Problem("", 0, 0, "DOOR", door, known, "call.unknown")])
        click.echo(rows_text(found, door), nl=False)
