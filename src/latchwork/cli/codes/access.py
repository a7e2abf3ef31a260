"""Verbs about doors and hours: weekly times, holidays and groups."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from latchwork.cli.codes.common import (
    a_day,
    job_argument,
    opened,
    reason,
    save,
    site_of,
    store_options,
    tell_each,
    told,
    wanted_sheets,
    why_option,
)

if TYPE_CHECKING:
    from latchwork.codes.site import SiteView


@click.command()
@job_argument
@click.argument("name", required=False)
@click.argument("hours", required=False)
@click.option("--remove", is_flag=True, help="Remove these weekly times.")
@store_options
@why_option
def times(
    job: Path,
    name: str | None,
    hours: str | None,
    remove: bool,
    holder: str | None,
    passphrase_fd: int | None,
    why: str | None,
) -> None:
    """Write down weekly times, or list them.

    \b
    Examples:
      latchwork codes times JOB "office hours" "mon-fri 07:00-19:00, sat 09:00-12:00"
      latchwork codes times JOB nights "mon-thu 22:00-06:00, holidays 00:00-06:00"

    On a holiday only the hours said for holidays hold.
    """
    from latchwork.codes.access.times import parse_times, show_times
    from latchwork.codes.register.people import Draft
    from latchwork.words import say

    with told():
        store = opened(job, holder, passphrase_fd)
        if name is None:
            for found in store.register.times.values():
                click.echo(f"{found.name}: {show_times(found)}")
            return
        draft = Draft(store.register)
        if remove:
            draft.remove_times(name)
        else:
            if hours is None:
                raise click.UsageError(say("codes.hours-missing"))
            draft.changes.append(parse_times(name, hours))
        wanted = wanted_sheets(job, store.register, draft.changes)
        save(store, draft.changes, reason(why, say("codes.why-times", {"name": name})))
        click.echo(say("codes.saved"))
        tell_each(wanted)


@click.command()
@job_argument
@click.argument("days", nargs=-1)
@click.option("--name", default="", help="What the day is called.")
@click.option("--remove", is_flag=True, help="Ordinary days again.")
@store_options
@why_option
def holiday(
    job: Path,
    days: tuple[str, ...],
    name: str,
    remove: bool,
    holder: str | None,
    passphrase_fd: int | None,
    why: str | None,
) -> None:
    """Write down holidays (YYYY-MM-DD), or list them."""
    from latchwork.codes.register.changes import Change, Holiday, HolidayRemoved
    from latchwork.codes.register.people import check_name
    from latchwork.words import say

    with told():
        store = opened(job, holder, passphrase_fd)
        if not days:
            for day, called in sorted(store.register.holidays.items()):
                click.echo(f"{day} {called}")
            return
        found = [day for day in map(a_day, days) if day is not None]
        name = check_name(name) if name else ""
        changes: list[Change] = [
            HolidayRemoved(day) if remove else Holiday(day, name) for day in found
        ]
        wanted = wanted_sheets(job, store.register, changes)
        save(store, changes, reason(why, say("codes.why-holidays")))
        click.echo(say("codes.saved"))
        tell_each(wanted)


@click.command()
@job_argument
@click.argument("name", required=False)
@click.option(
    "--door",
    "doors",
    multiple=True,
    metavar="DOOR[=TIMES]",
    help='A door, with the weekly times it may be opened; "*" is every door. May be repeated.',
)
@click.option("--remove", is_flag=True, help="Remove the group; nobody may be in it.")
@store_options
@why_option
def group(
    job: Path,
    name: str | None,
    doors: tuple[str, ...],
    remove: bool,
    holder: str | None,
    passphrase_fd: int | None,
    why: str | None,
) -> None:
    """Say which doors a group of people may open, or list the groups.

    \b
    Example:
      latchwork codes group JOB cleaners --door "Street door=nights" --door Store
    """
    from latchwork.codes.access.rights import EVERY_DOOR
    from latchwork.codes.register.changes import ALWAYS, Grant, Group
    from latchwork.codes.register.people import Draft
    from latchwork.codes.site import find_door
    from latchwork.words import say

    with told():
        store = opened(job, holder, passphrase_fd)
        site = site_of(job)
        if name is None:
            for found in store.register.groups.values():
                inside = sum(found.name in p.groups for p in store.register.people.values())
                shown = ", ".join(f"{_door(site, g.door)} ({g.times})" for g in found.grants)
                group: dict[str, float | str] = {
                    "name": found.name,
                    "count": inside,
                    "doors": shown,
                }
                click.echo(say("codes.group", group))
            return
        draft = Draft(store.register)
        if remove:
            draft.remove_group(name)
        else:
            grants = []
            for text in doors:
                door, _, hours = text.partition("=")
                identity = EVERY_DOOR if door.strip() == EVERY_DOOR else find_door(site, door)
                grants.append(Grant(identity, hours.strip() or ALWAYS))
            if not grants:
                raise click.UsageError(say("codes.doors-missing"))
            draft.put_group(Group(name, tuple(grants)))
        wanted = wanted_sheets(job, store.register, draft.changes)
        save(store, draft.changes, reason(why, say("codes.why-group", {"name": name})))
        click.echo(say("codes.saved"))
        tell_each(wanted)


def _door(site: SiteView, door: str) -> str:
    """A door of a group; one that the job has no more opens to nobody by it."""
    from latchwork.codes.access.rights import EVERY_DOOR
    from latchwork.words import say

    known = door == EVERY_DOOR or door in site.doors
    return site.called(door) if known else say("codes.no-door", {"door": door})
