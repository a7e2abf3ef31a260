"""``latchwork add``: a door, supply or part written into a job by questions."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from latchwork.cli.asking import all_used, answered, given, options
from latchwork.cli.editing import edits_told, save_shown
from latchwork.cli.verbs import Verbs

if TYPE_CHECKING:
    from latchwork.answers.interview import Known
    from latchwork.folder import JobFolder
    from latchwork.job.changes import Value

YES = click.option("--yes", is_flag=True, help="Ask nothing; what is not said takes its default.")
JOB = click.argument("job", type=click.Path(path_type=Path))
ASKED_OF_ALL = {"name", "like", "supply", "length"}
"""What is asked of a door that is like another, too."""


@click.group(cls=Verbs)
def add() -> None:
    """Add a door, a supply or a part to a job, by questions or by options.

    Only questions whose answer still matters are asked, and an option answers its question. The
    file as it was is kept as a version.
    """


@add.command()
@JOB
@options(
    name="What people call it.",
    like='The id of a door that it is like, or "no".',
    outside='What its outer side is: "inside", "outside" or "weather".',
    fire_rating='Minutes of fire resistance, such as "30 min", or "none".',
    lock='The lock, such as "strike 24 V fail-secure".',
    out_by='"lever", "panic bar" or "nothing mechanical".',
    bar='A bar with a switch, or "none".',
    exit='An exit device, such as "exit button", or "none".',
    power_lost='Without power: "stays locked" or "unlocks".',
    fire_alarm='In a fire alarm: "stays locked" or "unlocks".',
    fire='The fire contact, a part or the id of a shared one, or "none".',
    release='The emergency release, or "none".',
    entry='How people come in: "code", "card", "card and code" or "fingerprint".',
    supply='The supply and its output, such as "S1 out 2".',
    length='The cable from the supply, such as "about 20 m", or "unknown".',
    fire_length='The cable to a fire contact of its own, such as "about 20 m", or "unknown".',
    fire_place='Where a fire contact of its own stands, such as "by the fire panel".',
)
@YES
def door(job: Path, yes: bool, **said: str | None) -> None:
    """Add a door to JOB."""
    from latchwork.answers.interview import DOOR, LIKE_NONE, door_value, free_id, lean, like
    from latchwork.folder import open_folder
    from latchwork.job.changes import Lines

    with edits_told():
        folder = open_folder(job)
        known, doors, usual = _known(folder)
        told = given(said)
        if folder.job.doors and told.keys() - ASKED_OF_ALL:
            # Who says what the door has does not want another door's copied over it.
            told.setdefault("like", LIKE_NONE)
        answers = answered(DOOR, known, told, yes)
        all_used(told, answers)
        supply = next(iter(folder.job.supplies), "")
        other = answers.get("like", LIKE_NONE)
        if other != LIKE_NONE:
            value = like(answers, doors[other], usual, supply)
        else:
            value = lean(door_value(known, answers, supply), usual)
        _put(folder, {f"doors.{free_id(folder.job, 'D')}": Lines(value)})


@add.command()
@JOB
@options(
    supply_part='The supply, such as "supply 24 V, 5 A".',
    battery='Its battery, such as "2 x 12 V 7 Ah", or "none".',
)
@YES
def supply(job: Path, yes: bool, **said: str | None) -> None:
    """Add a supply to JOB."""
    from latchwork.answers.interview import SUPPLY, free_id, supply_value
    from latchwork.folder import open_folder

    with edits_told():
        folder = open_folder(job)
        told = given(said)
        answers = answered(SUPPLY, _known(folder)[0], told, yes)
        all_used(told, answers)
        _put(folder, {f"supplies.{free_id(folder.job, 'S')}": supply_value(answers)})


@add.command()
@JOB
@options(
    at='The door it is at, or "shared" where doors share it.',
    slot='What it does for its door: "exit", "release", "contact" …',
    part='The part, such as "release, double pole".',
    length='The cable to it, such as "about 3 m", or "unknown".',
    place='Where a fire contact stands, such as "by the fire panel".',
)
@YES
def part(job: Path, yes: bool, **said: str | None) -> None:
    """Add a part to a door of JOB, or one that doors share."""
    from latchwork.answers.interview import PART, free_id, part_values
    from latchwork.folder import open_folder

    with edits_told():
        folder = open_folder(job)
        known, _, _ = _known(folder)
        told = given(said)
        answers = answered(PART, known, told, yes)
        all_used(told, answers)
        prefix = "F" if answers["part"].startswith("fire") else "C"
        _put(folder, part_values(known, answers, free_id(folder.job, prefix)))


def _known(folder: JobFolder) -> tuple[Known, dict[str, dict[str, Value]], dict[str, Value]]:
    """What is known of a job, and what its doors and usual values say."""
    from latchwork.answers.interview import Known
    from latchwork.job.changes import read_spots, reading
    from latchwork.opening import catalogue_of
    from latchwork.quantities import System

    offered, _ = catalogue_of(folder)
    root = reading(read_spots(folder.text))
    assert isinstance(root, dict)
    usual = root.get("usual", {})
    doors = root.get("doors", {})
    texts = {key: value for key, value in usual.items() if isinstance(value, str)}
    us = System(folder.job.site.units) is System.US
    return Known(offered, folder.job, texts, us=us), doors, usual


def _put(folder: JobFolder, values: dict[str, Value]) -> None:
    from latchwork.answers.edits import edit
    from latchwork.answers.pinning import pin_job
    from latchwork.job.changes import put
    from latchwork.opening import open_job

    makes = [partial(put, path=path, value=value) for path, value in values.items()]
    save_shown(edit(folder, makes), "add")
    pin_job(open_job(folder.job_file))
