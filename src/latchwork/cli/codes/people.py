"""Verbs about people: adding, changing, suspending, removing, and a lost card."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from latchwork.cli.codes.common import (
    F,
    a_day,
    job_argument,
    opened,
    reason,
    save,
    site_of,
    store_options,
    tell_wanting,
    told,
    why_option,
)

if TYPE_CHECKING:
    from latchwork.codes.register.changes import Card
    from latchwork.codes.register.people import Draft, Touch
    from latchwork.codes.site import SiteView
    from latchwork.codes.store.sealed import Store


def _card_options(command: F) -> F:
    """How the card that is given reads."""
    command = click.option(
        "--printing", default="", help='How the card is printed, such as "10 digits".'
    )(command)
    command = click.option(
        "--facility", type=int, help="The card's facility code where it is not printed."
    )(command)
    return click.option(
        "--layout", default="26-bit", show_default=True, help="How the card is laid out."
    )(command)


@click.command()
@job_argument
@click.argument("name")
@click.option("--group", "groups", multiple=True, help="A group; may be repeated.")
@click.option("--from", "valid_from", metavar="DAY", help="First day, YYYY-MM-DD.")
@click.option("--until", "valid_until", metavar="DAY", help="Last day, YYYY-MM-DD.")
@click.option(
    "--kind",
    type=click.Choice(["normal", "visitor", "single use", "duress"]),
    default="normal",
    show_default=True,
)
@click.option("--note", default="")
@click.option("--pin/--no-pin", default=False, help="Give a PIN.")
@click.option("--digits", default=6, show_default=True, type=click.IntRange(4, 8))
@click.option("--card", "cards", multiple=True, metavar="PRINTED", help="A card as printed.")
@_card_options
@store_options
@why_option
def add(
    job: Path,
    name: str,
    groups: tuple[str, ...],
    valid_from: str | None,
    valid_until: str | None,
    kind: str,
    note: str,
    pin: bool,
    digits: int,
    cards: tuple[str, ...],
    layout: str,
    facility: int | None,
    printing: str,
    holder: str | None,
    passphrase_fd: int | None,
    why: str | None,
) -> None:
    """Add a person.

    \b
    Example:
      latchwork codes add JOB "Mara Quill" --group staff --pin --card 45,12345
    """
    from latchwork.codes.register.people import Draft, check_groups
    from latchwork.words import say

    with told():
        store = opened(job, holder, passphrase_fd)
        draft = Draft(store.register)
        check_groups(store.register, groups)
        person = draft.add_person(name, groups, a_day(valid_from), a_day(valid_until), kind, note)
        if pin:
            draft.give_pin(person.id, digits)
        for printed in cards:
            _give_card(job, draft, person.id, printed, layout, facility, printing)
        save(store, draft.changes, reason(why, say("codes.why-add", {"name": person.name})))
        click.echo(say("codes.added", {"name": person.name, "id": person.id}))
        if pin:
            click.echo(say("codes.pin-given"))


def _give_card(
    job: Path,
    draft: Draft,
    person: str,
    printed: str,
    layout: str,
    facility: int | None,
    printing: str,
) -> None:
    from latchwork.cli.codes.lists import layout_named
    from latchwork.codes.cards.batch import read_printed

    found = layout_named(job, layout)
    card = read_printed(found, printed, facility, printing)
    draft.give_card(person, found.name, card.value, card.facility, card.number, printed)


@click.command()
@job_argument
@click.argument("person")
@click.option("--name", help="A new name.")
@click.option("--group", "groups", multiple=True, help="The groups from now on.")
@click.option("--from", "valid_from", metavar="DAY", help='First day; "" for none.')
@click.option("--until", "valid_until", metavar="DAY", help='Last day; "" for none.')
@click.option("--kind", type=click.Choice(["normal", "visitor", "single use", "duress"]))
@click.option("--note")
@click.option("--pin", type=click.Choice(["new", "drop"]), help="Give a new PIN, or take it away.")
@click.option("--digits", default=6, show_default=True, type=click.IntRange(4, 8))
@click.option("--card", "cards", multiple=True, metavar="PRINTED", help="One more card.")
@_card_options
@store_options
@why_option
def change(
    job: Path,
    person: str,
    name: str | None,
    groups: tuple[str, ...],
    valid_from: str | None,
    valid_until: str | None,
    kind: str | None,
    note: str | None,
    pin: str | None,
    digits: int,
    cards: tuple[str, ...],
    layout: str,
    facility: int | None,
    printing: str,
    holder: str | None,
    passphrase_fd: int | None,
    why: str | None,
) -> None:
    """Change a person: by id, name, or a part of the name that nobody else has."""
    from latchwork.codes.register.people import Draft, check_groups, check_name, find_person
    from latchwork.words import say

    with told():
        store = opened(job, holder, passphrase_fd)
        draft = Draft(store.register)
        found = find_person(store.register, person)
        check_groups(store.register, groups)
        changed: dict[str, object] = {}
        if name is not None:
            changed["name"] = check_name(name)
        if groups:
            changed["groups"] = groups
        if valid_from is not None:
            changed["valid_from"] = a_day(valid_from)
        if valid_until is not None:
            changed["valid_until"] = a_day(valid_until)
        if kind is not None:
            changed["kind"] = kind
        if note is not None:
            changed["note"] = note
        draft.change_person(found, **changed)
        if pin == "new":
            draft.give_pin(found.id, digits)
        elif pin == "drop":
            draft.drop_pin(found)
        for printed in cards:
            _give_card(job, draft, found.id, printed, layout, facility, printing)
        if not draft.changes:
            click.echo(say("codes.nothing"))
            return
        save(store, draft.changes, reason(why))
        click.echo(say("codes.changed", {"name": found.name}))
        tell_wanting(job, store.register)


@click.command()
@job_argument
@click.argument("person")
@click.option("--end", is_flag=True, help="Let the person in again.")
@store_options
@why_option
def suspend(
    job: Path,
    person: str,
    end: bool,
    holder: str | None,
    passphrase_fd: int | None,
    why: str | None,
) -> None:
    """Suspend a person; PIN, cards and place stay theirs."""
    from latchwork.codes.register.people import Draft, find_person
    from latchwork.words import say

    with told():
        store = opened(job, holder, passphrase_fd)
        draft = Draft(store.register)
        found = find_person(store.register, person)
        draft.change_person(found, suspended=not end)
        if not draft.changes:
            click.echo(say("codes.nothing"))
            return
        save(store, draft.changes, reason(why))
        click.echo(say("codes.resumed" if end else "codes.suspended", {"name": found.name}))
        tell_wanting(job, store.register)


@click.command()
@job_argument
@click.argument("people", nargs=-1, required=True)
@store_options
@why_option
def remove(
    job: Path,
    people: tuple[str, ...],
    holder: str | None,
    passphrase_fd: int | None,
    why: str | None,
) -> None:
    """Remove leavers, and say every controller that must be keyed for each."""
    from latchwork.codes.register.people import Draft, find_person, to_be_touched
    from latchwork.words import say

    with told():
        store = opened(job, holder, passphrase_fd)
        site = site_of(job)
        draft = Draft(store.register)
        found = [find_person(store.register, text) for text in people]
        touched = {p.id: to_be_touched(store.register, p.id) for p in found}
        for person in found:
            draft.remove_person(person)
        save(store, draft.changes, reason(why))
        for person in found:
            click.echo(say("codes.removed", {"name": person.name}))
            _touches(site, touched[person.id])


@click.command()
@job_argument
@click.argument("card")
@click.option("--new", metavar="PRINTED", help="The card that replaces it.")
@_card_options
@click.option("--returned", is_flag=True, help="It was handed in, not lost.")
@store_options
@why_option
def lost(
    job: Path,
    card: str,
    new: str | None,
    layout: str,
    facility: int | None,
    printing: str,
    returned: bool,
    holder: str | None,
    passphrase_fd: int | None,
    why: str | None,
) -> None:
    """A lost card: CARD as printed, its id, or whose it was. Its number is never given again.

    With --returned of a card that was lost before: it came back.
    """
    from latchwork.codes.errors import CodesError
    from latchwork.codes.register.people import Draft, find_person, to_be_touched
    from latchwork.words import say

    with told():
        store = opened(job, holder, passphrase_fd)
        register = store.register
        found = [c for c in register.cards.values() if card in (c.id, c.printed, str(c.number))]
        gone = [c for c in register.lost_cards.values() if card in (c.id, c.printed, str(c.number))]
        if gone and not found:
            _came_back(store, gone, returned and new is None, why)
            return
        if not found:
            person = find_person(register, card)
            found = [c for c in register.cards.values() if c.person == person.id]
        if len(found) != 1:
            shown = ", ".join(f"{c.printed} ({c.id})" for c in found) or say("codes.no-card")
            raise CodesError(say("codes.which-card", {"card": card, "cards": shown}))
        owner = found[0].person
        touched = to_be_touched(register, owner)
        draft = Draft(register)
        draft.drop_card(found[0], not returned)
        if new is not None:
            _give_card(job, draft, owner, new, layout, facility, printing)
        name = register.people[owner].name
        save(store, draft.changes, reason(why, say("codes.why-lost", {"name": name})))
        click.echo(say("codes.lost", {"name": name, "printed": found[0].printed}))
        _touches(site_of(job), touched)


def _came_back(store: Store, cards: list[Card], returned: bool, why: str | None) -> None:
    """A card that was lost is there again. Raises CodesError where that is not what is said."""
    from latchwork.codes.errors import CodesError
    from latchwork.codes.register.changes import CardDropped
    from latchwork.codes.register.register import name_of
    from latchwork.words import say

    stray = [c for c in cards if c.id not in store.register.came_back]
    facts = {"printed": cards[-1].printed, "name": name_of(store.register, cards[-1].person)}
    if not returned or not stray:
        raise CodesError(say("codes.came-back-before" if not stray else "codes.lost-before", facts))
    save(store, [CardDropped(c.id) for c in stray], reason(why, say("codes.why-came-back", facts)))
    click.echo(say("codes.came-back", facts))


def _touches(site: SiteView, touched: tuple[Touch, ...]) -> None:
    from latchwork.words import say

    if not touched:
        click.echo("  " + say("codes.no-touch"))
    for touch in touched:
        controller = site.controllers.get(touch.controller)
        name = controller.name if controller else touch.controller
        facts = {"controller": touch.controller, "name": name, "place": str(touch.place)}
        key = "codes.touch-unknown" if touch.holds == "unknown" else "codes.touch"
        if controller is None:
            key = "codes.touch-gone"
        click.echo("  " + say(key, {**facts, "holds": touch.holds}))
