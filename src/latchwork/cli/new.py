"""``latchwork new``: a job written by questions."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from latchwork.cli.asking import answered, given, options, prompted_name
from latchwork.cli.editing import edits_told
from latchwork.cli.problems import stop

if TYPE_CHECKING:
    from latchwork.answers.interview import Answers, Known


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@options(
    site="Name of the site.",
    rules='Whose rules: "general", "US model codes" or "UK and Europe".',
    standby='Hours on battery, such as "4 h", or "none".',
    supply_part='The supply, such as "supply 24 V, 5 A".',
    battery='Its battery, such as "2 x 12 V 7 Ah", or "none".',
)
@click.option("--yes", is_flag=True, help="Ask nothing; what is not said takes its default.")
def new(job: Path, yes: bool, **said: str | None) -> None:
    """Write a new job into the folder JOB by questions: the site, its doors, their supply.

    Only questions whose answer still matters are asked. A number picks an offer, Enter takes what
    stands in brackets. Guesses stay marked as such ("about 20 m"); "unknown" is an answer too.
    Doors end with an empty name; with --yes none are asked for.
    """
    from latchwork.answers.interview import SITE, SUPPLY, Known, job_text
    from latchwork.answers.pinning import pin_job
    from latchwork.cli.page import typed
    from latchwork.findings.problems import Problem
    from latchwork.folder import JOB_FILE, locked, write_atomic
    from latchwork.job import read_job_text
    from latchwork.opening import open_job
    from latchwork.parts import catalogue
    from latchwork.words import say

    file = job / JOB_FILE
    there = Problem(str(file), 0, 0, "", say("new.there"), say("new.expected"), "new.there")
    if file.exists():
        stop([there])
    options_given = given(said)
    known = Known(catalogue())
    with edits_told():
        site = answered(SITE, known, options_given, yes)
        known = Known(catalogue(), us=site["rules"] == "US model codes")
        doors = {} if yes else _doors(known)
        known = Known(known.catalogue, said=doors, us=known.us)
        supply = answered(SUPPLY, known, {**options_given, "standby": site["standby"]}, yes)
        text = job_text(known, site, {**supply, "standby": site["standby"]})
        read_job_text(text, str(file))
        job.mkdir(parents=True, exist_ok=True)
        with locked(job):
            if file.exists():
                # Somebody else was quicker than the answers.
                stop([there])
            write_atomic(file, text.encode())
        pin_job(open_job(job))
    click.echo()
    click.echo(text, nl=False)
    click.echo(say("new.written", {"file": str(file), "job": typed(job)}))


def _doors(known: Known) -> dict[str, Answers]:
    """Doors until a name is left empty."""
    from latchwork.answers.interview import DOOR, Known, free_id, usual_texts

    said: dict[str, Answers] = {}
    while True:
        name = prompted_name("door")
        if not name:
            return said
        so_far = Known(known.catalogue, usual=usual_texts(known, said), said=said, us=known.us)
        said[free_id(None, "D", said)] = answered(DOOR, so_far, {"name": name}, yes=False)
