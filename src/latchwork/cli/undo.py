"""``latchwork undo``: the last save taken back."""

from __future__ import annotations

from pathlib import Path

import click

from latchwork.cli.editing import edits_told, save_shown


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
def undo(job: Path) -> None:
    """Take back the last save of JOB that has not been taken back yet.

    Only the lines of that save go back; what was changed elsewhere by hand stays. The file as it
    was is kept as a version too.
    """
    from latchwork.answers.versions import undo as back
    from latchwork.folder import NothingToUndo
    from latchwork.words import say

    with edits_told():
        try:
            made, version = back(job)
        except NothingToUndo:
            click.echo(say("edits.no undo"))
            return
        save_shown(made, "undo", undoes=version.number)
