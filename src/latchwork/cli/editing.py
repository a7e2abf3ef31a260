"""What the verbs that edit a job have in common: lines shown, a version saved, refusals told."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, NoReturn

import click

from latchwork.cli.problems import UNUSABLE, stop, unusable_told

if TYPE_CHECKING:
    from latchwork.answers.edits import Edit

_TINTS = {"+": {"fg": "green"}, "-": {"fg": "red"}, "@": {"dim": True}}


@contextmanager
def edits_told(as_json: bool = False) -> Iterator[None]:
    """Turn all that keeps an edit from being made into messages and exit code 2."""
    from latchwork.findings.problems import Problem
    from latchwork.folder import ChangedMeanwhile
    from latchwork.job import one_of
    from latchwork.job.changes import DoesNotFit, NoSuchPlace
    from latchwork.words import say

    with unusable_told(as_json):
        try:
            yield
        except NoSuchPlace as nowhere:
            known = one_of(nowhere.path.rpartition(".")[2], nowhere.known)
            expected = known if nowhere.known else say("edits.no place")
            stop([Problem("", 0, 0, nowhere.path, say("edits.nothing"), expected, "edit.place")])
        except DoesNotFit as misfit:
            _misfit(misfit.change.path, misfit.expected, misfit.found)
        except ChangedMeanwhile as conflict:
            kept = {"file": str(conflict.job_file), "kept": str(conflict.kept)}
            _conflict(say("edits.meanwhile", kept), conflict.theirs or "", conflict.ours)


def _misfit(path: str, expected: str, found: str) -> NoReturn:
    from latchwork.words import say

    click.echo(say("edits.misfit", {"path": path}), err=True)
    for word, text in (("expects", expected), ("stands", found)):
        click.echo(say(f"edits.{word}"), err=True)
        for line in text.splitlines() or [say("edits.nothing")]:
            click.echo(f"    {_printable(line)}", err=True)
    raise click.exceptions.Exit(UNUSABLE)


def _conflict(told: str, theirs: str, ours: str) -> NoReturn:
    from latchwork.answers.edits import line_difference

    click.echo(told, err=True)
    show_lines(line_difference(theirs, ours), err=True)
    raise click.exceptions.Exit(UNUSABLE)


def show_lines(lines: Iterable[str], err: bool = False) -> None:
    """Lines of a difference, in colour where there is a terminal."""
    for line in lines:
        style = _TINTS.get(line[:1])
        text = _printable(line)
        click.echo(click.style(text, **style) if style else text, err=err)  # type: ignore[arg-type]  # click words


def _printable(line: str) -> str:
    from latchwork.cli.page import printable

    return printable(line)


def save_shown(made: Edit, what: str, *, undoes: int = 0) -> None:
    """Show an edit's lines, save it, and say how to take it back."""
    from latchwork.answers.edits import save
    from latchwork.cli.page import typed
    from latchwork.words import say

    if not made.lines:
        click.echo(say("edits.same"))
        return
    version = save(made, what, undoes=undoes)
    show_lines(made.lines)
    job = typed(made.folder.job_file)
    click.echo(say("edits.saved", {"number": f"{version.number}", "job": job}))
