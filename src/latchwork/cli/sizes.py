"""``latchwork sizes``: the smallest sizes that will do, as a table and as a change of the file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from latchwork.cli.editing import edits_told, save_shown, show_lines

if TYPE_CHECKING:
    from latchwork.answers.sizes import SizeLine, SizesAnswer
    from latchwork.quantities import System

GUESSED = ("assumed", "guessed", "unknown")


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@click.option("--write", is_flag=True, help="Set the sizes; the file as it was stays a version.")
@click.option("--json", "as_json", is_flag=True, help="The same facts for programs.")
def sizes(job: Path, write: bool, as_json: bool) -> None:
    """Say the smallest conductor of every run of JOB, and the smallest limit and battery of every
    supply, that leave nothing a size can cure.

    All else stays as it is, fuses too. Beside each size stands what is found one size below. A run
    whose length nobody knows is left alone.
    """
    from latchwork.cli.page import typed
    from latchwork.cli.progress import Progress
    from latchwork.words import say

    with edits_told(as_json):
        with Progress() as progress:
            from latchwork.answers.sizes import sizes_of

            def told(run: int, done: int, total: int) -> None:
                share = f"{100 * done // max(total, 1)}"
                progress.tell(say("sizes.progress", {"run": f"{run}", "share": share}))

            answer, edit = sizes_of(job, told)
        if as_json:
            import msgspec

            click.echo(msgspec.json.encode(answer))
        else:
            _table(answer)
        if edit is None:
            return
        if write and as_json:
            from latchwork.answers.edits import save

            save(edit, "sizes")
        elif write:
            save_shown(edit, "sizes")
        elif not as_json:
            show_lines(answer.lines)
            click.echo(say("sizes.how", {"job": typed(job)}))


def _length(line: SizeLine, system: System) -> str:
    """A length as people write it, a guess as one."""
    from latchwork.quantities import show_whole
    from latchwork.words import say

    if not line.length_m:
        return ""
    written = show_whole(line.length_m, "m", system)
    return say("sizes.about", {"length": written}) if line.length_known in GUESSED else written


def _table(answer: SizesAnswer) -> None:
    from latchwork.cli.page import Page, cells, fitted, joined, printable, tinted
    from latchwork.quantities import System
    from latchwork.words import say

    page = Page()
    system = System.US if answer.us_units else System.METRIC
    id_width = max((cells(line.id) for line in answer.sizes), default=0)
    now_width = max((cells(line.now) for line in answer.sizes), default=0)
    for kind in ("run", "limit", "battery"):
        lines = [line for line in answer.sizes if line.kind == kind]
        if not lines:
            continue
        page.section(say(f"sizes.{kind}"))
        for line in lines:
            same = line.now == line.smallest
            head = f"  {fitted(printable(line.id), id_width)}  {fitted(line.now, now_width)}"
            sized = say("sizes.same") if same else f"→ {line.smallest}"
            length = _length(line, system)
            page.line(f"{head}  {tinted(sized, 'quiet' if same else 'head')}")
            if line.name or length:
                page.hang("", joined([line.name, length]), id_width + 4, "quiet")
            if line.wants_more:
                page.hang("", say("sizes.wants more"), id_width + 4)
            if line.keeps_from:
                page.hang("", say("sizes.below", {"title": line.keeps_from}), id_width + 4, "quiet")
            if line.short_v is not None:
                page.hang("", say("sizes.hair", {"short_v": line.short_v}), id_width + 4)
    if answer.sizes:
        page.line()
        page.hang("", say("sizes.fuses"), 2, "quiet")
    if answer.left:
        page.section(say("sizes.left"))
        for title in answer.left:
            page.hang("", title, 2)
    page.line()
    click.echo(page.text())
