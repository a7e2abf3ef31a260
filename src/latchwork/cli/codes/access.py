"""Verbs about doors and hours: weekly times, holidays, groups, and who could open what when."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING

import click

from latchwork.cli.codes.common import (
    a_day,
    as_facts,
    job_argument,
    now,
    opened,
    reason,
    save,
    site_of,
    store_options,
    told,
    why_option,
)

if TYPE_CHECKING:
    from latchwork.codes.access.who import Could
    from latchwork.codes.facts import WhoFacts
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
        save(store, draft.changes, reason(why, say("codes.why-times", {"name": name})))
        click.echo(say("codes.saved"))


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
    from latchwork.words import say

    with told():
        store = opened(job, holder, passphrase_fd)
        if not days:
            for day, called in sorted(store.register.holidays.items()):
                click.echo(f"{day} {called}")
            return
        found = [day for day in map(a_day, days) if day is not None]
        changes: list[Change] = [
            HolidayRemoved(day) if remove else Holiday(day, name) for day in found
        ]
        save(store, changes, reason(why, say("codes.why-holidays")))
        click.echo(say("codes.saved"))


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
                shown = ", ".join(
                    f"{site.doors.get(g.door, g.door)} ({g.times})" for g in found.grants
                )
                click.echo(f"{found.name}: {inside} people; {shown}")
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
        save(store, draft.changes, reason(why, say("codes.why-group", {"name": name})))
        click.echo(say("codes.saved"))


@click.command()
@job_argument
@click.argument("door")
@click.argument("when", default="now")
@click.option("--json", "as_json", is_flag=True, help="The same facts for programs.")
@store_options
def who(
    job: Path, door: str, when: str, as_json: bool, holder: str | None, passphrase_fd: int | None
) -> None:
    """Who could open DOOR at WHEN: those who may, and those the controller would let in anyway.

    \b
    WHEN: now, "friday 19:00", "today 07:30", "2026-03-06 19:00", by the clock at the site.

    \b
    Example:
      latchwork codes who JOB Archive "friday 19:00"
    """
    from latchwork.codes.access.when import moments
    from latchwork.codes.access.who import who_could
    from latchwork.codes.keypad.job_sheet import grammars_of
    from latchwork.codes.site import find_door, folder_of
    from latchwork.words import say

    with told():
        store = opened(job, holder, passphrase_fd)
        site = site_of(job)
        identity = find_door(site, door)
        grammars = grammars_of(store.register, site, folder_of(job))
        answers = []
        for instant in moments(when, now(), site.zone):
            answers.append((instant, who_could(store.register, site, grammars, identity, instant)))
        if as_json:
            as_facts(_facts(site, identity, answers))
            return
        if len(answers) == 2:
            click.echo(say("codes.twice"))
        for instant, found in answers:
            _show(site, identity, instant, found)


def _facts(site: SiteView, door: str, answers: list[tuple[dt.datetime, list[Could]]]) -> WhoFacts:
    from latchwork.codes.facts import CouldFacts, MomentFacts, WhoFacts

    return WhoFacts(
        1,
        door,
        tuple(
            MomentFacts(
                instant.astimezone(site.zone).isoformat(),
                tuple(
                    CouldFacts(c.person, c.name, c.may, c.can, c.why, c.controller, c.place)
                    for c in found
                ),
            )
            for instant, found in answers
        ),
    )


def _show(site: SiteView, door: str, instant: dt.datetime, found: list[Could]) -> None:
    from latchwork.words import say

    local = instant.astimezone(site.zone).strftime("%A %Y-%m-%d %H:%M %Z")
    click.echo(say("codes.who", {"door": site.doors[door], "when": local}))
    if not found:
        click.echo("  " + say("codes.nobody"))
    for one in found:
        name = one.name or say("codes.unknown-person")
        why = say(f"codes.could.{one.why}") if one.why else ""
        mark = "may" if one.may else "can"
        place = say("codes.at-place", {"place": str(one.place)}) if one.place else ""
        parts = [p for p in (name, say(f"codes.{mark}"), why, place) if p]
        click.echo("  " + " · ".join(parts))
    click.echo(say("codes.who-not"))
