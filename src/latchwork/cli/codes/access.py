"""Verbs about doors and hours: weekly times, holidays, groups, and who could open what when."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

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
    tell_each,
    told,
    wanted_sheets,
    why_option,
)

if TYPE_CHECKING:
    from latchwork.codes.access.who import Could
    from latchwork.codes.facts import WhoFacts
    from latchwork.codes.keypad.grammar import Grammar
    from latchwork.codes.register.register import Register
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
    WHEN: now, "friday 19:00", "last friday 19:00", "yesterday 22:30", "2026-03-06 19:00", by the
    clock at the site; or a day alone, for everybody who could at some time of it.

    What is past is answered by the register and the controllers as they stood then.

    \b
    Example:
      latchwork codes who JOB Archive "friday 19:00"
    """
    from latchwork.codes.access.past import over_the_day, register_at
    from latchwork.codes.access.when import day_alone, moments
    from latchwork.codes.access.who import who_could
    from latchwork.codes.keypad.job_sheet import grammars_of
    from latchwork.codes.site import find_door, folder_of
    from latchwork.words import say

    with told():
        store = opened(job, holder, passphrase_fd)
        site = site_of(job)
        identity = find_door(site, door)
        moment = now()

        def grammars(register: Register) -> dict[str, Grammar]:
            return grammars_of(register, site, folder_of(job))

        def as_of(instant: dt.datetime) -> Register:
            if instant >= moment:
                return store.register
            return register_at(store.entries, instant, site.zone)

        day = day_alone(when, moment, site.zone)
        answers: list[_Answer] = []
        if day is not None:
            found = over_the_day(store.entries, site, grammars, identity, day, moment)
            ends = dt.datetime.combine(day + dt.timedelta(days=1), dt.time(), site.zone)
            answers.append(_Answer(day, found, as_of(ends)))
        for instant in moments(when, moment, site.zone) if day is None else ():
            then = as_of(instant)
            units = instant >= moment
            found = who_could(then, site, grammars(then), identity, instant, units=units)
            answers.append(_Answer(instant.astimezone(site.zone), found, then))
        if as_json:
            as_facts(_facts(site, identity, answers))
            return
        if len(answers) == 2:
            click.echo(say("codes.twice"))
        for answer in answers:
            _show(site, identity, answer, store.register)


class _Answer(NamedTuple):
    """Who could at a moment by the site's clock, or on a day; and the register it went by."""

    at: dt.datetime | dt.date
    found: list[Could]
    register: Register


def _together(site: SiteView, door: str, register: Register) -> int:
    """How many people it takes at once at a door, as far as was confirmed."""
    from latchwork.codes.keypad.setup import people_together

    here = [c.id for c in site.controllers.values() if door in c.doors]
    confirmed = [register.programmed[c].settings for c in here if c in register.programmed]
    return max(map(people_together, confirmed), default=1)


def _facts(site: SiteView, door: str, answers: list[_Answer]) -> WhoFacts:
    from latchwork.codes.facts import CouldFacts, MomentFacts, WhoFacts

    return WhoFacts(
        1,
        door,
        tuple(
            MomentFacts(
                answer.at.isoformat(),
                tuple(
                    CouldFacts(c.person, c.name, c.may, c.can, c.why, c.controller, c.place)
                    for c in answer.found
                ),
                _together(site, door, answer.register),
            )
            for answer in answers
        ),
    )


def _show(site: SiteView, door: str, answer: _Answer, today: Register) -> None:
    """``today``: the register as it stands now, for what came to be known since."""
    from latchwork.cli.codes.open_sheets import left_lines
    from latchwork.codes.keypad.confirming import unconfirmed
    from latchwork.codes.keypad.job_sheet import grammars_of, other_grammar
    from latchwork.codes.keypad.unit import gone_from, unit_before
    from latchwork.codes.register.register import name_of
    from latchwork.words import say

    form = "%A %Y-%m-%d %H:%M %Z" if isinstance(answer.at, dt.datetime) else "%A %Y-%m-%d"
    facts = {"door": site.called(door), "when": answer.at.strftime(form)}
    click.echo(say("codes.who" if isinstance(answer.at, dt.datetime) else "codes.who-day", facts))
    found = answer.found
    if not found:
        click.echo("  " + say("codes.nobody"))
    for one in found:
        name = one.name or say("codes.unknown-person")
        why = say(f"codes.could.{one.why}") if one.why else ""
        mark = "may" if one.may else "can"
        place = say("codes.at-place", {"place": str(one.place)}) if one.place else ""
        parts = [p for p in (name, say(f"codes.{mark}"), why, place) if p]
        click.echo("  " + " · ".join(parts))
    together = _together(site, door, answer.register)
    if found and together > 1:
        click.echo(say("codes.together", {"count": str(together)}))
    people = {one.person for one in found}
    for card in today.lost_cards.values():
        if card.id in answer.register.cards and card.person in people:
            facts = {"printed": card.printed, "name": name_of(today, card.person)}
            click.echo(say("codes.lost-since", facts))
    grammars = grammars_of(answer.register, site, site.folder)
    for controller in site.controllers.values():
        if door not in controller.doors:
            continue
        if before := unit_before(today, controller):
            facts = {"controller": controller.id, "before": before, "unit": controller.unit}
            click.echo(say("codes.who-unit", facts))
        elif controller.id not in answer.register.programmed:
            click.echo(say("codes.who-never", {"controller": controller.id}))
        for number in unconfirmed(answer.register, controller.id):
            facts = {"controller": controller.id, "number": str(number)}
            click.echo(say("codes.who-sheet", facts))
        for line in left_lines(answer.register, controller.id, grammars.get(controller.id)):
            click.echo(line)
        other = other_grammar(today, controller)
        if other:
            facts = {"controller": controller.id, "grammar": other}
            click.echo(say("codes.who-grammar", facts))
    for gone in gone_from(answer.register, site, door):
        click.echo(say("codes.who-gone", {"controller": gone}))
    if answer.register is not today:
        click.echo(say("codes.who-then"))
    click.echo(say("codes.who-not"))
