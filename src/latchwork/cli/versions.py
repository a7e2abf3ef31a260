"""``latchwork versions`` and ``latchwork compare``: what a job said before."""

from __future__ import annotations

from pathlib import Path

import click

from latchwork.cli.editing import show_lines
from latchwork.cli.problems import stop, unusable_told


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="The same facts for programs.")
def versions(job: Path, as_json: bool) -> None:
    """List the saves of JOB, oldest first: number, time, what was changed.

    The text before each save is kept under its number in the folder "versions".
    """
    from latchwork.answers.versions import versions_of
    from latchwork.cli.page import printable
    from latchwork.words import say

    with unusable_told(as_json):
        answer = versions_of(job)
    if as_json:
        _json(answer)
        return
    for line in answer.versions:
        what = say("versions.undo", {"number": f"{line.undoes}"}) if line.undoes else line.what
        notes = [say(f"versions.{word}") for word in ("undone", "by_hand") if getattr(line, word)]
        notes += [] if line.finished else [say("versions.unfinished")]
        tail = f"  ({', '.join(notes)})" if notes else ""
        when = line.when.replace("T", " ").replace("+00:00", " UTC")
        told = f"{line.number:4d}  {when}  {what}: {', '.join(line.paths)}{tail}"
        click.echo(printable(told))
    if not answer.versions:
        click.echo(say("versions.none"))


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@click.argument("old", default="")
@click.argument("new", default="now")
@click.option("--json", "as_json", is_flag=True, help="The same facts for programs.")
def compare(job: Path, old: str, new: str, as_json: bool) -> None:
    """Show what two texts of JOB say otherwise, in the job's own terms and in its lines.

    OLD and NEW are numbers that "latchwork versions" lists, or "now" for the file as it is.
    Without them the last version is compared with now.
    """
    from latchwork.answers.versions import UnknownVersion
    from latchwork.answers.versions import compare as compared
    from latchwork.cli.page import printable
    from latchwork.findings.problems import Problem
    from latchwork.words import say

    with unusable_told(as_json):
        try:
            answer = compared(job, old, new)
        except UnknownVersion as unknown:
            problem = Problem("", 0, 0, "VERSION", unknown.found, unknown.expected, "call.unknown")
            stop([problem], as_json)
    if as_json:
        _json(answer)
        return
    if not answer.lines:
        click.echo(say("versions.same", {"old": answer.old, "new": answer.new}))
        return
    click.echo(say("versions.compared", {"old": answer.old, "new": answer.new}))
    for each in answer.differences:
        nothing = say("edits.nothing")
        told = f"  {each.path}: {each.old or nothing} → {each.new or nothing}"
        click.echo(printable(told))
    click.echo()
    show_lines(answer.lines)


def _json(answer: object) -> None:
    import msgspec

    click.echo(msgspec.json.encode(answer))
