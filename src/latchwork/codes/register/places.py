"""Places (user slots): who gets which in a controller, and which become free."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping

from latchwork.codes.access.rights import doors_of, in_dates
from latchwork.codes.errors import CodesError
from latchwork.codes.keypad.grammar import Grammar
from latchwork.codes.register.changes import Change, Person, PlaceFreed, PlaceTaken
from latchwork.codes.register.register import Register
from latchwork.codes.site import SiteView


def credentials(register: Register, grammar: Grammar, person: str, cards: list[str]) -> list[str]:
    """What of a person needs a place: "all" together, or each thing alone (pin, a card's id)."""
    has_pin = person in register.pins and grammar.can("add PIN")
    usable = cards if grammar.can("add card") else []
    if grammar.manners.place_holds == "everything":
        return ["all"] if has_pin or usable else []
    return [*(["pin"] if has_pin else []), *usable]


def cards_by_person(register: Register) -> dict[str, list[str]]:
    """Each person's card ids, in the order in which they were given."""
    found: dict[str, list[str]] = {}
    for card in register.cards.values():
        found.setdefault(card.person, []).append(card.id)
    return found


def entitled(register: Register, site: SiteView, day: dt.date) -> dict[str, list[Person]]:
    """By controller: the people who belong in it on a day, suspended ones among them."""
    controllers = {
        door: [c.id for c in site.controllers.values() if door in c.doors] for door in site.doors
    }
    found: dict[str, list[Person]] = {c: [] for c in site.controllers}
    by_groups: dict[tuple[str, ...], list[str]] = {}
    for person in register.people.values():
        if not in_dates(person, day):
            continue
        if person.groups not in by_groups:
            doors = doors_of(register, site, person)
            by_groups[person.groups] = sorted({c for d in doors for c in controllers[d]})
        for controller in by_groups[person.groups]:
            found[controller].append(person)
    return found


def settle(
    register: Register, site: SiteView, grammars: Mapping[str, Grammar], day: dt.date
) -> list[Change]:
    """The changes that give everybody their places and free those nobody needs. Somebody suspended
    keeps the place they have and gets no new one.

    A place that somebody else still has in the controller's memory is given last, so that a
    mis-keyed deletion leaves no stranger under a new name. Raises CodesError where a controller is
    full.
    """
    changes: list[Change] = []
    people = entitled(register, site, day)
    cards = cards_by_person(register)
    for controller, grammar in grammars.items():
        wanted = {
            (person.id, what): person
            for person in people.get(controller, ())
            for what in credentials(register, grammar, person.id, cards.get(person.id, []))
        }
        places = register.places.get(controller, {})
        held: set[tuple[str, str]] = set()
        taken: set[int] = set()
        for number, place in places.items():
            key = (place.person, place.holds)
            if key in wanted and key not in held:
                held.add(key)
                taken.add(number)
            else:
                changes.append(PlaceFreed(controller, number))
        every = _places_of(site, controller, grammar)
        free = _free_places(register, controller, every, taken)
        for person, what in wanted:
            if (person, what) in held or wanted[person, what].suspended:
                continue
            number = next(free, -1)
            if number < 0:
                raise CodesError(
                    f"controller {controller} is full: it has places {every[0]} to {every[-1]}, "
                    f"and {len(wanted)} are needed"
                )
            changes.append(PlaceTaken(controller, number, person, what))
    return changes


def _places_of(site: SiteView, controller: str, grammar: Grammar) -> range:
    """The grammar's places, or as many as the job file says the controller has."""
    said = site.controllers[controller].places
    last = grammar.first_place + said - 1 if said else grammar.last_place
    return range(grammar.first_place, min(last, grammar.last_place) + 1)


def _free_places(
    register: Register, controller: str, every: range, taken: set[int]
) -> Iterator[int]:
    programmed = register.programmed.get(controller)
    used = set(programmed.users) if programmed else set()
    yield from (n for n in every if n not in taken and n not in used)
    yield from (n for n in every if n not in taken and n in used)
