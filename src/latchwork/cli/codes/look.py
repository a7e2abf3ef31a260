"""Verbs that only look: people, one person's doors, and the log of changes."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import click

from latchwork.cli.codes.common import (
    as_facts,
    job_argument,
    opened,
    site_of,
    store_options,
    tell_touches,
    told,
)

if TYPE_CHECKING:
    from latchwork.codes.facts import PersonFacts
    from latchwork.codes.keypad.grammar import Grammar
    from latchwork.codes.register.changes import Person
    from latchwork.codes.register.register import Register
    from latchwork.codes.site import SiteView


@click.command("list")
@job_argument
@click.option("--group", help="Only this group.")
@store_options
def list_(job: Path, group: str | None, holder: str | None, passphrase_fd: int | None) -> None:
    """List people: id, name, groups, what they hold, and until when."""
    from latchwork.codes.register.places import cards_by_person
    from latchwork.words import say

    with told():
        register = opened(job, holder, passphrase_fd).register
        cards = cards_by_person(register)
        people = sorted(register.people.values(), key=lambda p: p.name.casefold())
        if not people:
            click.echo(say("codes.empty"))
        for person in people:
            if group is not None and group not in person.groups:
                continue
            held = ["PIN"] if person.id in register.pins else []
            held += [register.cards[c].printed for c in cards.get(person.id, [])]
            parts = [person.name, ", ".join(person.groups), " + ".join(held)]
            parts += _when(person)
            click.echo(f"{person.id:6} " + " · ".join(p for p in parts if p))


def _when(person: Person) -> list[str]:
    """What keeps somebody out at times, whatever doors they have."""
    from latchwork.words import say

    parts = []
    if person.valid_from:
        parts.append(say("codes.from", {"day": person.valid_from.isoformat()}))
    if person.valid_until:
        parts.append(say("codes.until", {"day": person.valid_until.isoformat()}))
    if person.suspended:
        parts.append(say("codes.is-suspended"))
    return parts


@click.command()
@job_argument
@click.argument("text")
@click.option("--show-codes", is_flag=True, help="Show the PIN.")
@click.option("--json", "as_json", is_flag=True, help="The same facts for programs.")
@store_options
def find(
    job: Path,
    text: str,
    show_codes: bool,
    as_json: bool,
    holder: str | None,
    passphrase_fd: int | None,
) -> None:
    """Find a person by name or id, or by the number of a card, lost ones included.

    Of a leaver, by the whole name or the id, it says where something of theirs still stands.
    """
    from latchwork.codes.access.touch import holding, to_be_touched
    from latchwork.codes.errors import CodesError
    from latchwork.codes.keypad.job_sheet import grammars_of
    from latchwork.codes.register.people import as_compared, find_person
    from latchwork.codes.register.register import name_of
    from latchwork.codes.site import folder_of
    from latchwork.words import say

    with told():
        register = opened(job, holder, passphrase_fd).register
        site = site_of(job)
        lost = [c for c in register.lost_cards.values() if text in (c.printed, str(c.number))]
        found = [c for c in register.cards.values() if text in (c.printed, str(c.number), c.id)]
        owners = {c.person: register.people[c.person] for c in found}
        grammars = grammars_of(register, site, folder_of(job))
        for card in lost:
            name = name_of(register, card.person)
            key = "codes.came-back" if card.id in register.came_back else "codes.was-lost"
            # Facts for programs are of a person alone.
            click.echo(say(key, {"printed": card.printed, "name": name}), err=as_json)
            tell_touches(site, holding(register, grammars, card), err=as_json)
        if not owners:
            for card in register.left_cards.values():
                if text in (card.printed, str(card.number), card.id):
                    lost.append(card)
                    name = name_of(register, card.person)
                    told_of = {"printed": card.printed, "name": name}
                    click.echo(say("codes.left-with", told_of), err=as_json)
                    tell_touches(site, holding(register, grammars, card), err=as_json)
        called = {text.strip(), as_compared(text)}
        gone = [p for p in register.left.values() if called & {p.id, as_compared(p.name)}]
        for leaver in gone:
            click.echo(say("codes.has-left", {"name": leaver.name, "id": leaver.id}), err=as_json)
            tell_touches(site, to_be_touched(register, grammars, leaver.id), err=as_json)
        here = any(called & {p.id, as_compared(p.name)} for p in register.people.values())
        if (lost or gone) and not owners and not here:
            return
        if len(owners) > 1:
            shown = ", ".join(f"{c.printed} ({owners[c.person].name})" for c in found)
            raise CodesError(say("codes.which-card", {"card": text, "cards": shown}))
        person = next(iter(owners.values())) if owners else find_person(register, text)
        facts = _facts(register, site, grammars, person, show_codes)
        if as_json:
            as_facts(facts)
            return
        click.echo(" · ".join([f"{person.id} {person.name}", *_when(person)]))
        for key, value in (
            ("groups", ", ".join(facts.groups)),
            ("pin", facts.pin),
            ("cards", ", ".join(facts.cards)),
        ):
            if value:
                click.echo(f"  {say(f'codes.field.{key}')}: {value}")
        for door in facts.doors:
            click.echo(f"  {site.called(door.id)} · {', '.join(door.times)}")
        for place in facts.places:
            keyed = "" if place.keyed_in else f" · {say('codes.could.not keyed in')}"
            where = say("codes.at-place", {"place": str(place.place)})
            click.echo(f"  {place.controller} · {where}{keyed}")


def _facts(
    register: Register,
    site: SiteView,
    grammars: Mapping[str, Grammar],
    person: Person,
    show_codes: bool,
) -> PersonFacts:
    from latchwork.codes.access.rights import doors_of
    from latchwork.codes.access.touch import keyed_in
    from latchwork.codes.facts import DoorFacts, PersonFacts, PlaceFacts
    from latchwork.codes.keypad.unit import unit_before
    from latchwork.codes.register.places import cards_by_person

    others = {c.id for c in site.controllers.values() if unit_before(register, c)}
    pin = register.pins.get(person.id)
    shown = "" if pin is None else pin.reveal() if show_codes else "••••"
    return PersonFacts(
        1,
        person.id,
        person.name,
        person.groups,
        person.suspended,
        shown,
        tuple(register.cards[c].printed for c in cards_by_person(register).get(person.id, [])),
        tuple(
            DoorFacts(door, site.doors[door], tuple(sorted(times)))
            for door, times in sorted(doors_of(register, site, person).items())
        ),
        tuple(
            PlaceFacts(
                controller,
                taken.place,
                controller not in others and keyed_in(register, grammars.get(controller), taken),
            )
            for controller, places in register.places.items()
            for taken in places.values()
            if taken.person == person.id
        ),
    )


@click.command()
@job_argument
@click.option("--last", default=30, show_default=True, help="How many entries.")
@store_options
def log(job: Path, last: int, holder: str | None, passphrase_fd: int | None) -> None:
    """Show the last changes: when, by whom, why, and of what kind. No codes."""
    from latchwork.codes.register.changes import HolderAdded

    with told():
        store = opened(job, holder, passphrase_fd)
        site = site_of(job)
        names = {
            c.id: c.name for e in store.entries for c in e.changes if isinstance(c, HolderAdded)
        }
        for entry in store.entries[-last:] if last > 0 else ():
            local = entry.at.astimezone(site.zone).strftime("%Y-%m-%d %H:%M")
            kinds: dict[str, int] = {}
            for change in entry.changes:
                kind = str(type(change).__struct_config__.tag)
                kinds[kind] = kinds.get(kind, 0) + 1
            shown = ", ".join(k if n == 1 else f"{n} × {k}" for k, n in kinds.items())
            click.echo(f"{local}  {names.get(entry.by, entry.by)}: {entry.why}  [{shown}]")
