"""What people do to a register, as changes: add, change, suspend, remove, lose a card."""

from __future__ import annotations

import datetime as dt
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import msgspec

from latchwork.codes.errors import CodesError
from latchwork.codes.pins.allocate import PinSpace
from latchwork.codes.register.changes import (
    ALWAYS,
    Card,
    CardDropped,
    Change,
    Group,
    GroupRemoved,
    Person,
    PersonRemoved,
    PinDropped,
    PinGiven,
    TimesRemoved,
    WeeklyTimes,
)
from latchwork.codes.register.register import Register
from latchwork.codes.secret import Secret
from latchwork.job import one_of

LONGEST_NAME = 200


def pin_space(register: Register) -> PinSpace:
    """The site's PINs: what may not be given again, the controllers' own codes included."""
    held = {
        Secret(u.pin)
        for content in register.programmed.values()
        for u in content.users.values()
        if u.pin
    }
    digits = [code for code in register.codes.values() if 4 <= len(code.reveal()) <= 8]
    return PinSpace([*register.pins.values(), *digits], former=register.former_pins.keys() | held)


def find_person(register: Register, text: str) -> Person:
    """The one person meant by an id, a name, or part of a name. Raises CodesError."""
    text = text.strip()
    if text in register.people:
        return register.people[text]
    low = as_compared(text)
    called = [(p, as_compared(p.name)) for p in register.people.values()]
    exact = [p for p, name in called if name == low]
    found = exact or [p for p, name in called if low and low in name]
    if len(found) == 1:
        return found[0]
    if found:
        names = ", ".join(f"{p.name} ({p.id})" for p in found[:8])
        raise CodesError(f"{text[:60]!r} could be {names}; give the id")
    raise CodesError(
        f"nobody is called {text[:60]!r}; expected "
        + one_of(text, [p.name for p in register.people.values()])
    )


def check_groups(register: Register, groups: Iterable[str], more: Iterable[str] = ()) -> None:
    """Raises CodesError for a group that does not exist."""
    known = {*register.groups, *more}
    for name in groups:
        if name not in known:
            raise CodesError(f"no group is called {name[:60]!r}; expected {one_of(name, known)}")


def called_alike(register: Register, name: str) -> list[str]:
    """The ids of those whose name is read as ``name`` is."""
    low = as_compared(name)
    return [p.id for p in register.people.values() if as_compared(p.name) == low]


def as_compared(name: str) -> str:
    """A name as names are held to be the same: however spaced, in whichever case, and an accented
    letter whether it is one sign or two, as lists from different machines have it."""
    return unicodedata.normalize("NFC", " ".join(name.split())).casefold()


def check_name(name: str) -> str:
    """The name with single spaces and accents in one sign. Raises CodesError where it is none."""
    name = unicodedata.normalize("NFC", " ".join(name.split()))
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise CodesError(
            f"not a name: {name[:60]!r}; expected 1 to {LONGEST_NAME} printable characters"
        )
    return name


