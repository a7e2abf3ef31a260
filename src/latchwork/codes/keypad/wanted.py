"""What a controller should hold, from the register; and what it cannot be told."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from latchwork.codes.access.rights import doors_of, valid_on
from latchwork.codes.content import Content, Span, User
from latchwork.codes.keypad.fieldspec import to_keys
from latchwork.codes.keypad.grammar import Grammar
from latchwork.codes.keypad.memory import factory_content, memory_of
from latchwork.codes.register.changes import ALWAYS, Person, PlaceTaken
from latchwork.codes.register.places import cards_by_person
from latchwork.codes.register.register import Register
from latchwork.codes.site import ControllerOnSite, SiteView


@dataclass(frozen=True, slots=True)
class Note:
    """Something meant that this controller cannot be told. ``code``: hours, until, kind, relay,
    cards, pin, setting, starts. ``who``: the people, or the setting. ``detail`` as it needs."""

    code: str
    who: tuple[str, ...]
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Wanted:
    """The content meant, and the notes on what it leaves out."""

    content: Content
    notes: tuple[Note, ...]


class _Notes:
    def __init__(self) -> None:
        self._found: dict[tuple[str, str], list[str]] = {}

    def add(self, code: str, who: str, detail: str = "") -> None:
        names = self._found.setdefault((code, detail), [])
        if who not in names:
            names.append(who)

    def all(self) -> tuple[Note, ...]:
        return tuple(Note(code, tuple(who), d) for (code, d), who in self._found.items())


def wanted_content(
    register: Register,
    site: SiteView,
    controller: ControllerOnSite,
    grammar: Grammar,
    day: dt.date,
) -> Wanted:
    """What the register means this controller to hold on a day of the site's."""
    notes = _Notes()
    plan = _Times(register, grammar)
    cards = cards_by_person(register)
    users: dict[int, User] = {}
    for place in register.places.get(controller.id, {}).values():
        person = register.people.get(place.person)
        if person is None or not valid_on(person, day):
            continue
        user = _user(register, site, controller, grammar, plan, place, person, cards, notes)
        if not user.empty:
            users[place.place] = user
    if grammar.can("add holiday"):
        holidays = tuple(sorted(d.isoformat() for d in register.holidays if d >= day))
    else:
        holidays = ()
    content = Content(
        users=users,
        settings=_settings(register, controller, grammar, notes),
        codes=_codes(register, controller, grammar),
        times=plan.content(),
        holidays=holidays,
    )
    for person in register.people.values():
        starts = person.valid_from
        if starts is None or starts <= day or person.suspended:
            continue
        if controller.doors.keys() & doors_of(register, site, person).keys():
            notes.add("starts", person.name, starts.isoformat())
    return Wanted(memory_of(content).content(), notes.all())


class _Times:
    """Numbers for the weekly times that a controller is to hold, one for each set of names."""

    def __init__(self, register: Register, grammar: Grammar) -> None:
        self.register = register
        self.keeps = grammar.can("set times") and grammar.can("add times")
        self._numbers: dict[frozenset[str], int] = {}
        for names in sorted({g.times for group in register.groups.values() for g in group.grants}):
            if names != ALWAYS:
                self.number(frozenset({names}))
        self._used: set[int] = set()

    def number(self, names: frozenset[str]) -> int:
        if ALWAYS in names or not names:
            return 0
        return self._numbers.setdefault(names, len(self._numbers) + 1)

    def use(self, names: frozenset[str]) -> int:
        number = self.number(names)
        self._used.add(number)
        return number

    def content(self) -> dict[int, tuple[Span, ...]]:
        return {
            number: tuple(
                sorted({s for n in names if n in self.register.times for s in self._spans(n)})
            )
            for names, number in self._numbers.items()
            if number in self._used and number
        }

    def _spans(self, name: str) -> Sequence[Span]:
        return self.register.times[name].spans


