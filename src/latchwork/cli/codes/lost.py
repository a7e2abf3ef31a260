"""The verb about a card that is lost, handed in, or there again."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from latchwork.cli.codes.common import (
    card_options,
    give_card,
    job_argument,
    opened,
    reason,
    save,
    site_of,
    store_options,
    tell_touches,
    told,
    why_option,
)

if TYPE_CHECKING:
    from latchwork.codes.register.changes import Card
    from latchwork.codes.store.sealed import Store


@click.command()
@job_argument
@click.argument("card")
@click.option("--new", metavar="PRINTED", help="The card that replaces it.")
@card_options
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
    from latchwork.codes.access.touch import to_be_touched
    from latchwork.codes.errors import CodesError
    from latchwork.codes.keypad.job_sheet import grammars_of
    from latchwork.codes.register.people import Draft, find_person
    from latchwork.codes.site import folder_of
    from latchwork.words import say

    with told():
        store = opened(job, holder, passphrase_fd)
        site = site_of(job)
        register = store.register
        found = [c for c in register.cards.values() if card in (c.id, c.printed, str(c.number))]
        gone = [c for c in register.lost_cards.values() if card in (c.id, c.printed, str(c.number))]
        if gone and not found:
            _came_back(store, gone, returned and new is None, why)
            return
        if not found:
            person = find_person(register, card)
            found = [c for c in register.cards.values() if c.person == person.id]
            if not found:
                told_of = {"name": person.name, "id": person.id}
                raise CodesError(say("codes.no-card", told_of))
        if len(found) != 1:
            shown = ", ".join(f"{c.printed} ({c.id})" for c in found)
            raise CodesError(say("codes.which-card", {"card": card, "cards": shown}))
        owner = found[0].person
        touched = to_be_touched(register, grammars_of(register, site, folder_of(job)), owner)
        draft = Draft(register)
        draft.drop_card(found[0], not returned)
        if new is not None:
            give_card(job, draft, owner, new, layout, facility, printing)
        name = register.people[owner].name
        save(store, draft.changes, reason(why, say("codes.why-lost", {"name": name})))
        click.echo(say("codes.lost", {"name": name, "printed": found[0].printed}))
        tell_touches(site, touched)


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