@dataclass(slots=True)
class Draft:
    """Changes being put together, each seen by the next."""

    register: Register
    changes: list[Change] = field(default_factory=list)
    _space: PinSpace | None = None
    _people: int = 0
    _cards: int = 0
    _card_values: dict[int, str] | None = None
    _lost: set[int] = field(default_factory=set)
    _programming: dict[int, str] = field(default_factory=dict)

    @property
    def space(self) -> PinSpace:
        """The site's PINs, those given in this draft included."""
        if self._space is None:
            self._space = pin_space(self.register)
        return self._space

    def add_person(
        self,
        name: str,
        groups: Sequence[str] = (),
        valid_from: dt.date | None = None,
        valid_until: dt.date | None = None,
        kind: str = "normal",
        note: str = "",
    ) -> Person:
        """A new person with an id of their own."""
        if valid_from and valid_until and valid_until < valid_from:
            raise CodesError(f"{name}: the last day is before the first")
        identity = f"P{self.register.next_person + self._people}"
        self._people += 1
        person = Person(
            identity,
            check_name(name),
            tuple(dict.fromkeys(groups)),
            valid_from,
            valid_until,
            False,
            kind,
            note,
        )
        self.changes.append(person)
        return person

    def change_person(self, person: Person, **changed: object) -> Person:
        """The person with some fields changed; nothing where nothing differs."""
        new = msgspec.structs.replace(person, **changed)
        if new.valid_from and new.valid_until and new.valid_until < new.valid_from:
            raise CodesError(f"{person.name}: the last day is before the first")
        if new != person:
            self.changes.append(new)
        return new

    def give_pin(self, person: str, digits: int, pin: Secret | None = None) -> str:
        """A PIN of the length, drawn or as given; returns how a given one is weak, or "".

        Raises CodesError for a given one that somebody has or had.
        """
        fault = ""
        if pin is None:
            pin = self.space.allocate(digits)
        else:
            found = self.space.fault(pin.reveal())
            if found == "used":
                raise CodesError("that PIN is in use on this site already")
            if found == "given before":
                raise CodesError("that PIN was given on this site before")
            fault = found or ""
            self.space.take(pin)
        self.changes.append(PinGiven(person, pin))
        return fault

    def give_card(
        self,
        person: str,
        layout: str,
        value: int,
        facility: int | None,
        number: int | None,
        printed: str,
    ) -> Card:
        """A card for a person. Raises CodesError where somebody has it, or had it and lost it, and
        for one that opens a controller's programming."""
        if self._card_values is None:
            self._card_values = {c.value: c.id for c in self.register.cards.values()}
            self._lost = {c.value for c in self.register.lost_cards.values()}
            self._programming = {
                int(code.reveal()): controller
                for (controller, kind), code in self.register.codes.items()
                if kind == "master card"
            }
        if value in self._card_values:
            raise CodesError(f"card {printed} is in use already ({self._card_values[value]})")
        if value in self._lost:
            raise CodesError(f"card {printed} was lost once; a number is not used again")
        if value in self._programming:
            raise CodesError(f"card {printed} opens programming at {self._programming[value]}")
        card = Card(
            f"K{self.register.next_card + self._cards}",
            person,
            layout,
            value,
            facility,
            number,
            printed,
        )
        self._cards += 1
        self._card_values[value] = card.id
        self.changes.append(card)
        return card

    def drop_card(self, card: Card, lost: bool) -> None:
        """A card handed in, or lost."""
        self.changes.append(CardDropped(card.id, lost))

    def remove_person(self, person: Person) -> None:
        """A leaver, with PIN, cards and places."""
        self.changes.append(PersonRemoved(person.id))

    def drop_pin(self, person: Person) -> None:
        """Takes a PIN away."""
        if person.id not in self.register.pins:
            raise CodesError(f"{person.name} has no PIN")
        self.changes.append(PinDropped(person.id))

    def put_group(self, group: Group) -> None:
        """A group with its doors and times. Raises CodesError for times nobody wrote, and for a
        name that is none."""
        group = msgspec.structs.replace(group, name=check_name(group.name))
        new_times = {c.name for c in self.changes if isinstance(c, WeeklyTimes)}
        known = {ALWAYS, *self.register.times, *new_times}
        for grant in group.grants:
            if grant.times not in known:
                raise CodesError(
                    f"no weekly times are called {grant.times[:60]!r}; "
                    f"expected {one_of(grant.times, known)}"
                )
        self.changes.append(group)

    def remove_group(self, name: str) -> None:
        """A group nobody is in. Raises CodesError where somebody is."""
        inside = [p.name for p in self.register.people.values() if name in p.groups]
        if inside:
            raise CodesError(f"{len(inside)} people are in {name}, {inside[0]} for one")
        check_groups(self.register, [name])
        self.changes.append(GroupRemoved(name))

    def remove_times(self, name: str) -> None:
        """Weekly times that no group uses. Raises CodesError where one does."""
        if name not in self.register.times:
            raise CodesError(f"no weekly times are called {name[:60]!r}")
        using = [
            g.name for g in self.register.groups.values() if any(x.times == name for x in g.grants)
        ]
        if using:
            raise CodesError(f"{name} is used by the group {using[0]}")
        self.changes.append(TimesRemoved(name))
