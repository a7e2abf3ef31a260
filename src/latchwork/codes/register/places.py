"""Places (user slots): who gets which in a controller, and which become free."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping

from latchwork.codes.access.rights import doors_of, in_dates
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
    mis-keyed deletion leaves no stranger under a new name. Whoever comes when a controller is full
    gets none: leavers and lost cards are to be keyed out of it all the same.
    """
    changes: list[Change] = []
    people = entitled(register, site, day)
    cards = cards_by_person(register)
    for controller, grammar in grammars.items():
        wanted = _wanted(register, grammar, people.get(controller, ()), cards)
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
        free = _free_places(register, controller, places_of(site, controller, grammar), taken)
        for person, what in wanted:
            if (person, what) in held or wanted[person, what].suspended:
                continue
            number = next(free, -1)
            if number < 0:
                break
            changes.append(PlaceTaken(controller, number, person, what))
    return changes


def without_place(
    register: Register, site: SiteView, controller: str, grammar: Grammar, day: dt.date
) -> tuple[Person, ...]:
    """Who belongs in a controller and has no place there for something of theirs: once places are
    settled, those for whom it is full."""
    people = entitled(register, site, day)[controller]
    places = register.places.get(controller, {}).values()
    held = {(place.person, place.holds) for place in places}
    wanted = _wanted(register, grammar, people, cards_by_person(register))
    found = {p.id: p for key, p in wanted.items() if key not in held and not p.suspended}
    return tuple(found.values())


def _wanted(
    register: Register, grammar: Grammar, people: Iterable[Person], cards: Mapping[str, list[str]]
) -> dict[tuple[str, str], Person]:
    """By person and what is to stand in it: the places that people need in a controller."""
    return {
        (person.id, what): person
        for person in people
        for what in credentials(register, grammar, person.id, cards.get(person.id, []))
    }


def places_of(site: SiteView, controller: str, grammar: Grammar) -> range:
    """A controller's places: the grammar's, or as many as the job file says the controller has."""
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
