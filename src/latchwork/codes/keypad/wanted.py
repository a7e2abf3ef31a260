"""What a controller should hold, from the register; and what it cannot be told."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from latchwork.codes.access.rights import doors_of, valid_on
from latchwork.codes.content import Content, User
from latchwork.codes.keypad.alike import PROGRAMMING, each_once
from latchwork.codes.keypad.fieldspec import kept_day, to_keys
from latchwork.codes.keypad.grammar import Grammar
from latchwork.codes.keypad.hours import EVER, HourNumbers, joined_hours, keeps_hours
from latchwork.codes.keypad.memory import factory_content, memory_of
from latchwork.codes.keypad.setup import missing, takes_pin
from latchwork.codes.register.changes import Person, PlaceTaken
from latchwork.codes.register.places import cards_by_person
from latchwork.codes.register.register import Register
from latchwork.codes.site import ControllerOnSite, SiteView


@dataclass(frozen=True, slots=True)
class Note:
    """Something meant that this controller cannot be told, or to be warned of.

    ``code``: full, hours, door hours, holiday hours, hours full, until, kind, relay, cards, pin,
    same pin, same card, programming card, no card, no PIN, setting, toggle, reader format, clock,
    starts, over, other grammar, unconfirmed, left behind, left out, odds. ``who``: the people, the
    setting, or the doors. ``detail`` as it needs.
    """

    code: str
    who: tuple[str, ...]
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Wanted:
    """The content meant, and the notes on what it leaves out."""

    content: Content
    notes: tuple[Note, ...]


def wanted_content(
    register: Register,
    site: SiteView,
    controller: ControllerOnSite,
    grammar: Grammar,
    day: dt.date,
) -> Wanted:
    """What the register means this controller to hold on a day of the site's.

    A setting is the store's, else the job file's, else as it left the factory.
    """
    return _Meaning(register, site, controller, grammar).wanted(day)


def is_over(kept: str, day: dt.date) -> bool:
    """Whether a day that a controller keeps is past for good: one without a year comes again."""
    return len(kept) == len("YYYY-MM-DD") and kept < day.isoformat()


def card_number(value: int, grammar: Grammar) -> str:
    """A card's number as this controller counts it: its low bits, decimal."""
    return str(value & ((1 << grammar.manners.card_bits) - 1))


def confirmed_by(register: Register, controller: str, grammar: Grammar) -> bool:
    """Whether what was confirmed of a controller was keyed in by this grammar, as far as known."""
    return register.keyed_by.get(controller, "") in ("", grammar.name)


class _Notes:
    def __init__(self) -> None:
        self._found: dict[tuple[str, str], dict[str, None]] = {}

    def add(self, code: str, who: str, detail: str = "") -> None:
        self._found.setdefault((code, detail), {})[who] = None

    def all(self) -> tuple[Note, ...]:
        return tuple(Note(code, tuple(who), d) for (code, d), who in self._found.items())