def _user(
    register: Register,
    site: SiteView,
    controller: ControllerOnSite,
    grammar: Grammar,
    plan: _Times,
    place: PlaceTaken,
    person: Person,
    cards: dict[str, list[str]],
    notes: _Notes,
) -> User:
    doors = {d: t for d, t in doors_of(register, site, person).items() if d in controller.doors}
    names = frozenset(n for times in doors.values() for n in times)
    times = 0
    if ALWAYS not in names and names:
        if plan.keeps:
            times = plan.use(names)
        else:
            notes.add("hours", person.name)
    return User(
        pin=_pin(register, grammar, place, person, notes),
        cards=_cards(register, grammar, place, cards.get(person.id, []), person, notes),
        relay=_relay(controller, grammar, doors, person, notes),
        times=times,
        until=_until(grammar, person, notes),
        kind=_kind(grammar, person, notes),
    )


def _pin(
    register: Register, grammar: Grammar, place: PlaceTaken, person: Person, notes: _Notes
) -> str:
    secret = register.pins.get(person.id)
    if secret is None or place.holds not in ("all", "pin"):
        return ""
    spec = grammar.fields.get("pin")
    if spec is None or not grammar.can("add PIN"):
        notes.add("pin", person.name, "takes no PINs")
        return ""
    length = int(_setting(register, place.controller, grammar, "PIN length") or 0)
    pin = secret.reveal()
    if not spec.least <= len(pin) <= spec.most or (length and length != len(pin)):
        notes.add("pin", person.name, f"a PIN of {len(pin)} digits does not fit")
        return ""
    return pin


def _cards(
    register: Register,
    grammar: Grammar,
    place: PlaceTaken,
    cards: list[str],
    person: Person,
    notes: _Notes,
) -> tuple[str, ...]:
    if not cards or not grammar.can("add card"):
        if cards and place.holds == "all":
            notes.add("cards", person.name, "takes no cards")
        return ()
    held = cards if place.holds == "all" else [c for c in cards if c == place.holds]
    room = grammar.manners.most_cards if place.holds == "all" else 1
    if len(held) > room:
        notes.add("cards", person.name, f"has room for {room} a person")
    return tuple(card_number(register.cards[c].value, grammar) for c in held[-room:])


def card_number(value: int, grammar: Grammar) -> str:
    """A card's number as this controller counts it: its low bits, decimal."""
    return str(value & ((1 << grammar.manners.card_bits) - 1))


def _relay(
    controller: ControllerOnSite,
    grammar: Grammar,
    doors: dict[str, frozenset[str]],
    person: Person,
    notes: _Notes,
) -> str:
    ways = {controller.doors[d] or "1" for d in doors}
    every = {way or "1" for way in controller.doors.values()}
    relay = "both" if ways == {"1", "2"} else next(iter(ways), "1")
    if grammar.can("set relay"):
        return relay
    if ways != every:
        notes.add("relay", person.name)
    return "1"


def _until(grammar: Grammar, person: Person, notes: _Notes) -> str:
    if person.valid_until is None:
        return ""
    if grammar.can("set until"):
        return person.valid_until.isoformat()
    notes.add("until", person.name, person.valid_until.isoformat())
    return ""


def _kind(grammar: Grammar, person: Person, notes: _Notes) -> str:
    if person.kind == "normal":
        return "normal"
    spec = grammar.fields.get("kind")
    if grammar.can("set kind") and spec is not None and to_keys(spec, person.kind):
        return person.kind
    notes.add("kind", person.name, person.kind)
    return "normal"


def _setting(register: Register, controller: str, grammar: Grammar, name: str) -> str:
    if name not in grammar.settings:
        return ""
    setup = register.controllers.get(controller)
    chosen = setup.settings.get(name) if setup else None
    if chosen is None and setup and name == "PIN length":
        chosen = str(setup.pin_length)
    return chosen or grammar.settings[name].factory


def _settings(
    register: Register, controller: ControllerOnSite, grammar: Grammar, notes: _Notes
) -> dict[str, str]:
    setup = register.controllers.get(controller.id)
    for name in setup.settings if setup else ():
        if name not in grammar.settings or not grammar.can(f"set {name}"):
            notes.add("setting", name)
    return {
        name: _setting(register, controller.id, grammar, name)
        if grammar.can(f"set {name}")
        else spec.factory
        for name, spec in grammar.settings.items()
    }


def _codes(register: Register, controller: ControllerOnSite, grammar: Grammar) -> dict[str, str]:
    codes = dict(factory_content(grammar).codes)
    for kind in codes:
        secret = register.codes.get((controller.id, kind))
        if secret is not None and grammar.can(f"change {kind}"):
            codes[kind] = secret.reveal()
    return codes
