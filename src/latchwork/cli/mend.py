"""``latchwork mend``: remedies that were tried, shown in the file's own lines, and made."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from latchwork.cli.editing import edits_told, show_lines
from latchwork.cli.problems import stop

if TYPE_CHECKING:
    from latchwork.answers.edits import Edit
    from latchwork.answers.mend import MendAnswer, RemedyLine

SOMETHING = 1


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@click.option("--finding", metavar="ID", help="The finding to mend, by the id that check prints.")
@click.option("--all", "everything", is_flag=True, help="Mend from worst to least.")
@click.option("--choose", metavar="N", default=1, help="With --finding: the N-th remedy offered.")
@click.option("--write", is_flag=True, help="Make the change; the file as it was stays a version.")
@click.option("--json", "as_json", is_flag=True, help="The same facts for programs.")
def mend(
    job: Path, finding: str | None, everything: bool, choose: int, write: bool, as_json: bool
) -> None:
    """Show what to change in JOB so that a finding goes, tried before it is told.

    Each remedy was laid on the job and judged again: its finding goes, and nothing as bad comes.
    What was found wrong on site is put right first, be it that as bad a thing comes to light behind
    it; then fewest edits come first, then fewest new parts. Without --write nothing is changed.

    \b
    Examples:
      latchwork mend boatyard --finding F3A90C
      latchwork mend boatyard --finding F3A90C --choose 2 --write
      latchwork mend boatyard --all
    """
    if (finding is None) is not everything:
        raise click.UsageError("give one of --finding ID and --all")
    with edits_told(as_json):
        if finding is not None:
            _one(job, finding, choose, write, as_json)
        else:
            _all(job, write, as_json)


def _one(job: Path, finding: str, choose: int, write: bool, as_json: bool) -> None:
    from latchwork.answers.mend import UnknownFinding, mend_one
    from latchwork.cli.page import typed
    from latchwork.cli.progress import Progress
    from latchwork.findings.problems import Problem
    from latchwork.words import say

    try:
        with Progress() as progress:
            answer, edits = mend_one(job, finding, progress.doors)
    except UnknownFinding as unknown:
        stop(
            [Problem("", 0, 0, "--finding", unknown.found, unknown.expected, "call.unknown")],
            as_json,
        )
    if edits and not 1 <= choose <= len(edits):
        expected = say("mend.choose", {"count": f"{len(edits)}"})
        stop([Problem("", 0, 0, "--choose", f"{choose}", expected, "call.unknown")], as_json)
    if as_json:
        _json(answer)
    else:
        for number, line in enumerate(answer.remedies, start=1):
            if number == choose or not write:
                _show(line, say("mend.number", {"number": f"{number}"}))
        _left(answer)
    if not edits:
        raise click.exceptions.Exit(SOMETHING)
    if write:
        _write(edits[choose - 1], as_json)
    elif not as_json:
        click.echo(say("mend.how", {"job": typed(job), "finding": answer.remedies[0].finding}))


def _all(job: Path, write: bool, as_json: bool) -> None:
    from latchwork.cli.page import typed
    from latchwork.cli.progress import Progress
    from latchwork.words import say

    with Progress() as progress:
        from latchwork.answers.mend import mend_all

        answer, edit = mend_all(job, progress.tell)
    if as_json:
        _json(answer)
    else:
        for number, line in enumerate(answer.remedies, start=1):
            _show(line, say("mend.step", {"number": f"{number}"}))
        _left(answer)
        if not answer.remedies and not answer.left:
            click.echo(say("mend.nothing"))
    if edit is not None:
        if write:
            _write(edit, as_json)
        elif not as_json:
            click.echo(say("mend.how all", {"job": typed(job)}))
    if answer.left:
        raise click.exceptions.Exit(SOMETHING)


def _show(line: RemedyLine, head: str) -> None:
    from latchwork.cli.page import printable, tinted
    from latchwork.words import say

    severity = f"{say(f'mark.{line.severity}')} {say(f'severity.{line.severity}')}"
    click.echo(f"{tinted(severity, line.severity)}  {tinted(printable(line.title), 'head')}")
    click.echo(f"{head} · {line.finding}")
    for word, shown in (("on site", line.on_site), ("takes over", line.takes_over)):
        if shown:
            click.echo(say(f"mend.{word}"))
    show_lines(line.lines)
    if line.also_gone:
        click.echo(say("mend.also gone", {"ids": ", ".join(line.also_gone)}))
    for title in line.comes:
        what = "mend.uncovers" if line.on_site else "mend.comes"
        click.echo(printable(say(what, {"title": title})))
    click.echo()


def _left(answer: MendAnswer) -> None:
    from latchwork.cli.page import printable
    from latchwork.words import say

    for line in answer.left:
        told = say("mend.left", {"id": line.finding, "title": line.title, "do": line.do})
        click.echo("\n".join(map(printable, told.split("\n"))))


def _write(edit: Edit, as_json: bool) -> None:
    from latchwork.answers.edits import save
    from latchwork.cli.page import typed
    from latchwork.words import say

    version = save(edit, "mend")
    if not as_json:
        told = {"number": f"{version.number}", "job": typed(edit.folder.job_file)}
        click.echo(say("edits.saved", told))


def _json(answer: object) -> None:
    import msgspec

    click.echo(msgspec.json.encode(answer))
