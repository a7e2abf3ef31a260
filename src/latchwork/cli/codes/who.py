"""The verb that says who could open a door, and when."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

from latchwork.cli.codes.common import (
    as_facts,
    job_argument,
    now,
    opened,
    site_of,
    store_options,
    told,
)

if TYPE_CHECKING:
    from latchwork.codes.access.who import Could
    from latchwork.codes.facts import WhoFacts
    from latchwork.codes.keypad.grammar import Grammar
    from latchwork.codes.register.register import Register
    from latchwork.codes.site import SiteView


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
            as_facts(_facts(site, identity, answers, store.register))
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


def _facts(site: SiteView, door: str, answers: list[_Answer], today: Register) -> WhoFacts:
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
                tuple(line.strip() for line in _below(site, door, answer, today)),
            )
            for answer in answers
        ),
    )


def _show(site: SiteView, door: str, answer: _Answer, today: Register) -> None:
    """``today``: the register as it stands now, for what came to be known since."""
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
    for line in _below(site, door, answer, today):
        click.echo(line)


def _below(site: SiteView, door: str, answer: _Answer, today: Register) -> Iterator[str]:
    """What has to be known of an answer besides: what controllers may hold, or nobody knows."""
    from latchwork.cli.codes.open_sheets import left_lines
    from latchwork.codes.keypad.confirming import unconfirmed
    from latchwork.codes.keypad.job_sheet import grammars_of, other_grammar
    from latchwork.codes.keypad.unit import gone_from, unit_before
    from latchwork.codes.register.register import name_of
    from latchwork.words import say

    found = answer.found
    together = _together(site, door, answer.register)
    if found and together > 1:
        yield say("codes.together", {"count": str(together)})
    people = {one.person for one in found}
    for card in today.lost_cards.values():
        if card.id in answer.register.cards and card.person in people:
            facts = {"printed": card.printed, "name": name_of(today, card.person)}
            yield say("codes.lost-since", facts)
    grammars = grammars_of(answer.register, site, site.folder)
    for controller in site.controllers.values():
        if door not in controller.doors:
            continue
        if before := unit_before(today, controller):
            facts = {"controller": controller.id, "before": before, "unit": controller.unit}
            yield say("codes.who-unit", facts)
        elif controller.id not in answer.register.programmed:
            yield say("codes.who-never", {"controller": controller.id})
        for number in unconfirmed(answer.register, controller.id):
            facts = {"controller": controller.id, "number": str(number)}
            yield say("codes.who-sheet", facts)
        yield from left_lines(answer.register, controller.id, grammars.get(controller.id))
        other = other_grammar(today, controller)
        if other:
            facts = {"controller": controller.id, "grammar": other}
            yield say("codes.who-grammar", facts)
    for gone in gone_from(answer.register, site, door):
        yield say("codes.who-gone", {"controller": gone})
    if answer.register is not today:
        yield say("codes.who-then")
    yield say("codes.who-not")
