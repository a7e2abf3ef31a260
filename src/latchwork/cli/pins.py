"""``latchwork pin`` and ``latchwork update``: the figures of parts as the job uses them."""

from __future__ import annotations

from pathlib import Path

import click

from latchwork.cli.problems import unusable_told


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
def pin(job: Path) -> None:
    """Pin the figures of JOB's parts, so that a newer catalogue changes nothing.

    Writes parts.lock beside the job file. What is pinned already stays as it is.
    """
    from latchwork.answers.pinning import pin_job
    from latchwork.cli.page import printable
    from latchwork.opening import open_job
    from latchwork.words import say

    with unusable_told():
        names = pin_job(open_job(job))
    for name in names:
        click.echo(printable(name))
    click.echo(say("pins.pinned", {"count": f"{len(names)}"}))


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@click.option("--write", is_flag=True, help="Take the catalogue's figures into parts.lock.")
def update(job: Path, write: bool) -> None:
    """Show what the catalogue now has otherwise than JOB's pinned figures."""
    from latchwork.answers.pinning import changes, update_job
    from latchwork.cli.page import printable, typed
    from latchwork.opening import open_job
    from latchwork.words import say

    with unusable_told():
        opened = open_job(job)
        changed = update_job(opened) if write else changes(opened)
    for each in changed:
        name = f"{each.part}: {each.word}" if each.word else each.part
        click.echo(printable(f"{name}: {_figure(each.pinned)} → {_figure(each.now)}"))
    pinned = opened.pinned.parts or opened.pinned.cables
    if write or pinned:
        key = "written" if write else "changed" if changed else "same"
        click.echo(say(f"pins.{key}", {"count": f"{len(changed)}"}))
    if opened.unpinned and not write:
        count = f"{len(opened.unpinned)}"
        click.echo(say("pins.unpinned", {"count": count, "job": typed(job)}))


def _figure(value: object) -> str:
    from latchwork.elements import Figure
    from latchwork.words import say

    if isinstance(value, Figure):
        ends = f"{value.low:g}–{value.high:g}" if value.low != value.high else f"{value.value:g}"
        return f"{ends} ({value.source})"
    return say("pins.nothing") if value is None else str(value)
