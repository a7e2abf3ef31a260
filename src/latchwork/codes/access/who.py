"""Who could open a door at a moment: those who may, and those whom a controller would let in
though they may not."""

from __future__ import annotations

import datetime as dt
from collections.abc import Container, Iterable, Iterator, Mapping
from dataclasses import dataclass

from latchwork.codes.access.rights import doors_of, may_open
from latchwork.codes.access.times import holds_at
from latchwork.codes.cards.describe import layouts_for, wire_bits
from latchwork.codes.content import Content, Span, User
from latchwork.codes.keypad.grammar import Grammar
from latchwork.codes.keypad.hours import EVER, joined_hours, keeps_hours
from latchwork.codes.keypad.setup import missing, takes_pin
from latchwork.codes.keypad.simulator import reads
from latchwork.codes.keypad.unit import unit_before
from latchwork.codes.keypad.wanted import Wanted, card_number, confirmed_by, wanted_content
from latchwork.codes.register.changes import Card, Person
from latchwork.codes.register.places import settle, without_place
from latchwork.codes.register.register import Register, name_of
from latchwork.codes.secret import Secret
from latchwork.codes.site import ControllerOnSite, SiteView


@dataclass(frozen=True, slots=True)
class Could:
    """One person at one door. ``may``: by the register. ``can``: by what is in a controller.

    ``why`` where the two differ: "not keyed in", "no card", "no PIN" or "no card or PIN" for what
    the controller asks for and they lack, "card not read", "holiday hours not kept", "full" or
    "hours full" where it has no place or no number for hours left for them, "still keyed in",
    "hours not kept", "last day not kept", "holidays not kept", "doors not told apart", "hours of
    another door", "first day to come", "change not keyed in" where the controller still goes by
    earlier hours or days, "as another" where their PIN or card counts as somebody else's, "lost
    card", "old PIN" and "lost card and old PIN" where it is not they but whoever has a card they
    lost, knows a PIN they gave up, or both, "controller unknown" where nothing was ever
    confirmed of it, or "another unit" where it is not the one that was keyed.
    ``place`` is 0 where there is none.
    """

    person: str
    name: str
    may: bool
    can: bool
    why: str
    controller: str
    place: int


_Bearer = tuple[str, str]
"""A person and ""; or, with "lost card", "old PIN" or both, whoever has that of this person."""

_BOTH = "lost card and old PIN"


def who_could(
    register: Register,
    site: SiteView,
    grammars: Mapping[str, Grammar],
    door: str,
    instant: dt.datetime,
    *,
    units: bool = True,
) -> list[Could]:
    """Everybody who may or can open the door, by name, and why where the two differ.

    Only what was confirmed as keyed in is known of a controller. Mechanical keys, and who knows
    the installer code, are beyond this. ``units``: whether the units that the job has now hang
    there at that instant; of the past nobody knows.
    """
    may = {p.id for p in register.people.values() if may_open(register, site, p, door, instant)}
    found: list[Could] = []
    for controller in site.controllers.values():
        if door not in controller.doors:
            continue
        content = register.programmed.get(controller.id)
        grammar = grammars.get(controller.id)
        if units and unit_before(register, controller):
            found += [_unknown(register, p, controller.id, "another unit") for p in may]
            continue
        if content is None or grammar is None or not confirmed_by(register, controller.id, grammar):
            found += [_unknown(register, p, controller.id, "controller unknown") for p in may]
            continue
        at = _Door(register, site, controller, grammar, content, door, instant)
        opening = at.openings()
        for (person, stray), place in opening.items():
            allowed = person in may and not stray
            why = "" if allowed else stray or at.why_still(person, place)
            name = name_of(register, person)
            found.append(Could(person, name, allowed, True, why, controller.id, place))
        for person in may:
            if (person, "") not in opening:
                name, why = name_of(register, person), at.why_not(person)
                place = at.place_of(person)
                found.append(Could(person, name, True, False, why, controller.id, place))
    return sorted(found, key=lambda c: (not c.may, c.name.casefold(), c.person, c.place))


def _unknown(register: Register, person: str, controller: str, why: str) -> Could:
    return Could(person, name_of(register, person), True, False, why, controller, 0)


