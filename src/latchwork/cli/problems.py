"""What cannot be used is told whole, and ends the command with exit code 2."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import NoReturn

import click

from latchwork.findings.problems import Problem, SettingUnknown

UNUSABLE = 2
FORM = 1
"""Version of the form in which ``--json`` tells problems."""


@contextmanager
def unusable_told(as_json: bool = False) -> Iterator[None]:
    """Turn the problems of a job, its parts, its folder and what is set into messages and exit code
    2."""
    from latchwork.folder import FolderBusy
    from latchwork.job import JobErrors
    from latchwork.parts import PartsErrors
    from latchwork.words import say

    try:
        yield
    except JobErrors as errors:
        stop(errors.problems, as_json, errors.more)
    except PartsErrors as errors:
        stop(errors.problems, as_json)
    except SettingUnknown as unknown:
        stop([unknown.problem], as_json)
    except FolderBusy as busy:
        stop([_of_disk(str(busy.folder), str(busy), say("problems.wait"))], as_json)
    except BrokenPipeError:
        # Whoever reads has read enough: nothing is wrong with a file.
        raise
    except OSError as error:
        why = error.strerror or type(error).__name__
        if isinstance(error, FileExistsError):
            # Files are replaced: only a folder finds something in its place.
            why = say("problems.no folder")
        stop([_of_disk(str(error.filename or ""), why, say("problems.disk"))], as_json)


def _of_disk(file: str, found: str, expected: str) -> Problem:
    return Problem(file, 0, 0, "", found, expected, "disk")


def stop(problems: Iterable[Problem], as_json: bool = False, more: bool = False) -> NoReturn:
    """Tell every problem and end with exit code 2; with ``more``, that others may show."""
    from latchwork.cli.page import printable
    from latchwork.words import say

    found = list(problems)
    if as_json:
        fields = ("file", "line", "column", "field", "found", "expected", "code")
        told = [{name: getattr(problem, name) for name in fields} for problem in found]
        click.echo(json.dumps({"latchwork_problems": FORM, "problems": told}, ensure_ascii=False))
    else:
        for problem in found:
            click.echo(printable(str(problem)), err=True)
        if found[0].file:
            key = "one" if len(found) == 1 else "many"
            click.echo(say(f"problems.{key}", {"count": f"{len(found)}"}), err=True)
            if more:
                click.echo(say("problems.more"), err=True)
    raise click.exceptions.Exit(UNUSABLE)