class _Meaning:
    """The register read for one controller."""

    def __init__(
        self, register: Register, site: SiteView, controller: ControllerOnSite, grammar: Grammar
    ) -> None:
        self.register = register
        self.site = site
        self.controller = controller
        self.grammar = grammar
        self.notes = _Notes()
        held = register.programmed.get(controller.id, Content())
        self.times = HourNumbers(register, held, grammar)
        self.cards = cards_by_person(register)
        self.setup = register.controllers.get(controller.id)
        self.settings = self.meant_settings()

    def wanted(self, day: dt.date) -> Wanted:
        users: dict[int, User] = {}
        for place in self.register.places.get(self.controller.id, {}).values():
            person = self.register.people.get(place.person)
            if person is not None and valid_on(person, day):
                users[place.place] = self.user(place, person)
        users = self.told_apart(users)
        self.note_lacking(users)
        self.note_later(day)
        users = {p: u for p, u in users.items() if not u.empty}
        told, times = self.times.settled(users)
        for left_out in sorted(users.keys() - told.keys()):
            self.notes.add("hours full", self.name_at(left_out))
        content = Content(
            users=told,
            settings=self.settings,
            codes=self.codes(),
            times=times,
            holidays=self.holidays(day),
        )
        return Wanted(memory_of(content).content(), self.notes.all())

    def holidays(self, day: dt.date) -> tuple[str, ...]:
        """The holidays to come, and past ones that the controller has: these let nobody in, and go
        only where the holidays are cleared for another's sake."""
        if not self.grammar.can("add holiday"):
            return ()
        spec = self.grammar.fields["date"]
        coming = {kept_day(spec, d) for d in self.register.holidays if d >= day} - {""}
        held = {*self.register.programmed.get(self.controller.id, Content()).holidays}
        # One without a year comes again, and would keep people out on an ordinary day.
        past = {d for d in held if is_over(d, day)}
        return tuple(sorted(coming if held - coming - past else coming | past))

    def told_apart(self, users: dict[int, User]) -> dict[int, User]:
        """The users without codes that another has: none is taken twice, and whoever leaves must
        not wait for that."""
        held = self.register.programmed.get(self.controller.id, Content()).users
        kept, twins = each_once(users, held, self.codes().get("master card", ""))
        for twin in twins:
            whose = "" if twin.other == PROGRAMMING else self.name_at(twin.other)
            code = f"same {twin.kind}" if whose else "programming card"
            self.notes.add(code, self.name_at(twin.place), whose)
        return kept

    def note_lacking(self, users: dict[int, User]) -> None:
        """People with a card or a PIN here, where the door opens by the other or by both."""
        held: dict[str, set[str]] = {}
        for place, user in users.items():
            parts = {"card"} if user.cards else set()
            held.setdefault(self.person_at(place), set()).update(parts, {"PIN"} if user.pin else ())
        mode = self.settings.get("access mode") or "card"
        for person, parts in held.items():
            lacks = missing(self.grammar, self.settings, "card" in parts, "PIN" in parts)
            if parts and lacks:
                self.notes.add(f"no {lacks}", self.register.people[person].name, mode)

    def person_at(self, place: int) -> str:
        return self.register.places[self.controller.id][place].person

    def name_at(self, place: int) -> str:
        return self.register.people[self.person_at(place)].name

    def note_later(self, day: dt.date) -> None:
        """People who begin after this day belong on a sheet of their own day."""
        for person in self.register.people.values():
            starts = person.valid_from
            if starts is None or starts <= day or person.suspended:
                continue
            if self.controller.doors.keys() & doors_of(self.register, self.site, person).keys():
                self.notes.add("starts", person.name, starts.isoformat())

    def user(self, place: PlaceTaken, person: Person) -> User:
        here = doors_of(self.register, self.site, person)
        doors = {d: times for d, times in here.items() if d in self.controller.doors}
        return User(
            pin=self.pin(place, person),
            cards=self.held_cards(place, person),
            relay=self.relay(doors, person),
            times=self.hours(doors, person),
            until=self.until(person),
            kind=self.kind(person),
        )

    def hours(self, doors: dict[str, frozenset[str]], person: Person) -> int:
        names = {name for times in doors.values() for name in times}
        joined = joined_hours(self.register, names)
        if joined is not EVER and not keeps_hours(self.grammar):
            self.notes.add("hours", person.name)
            return 0
        for door, own in doors.items():
            if joined_hours(self.register, own) != joined:
                self.notes.add("door hours", person.name, self.site.called(door))
        if joined is EVER:
            return 0
        for name in sorted(names):
            if name in self.register.times and self.register.times[name].on_holidays:
                self.notes.add("holiday hours", name)
        return self.times.number(names)

    def pin(self, place: PlaceTaken, person: Person) -> str:
        secret = self.register.pins.get(person.id)
        if secret is None or place.holds not in ("all", "pin"):
            return ""
        if not self.grammar.can("add PIN"):
            self.notes.add("pin", person.name, "takes no PINs")
            return ""
        pin = secret.reveal()
        if not takes_pin(self.grammar, self.settings, pin):
            self.notes.add("pin", person.name, f"a PIN of {len(pin)} digits does not fit")
            return ""
        return pin

    def held_cards(self, place: PlaceTaken, person: Person) -> tuple[str, ...]:
        cards = self.cards.get(person.id, [])
        if not self.grammar.can("add card"):
            if cards:
                self.notes.add("cards", person.name, "takes no cards")
            return ()
        held, room = [c for c in cards if c == place.holds], 1
        if place.holds == "all":
            held, room = cards, self.grammar.manners.most_cards
        if len(held) > room:
            self.notes.add("cards", person.name, f"has room for {room} a person")
        kept = held[max(0, len(held) - room) :]
        return tuple(card_number(self.register.cards[c].value, self.grammar) for c in kept)

    def relay(self, doors: dict[str, frozenset[str]], person: Person) -> str:
        ways = {self.controller.doors[d] or "1" for d in doors}
        if not self.grammar.can("set relay"):
            if ways != {way or "1" for way in self.controller.doors.values()}:
                self.notes.add("relay", person.name)
            return "1"
        return "both" if len(ways) > 1 else next(iter(ways), "1")

    def until(self, person: Person) -> str:
        if person.valid_until is None:
            return ""
        until = person.valid_until.isoformat()
        spec = self.grammar.fields.get("date")
        # A last day without a year would be none: years of two figures end with the century.
        if spec and self.grammar.can("set until") and kept_day(spec, person.valid_until) == until:
            return until
        self.notes.add("until", person.name, until)
        return ""

    def kind(self, person: Person) -> str:
        if person.kind == "normal":
            return "normal"
        if self.grammar.can("set kind") and to_keys(self.grammar.fields["kind"], person.kind):
            return person.kind
        self.notes.add("kind", person.name, person.kind)
        return "normal"

    def setting(self, name: str) -> str:
        if name not in self.grammar.settings:
            return ""
        chosen = self.setup.settings.get(name) if self.setup else None
        if chosen is None and self.setup and name == "PIN length":
            chosen = str(self.setup.pin_length)
        return chosen or self.controller.settings.get(name) or self.grammar.settings[name].factory

    def meant_settings(self) -> dict[str, str]:
        asked = {*(self.setup.settings if self.setup else ()), *self.controller.settings}
        for name in sorted(asked):
            if not self.grammar.can(f"set {name}"):
                self.notes.add("setting", name)
        for door, way in self.controller.doors.items():
            if self.setting(f"relay {way or '1'} mode") == "toggle":
                self.notes.add("toggle", self.site.called(door))
        return {
            name: self.setting(name) if self.grammar.can(f"set {name}") else spec.factory
            for name, spec in self.grammar.settings.items()
        }

    def codes(self) -> dict[str, str]:
        codes = dict(factory_content(self.grammar).codes)
        for kind in codes:
            secret = self.register.codes.get((self.controller.id, kind))
            if secret is not None and self.grammar.can(f"change {kind}"):
                codes[kind] = secret.reveal()
        return codes