class _Door:
    """One door at one instant, by what its controller holds and what people have."""

    def __init__(
        self,
        register: Register,
        site: SiteView,
        controller: ControllerOnSite,
        grammar: Grammar,
        content: Content,
        door: str,
        instant: dt.datetime,
    ) -> None:
        self.register = register
        self.site = site
        self.controller = controller
        self.grammar = grammar
        self.content = content
        self.door = door
        self.wall = instant.astimezone(site.zone)
        self.settled: Register | None = None
        self.left: set[str] = set()
        self.wanted = Wanted(Content(), ())
        self.layouts = layouts_for(site.folder)
        self.pins = {pin: set(people) for pin, people in register.former_pins.items()}
        for person, pin in register.pins.items():
            self.pins.setdefault(pin, set()).add(person)
        self.cards = self.by_number([*register.cards.values(), *register.left_cards.values()])
        lost = register.lost_cards.items()
        self.lost_cards = self.by_number(c for k, c in lost if k not in register.came_back)

    def by_number(self, cards: Iterable[Card]) -> dict[str, set[str]]:
        """Whose cards the controller counts by each number; those that it reads."""
        found: dict[str, set[str]] = {}
        for card in filter(self.read, cards):
            found.setdefault(card_number(card.value, self.grammar), set()).add(card.person)
        return found

    def read(self, card: Card) -> bool:
        """Whether the reader format that is set lets a card through."""
        return reads(self.content.settings, wire_bits(self.layouts, card.layout))

    def openings(self) -> dict[_Bearer, int]:
        """Who holds what the controller asks for, and the last place that lets them in."""
        # Where a place holds one thing, a person's card and PIN stand in two.
        apart = self.grammar.manners.place_holds == "one thing"
        holdings: dict[tuple[_Bearer, int], set[str]] = {}
        last: dict[tuple[_Bearer, int], int] = {}
        for place, user in self.content.users.items():
            if self.takes(user):
                for bearer, thing in self.bearers(place, user):
                    key = (bearer, 0 if apart else place)
                    holdings.setdefault(key, set()).add(thing)
                    last[key] = place
        settings = self.content.settings
        opening = {
            key[0]: last[key]
            for key, things in holdings.items()
            if "finger" in things
            or not missing(self.grammar, settings, "card" in things, "PIN" in things)
        }
        return {
            (person, stray): place
            for (person, stray), place in opening.items()
            if stray != _BOTH or not {(person, "lost card"), (person, "old PIN")} & opening.keys()
        }

    def takes(self, user: User) -> bool:
        """Whether this user counts at this door then."""
        way = self.controller.doors[self.door] or "1"
        # Where relays cannot be set, one is held to free all doors, as the sheet notes it.
        told_apart = len(self.controller.doors) > 1 and self.grammar.can("set relay")
        if told_apart and user.relay not in (way, "both"):
            return False
        if user.until and self.wall.date().isoformat() > user.until:
            return False
        if not user.times:
            return True
        today = self.wall.date().isoformat()
        # A controller that is told no year keeps MM-DD.
        closed = not {today, today[5:]}.isdisjoint(self.content.holidays)
        holidays = {self.wall.date()} if closed else set()
        return self.within(self.content.times.get(user.times, ()), holidays)

    def bearers(self, place: int, user: User) -> Iterator[tuple[_Bearer, str]]:
        """Who knows the PIN of a place and who has its cards, whosever the place is.

        A leaver keeps a card until somebody else is given it; one that was handed in is nobody's. A
        PIN that somebody gave up is known to them and to those for whose sake they did.
        """
        pin = Secret(user.pin)
        for person in self.pins.get(pin, ()) if user.pin else ():
            yield (person, ""), "PIN"
            if person in self.register.people and self.register.pins.get(person) != pin:
                yield (person, "old PIN"), "PIN"
                yield (person, _BOTH), "PIN"
        for number in user.cards:
            for person in self.cards.get(number, ()):
                yield (person, ""), "card"
            for person in self.lost_cards.get(number, ()):
                yield (person, "lost card"), "card"
                yield (person, _BOTH), "card"
        if user.finger:
            owner = self.register.owners.get((self.controller.id, place), "")
            yield (owner, ""), "finger"

    def place_of(self, person: str) -> int:
        """Where a person stands in the controller, 0 where nowhere."""
        owners = self.register.owners
        mine = (p for p in self.content.users if owners.get((self.controller.id, p)) == person)
        return max(mine, default=0)

    def why_not(self, person: str) -> str:
        """Why somebody who may cannot: what they lack, what the controller cannot be told, or that
        it is not keyed in."""
        settings, pin = self.content.settings, self.register.pins.get(person)
        fits = pin is not None and takes_pin(self.grammar, settings, pin.reveal())
        cards = [c for c in self.register.cards.values() if c.person == person]
        cards = cards if self.grammar.can("add card") else []
        lacks = missing(self.grammar, settings, any(map(self.read, cards)), fits)
        if lacks:
            unread = not missing(self.grammar, settings, bool(cards), fits)
            return "card not read" if unread else f"no {lacks}"
        joined = self.joined_hours(self.doors_here(self.register.people[person]))
        told = self.register.holidays if self.grammar.can("add holiday") else ()
        if keeps_hours(self.grammar) and not self.within(joined, told):
            return "holiday hours not kept"
        return self.left_out(person) or "not keyed in"

    def left_out(self, person: str) -> str:
        """Why the next sheet would leave somebody out too: "full" for lack of a place, "hours full"
        for lack of a number for hours; else ""."""
        day, name = self.wall.date(), self.controller.id
        if self.settled is None:
            places = settle(self.register, self.site, {name: self.grammar}, day)
            self.settled = self.register.with_changes(places)
            at = (self.settled, self.site, self.controller, self.grammar, day)
            self.left = {p.id for p in without_place(self.settled, self.site, name, *at[3:])}
            self.wanted = wanted_content(*at)
        if person in self.left:
            return "full"
        full = {who for n in self.wanted.notes if n.code == "hours full" for who in n.who}
        places_here = self.settled.places.get(name, {}).values()
        mine = {taken.place for taken in places_here if taken.person == person}
        known = self.register.people[person].name in full
        return "hours full" if known and mine.isdisjoint(self.wanted.content.users) else ""

    def doors_here(self, person: Person) -> dict[str, frozenset[str]]:
        """The controller's doors that somebody has, with the weekly times there."""
        here = doors_of(self.register, self.site, person)
        return {door: times for door, times in here.items() if door in self.controller.doors}

    def joined_hours(self, doors: Mapping[str, frozenset[str]]) -> tuple[Span, ...] | None:
        """The one set of hours that the controller is to keep for all of these doors."""
        return joined_hours(self.register, {name for names in doors.values() for name in names})

    def within(self, hours: tuple[Span, ...] | None, holidays: Container[dt.date] = ()) -> bool:
        """Whether a controller with these holidays lets somebody with these hours in then."""
        return hours is EVER or holds_at(hours, (), holidays, self.wall)

    def why_still(self, person: str, place: int) -> str:
        """Why somebody can who may not."""
        found = self.register.people.get(person)
        if found is None:
            return "still keyed in"
        if self.register.owners.get((self.controller.id, place)) != person:
            return "as another"
        doors = self.doors_here(found)
        if not found.suspended and doors and self.door not in doors:
            return "still keyed in" if self.grammar.can("set relay") else "doors not told apart"
        if found.suspended or not doors:
            return "still keyed in"
        day = self.wall.date()
        if found.valid_from is not None and day < found.valid_from:
            return "first day to come"
        if found.valid_until is not None and day > found.valid_until:
            return "change not keyed in" if self.grammar.can("set until") else "last day not kept"
        if not keeps_hours(self.grammar):
            return "hours not kept"
        user = self.content.users[place]
        joined, own = self.joined_hours(doors), joined_hours(self.register, doors[self.door])
        held = self.content.times.get(user.times, ()) if user.times else EVER
        if own != joined == held and (held is EVER or not self.within(own)):
            return "hours of another door"
        unknown = day in self.register.holidays and not self.grammar.can("add holiday")
        return "holidays not kept" if unknown and self.within(joined) else "change not keyed in"
