"""Verbs about people: adding, changing, suspending, removing."""

from __future__ import annotations

from pathlib import Path

import click

from latchwork.cli.codes.common import (
    a_day,
    card_options,
    give_card,
    job_argument,
    opened,
    reason,
    save,
    site_of,
    store_options,
    tell_each,
    tell_touches,
    told,
    wanted_sheets,
    why_option,
)


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
@card_options
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
    from latchwork.codes.register.people import Draft, called_alike, check_groups
    from latchwork.words import say

    with told():
        store = opened(job, holder, passphrase_fd)
        draft = Draft(store.register)
        check_groups(store.register, groups)
        alike = called_alike(store.register, name)
        person = draft.add_person(name, groups, a_day(valid_from), a_day(valid_until), kind, note)
        if pin:
            draft.give_pin(person.id, digits)
        for printed in cards:
            give_card(job, draft, person.id, printed, layout, facility, printing)
        wanted = wanted_sheets(job, store.register, draft.changes)
        save(store, draft.changes, reason(why, say("codes.why-add", {"name": person.name})))
        click.echo(say("codes.added", {"name": person.name, "id": person.id}))
        if alike:
            click.echo(say("codes.alike", {"name": person.name, "ids": ", ".join(alike)}))
        if pin:
            click.echo(say("codes.pin-given"))
        tell_each(wanted)


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
@card_options
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
            give_card(job, draft, found.id, printed, layout, facility, printing)
        if not draft.changes:
            click.echo(say("codes.nothing"))
            return
        wanted = wanted_sheets(job, store.register, draft.changes)
        save(store, draft.changes, reason(why))
        click.echo(say("codes.changed", {"name": found.name}))
        tell_each(wanted)


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
        wanted = wanted_sheets(job, store.register, draft.changes)
        save(store, draft.changes, reason(why))
        click.echo(say("codes.resumed" if end else "codes.suspended", {"name": found.name}))
        tell_each(wanted)


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
    from latchwork.codes.access.touch import to_be_touched
    from latchwork.codes.keypad.job_sheet import grammars_of
    from latchwork.codes.register.people import Draft, find_person
    from latchwork.codes.site import folder_of
    from latchwork.words import say

    with told():
        store = opened(job, holder, passphrase_fd)
        site = site_of(job)
        draft = Draft(store.register)
        meant = [find_person(store.register, text) for text in people]
        found = [p for i, p in enumerate(meant) if p not in meant[:i]]
        grammars = grammars_of(store.register, site, folder_of(job))
        touched = {p.id: to_be_touched(store.register, grammars, p.id) for p in found}
        for person in found:
            draft.remove_person(person)
        save(store, draft.changes, reason(why))
        for person in found:
            click.echo(say("codes.removed", {"name": person.name}))
            tell_touches(site, touched[person.id])
