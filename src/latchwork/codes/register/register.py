"""The register: who has what, as it stands after every entry of the log."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from copy import copy
from dataclasses import dataclass, field, fields

import msgspec

from latchwork.codes.content import Content
from latchwork.codes.register import changes as c
from latchwork.codes.secret import Secret


@dataclass(frozen=True, slots=True)
class PrintedSheet:
    """A sheet on paper. ``begins``: what was confirmed as it was printed, from which its steps are
    counted; None where nothing was. ``owners``: whose each place was by then."""

    made: c.SheetMade
    begins: Content | None
    owners: Mapping[int, str]


@dataclass(slots=True)
class Register:
    """Only ``replay`` and ``extend`` write here, ``with_changes`` into a copy; all else reads.

    ``pins`` are by person, ``cards``, ``lost_cards`` and ``left_cards`` (of leavers) by card id,
    ``places`` by controller and place, ``former_pins`` every PIN the site ever gave and took back,
    with who had it. ``came_back``: ids of those ``lost_cards`` that were handed in after all; their
    numbers stay out of use.
    """

    holders: dict[str, c.HolderAdded] = field(default_factory=dict)
    people: dict[str, c.Person] = field(default_factory=dict)
    left: dict[str, c.Person] = field(default_factory=dict)
    pins: dict[str, Secret] = field(default_factory=dict, repr=False)
    former_pins: dict[Secret, set[str]] = field(default_factory=dict, repr=False)
    cards: dict[str, c.Card] = field(default_factory=dict)
    lost_cards: dict[str, c.Card] = field(default_factory=dict)
    came_back: set[str] = field(default_factory=set)
    left_cards: dict[str, c.Card] = field(default_factory=dict)
    groups: dict[str, c.Group] = field(default_factory=dict)
    times: dict[str, c.WeeklyTimes] = field(default_factory=dict)
    holidays: dict[dt.date, str] = field(default_factory=dict)
    places: dict[str, dict[int, c.PlaceTaken]] = field(default_factory=dict)
    owners: dict[tuple[str, int], str] = field(default_factory=dict)
    """By controller and place: who has it, or had it last."""
    controllers: dict[str, c.ControllerSetUp] = field(default_factory=dict)
    codes: dict[tuple[str, str], Secret] = field(default_factory=dict, repr=False)
    programmed: dict[str, Content] = field(default_factory=dict, repr=False)
    keyed_by: dict[str, str] = field(default_factory=dict)
    """By controller: the grammar by which ``programmed`` was keyed in, where that is known."""
    units: dict[str, str] = field(default_factory=dict)
    """By controller: the part that it was when its sheets were made, where that is known."""
    sheets: dict[str, tuple[PrintedSheet, ...]] = field(default_factory=dict, repr=False)
    """The sheets printed for each controller that hangs there now, the last one last."""
    confirmed_sheets: dict[str, int] = field(default_factory=dict)
    """By controller: of which of those ``programmed`` is all or the first steps."""
    ever_confirmed: dict[str, Mapping[int, Content]] = field(default_factory=dict, repr=False)
    """By controller: every one of those of which all or some was confirmed, and what was."""
    sheet_numbers: dict[str, int] = field(default_factory=dict)
    keyed_sheets: dict[str, int] = field(default_factory=dict)
    """By controller: the number of the last sheet whose whole content was confirmed."""
    next_person: int = 1
    next_card: int = 1

    def extend(self, entries: Iterable[c.Entry]) -> None:
        """Lays further entries on top."""
        for entry in entries:
            for change in entry.changes:
                self._apply(change)

    def with_changes(self, changes: Iterable[c.Change]) -> Register:
        """A register of its own with these changes laid on top."""
        twin = Register(**{f.name: copy(getattr(self, f.name)) for f in fields(self)})
        twin.places = {controller: dict(held) for controller, held in self.places.items()}
        twin.former_pins = {pin: set(people) for pin, people in self.former_pins.items()}
        for change in changes:
            twin._apply(change)
        return twin

    def _apply(self, change: c.Change) -> None:
        match change:
            case c.Person():
                self.people[change.id] = change
                self.next_person = max(self.next_person, _after(change.id))
            case c.PinGiven():
                self._drop_pin(change.person)
                self.pins[change.person] = change.pin
            case c.Card():
                self.cards[change.id] = change
                # A leaver who kept it has it no more, whatever becomes of it.
                same = [k for k, v in self.left_cards.items() if v.value == change.value]
                for passed_on in same:
                    del self.left_cards[passed_on]
                self.next_card = max(self.next_card, _after(change.id))
            case c.PlaceTaken():
                self.places.setdefault(change.controller, {})[change.place] = change
                self.owners[change.controller, change.place] = change.person
            case c.PlaceFreed():
                self.places.get(change.controller, {}).pop(change.place, None)
            case c.PersonRemoved():
                self._remove_person(change.id)
            case c.PinDropped():
                self._drop_pin(change.person)
            case c.CardDropped():
                card = self.cards.pop(change.id, None)
                if card is not None and change.lost:
                    self.lost_cards[card.id] = card
                elif change.id in self.lost_cards:
                    self.came_back.add(change.id)
            case c.Group():
                self.groups[change.name] = change
            case c.GroupRemoved():
                self.groups.pop(change.name, None)
            case c.WeeklyTimes():
                self.times[change.name] = change
            case c.TimesRemoved():
                self.times.pop(change.name, None)
            case c.Holiday():
                self.holidays[change.day] = change.name
            case c.HolidayRemoved():
                self.holidays.pop(change.day, None)
            case c.ControllerSetUp():
                self.controllers[change.controller] = change
            case c.ControllerCode():
                self.codes[change.controller, change.kind] = change.code
            case c.Programmed():
                self.programmed[change.controller] = change.content
                self.keyed_by[change.controller] = self._grammar_of(change)
                last = self.last_sheet(change.controller)
                number = change.sheet or (last.made.number if last else 0)
                self.confirmed_sheets[change.controller] = number
                ever = self.ever_confirmed.get(change.controller, {})
                self.ever_confirmed[change.controller] = {**ever, number: change.content}
                self._compare_sheet(change.controller)
            case c.SheetMade():
                self._print(change)
                self._compare_sheet(change.controller)
            case c.UnitFitted():
                self.units[change.controller] = change.unit
            case c.ControllerReplaced():
                here = change.controller
                self.programmed.pop(here, None)
                self.keyed_by.pop(here, None)
                self.units.pop(here, None)
                for of_the_unit in (self.sheets, self.confirmed_sheets, self.ever_confirmed):
                    of_the_unit.pop(here, None)
            case c.HolderAdded():
                self.holders[change.id] = change
            case c.HolderWithdrawn():
                self.holders.pop(change.id, None)

    def _grammar_of(self, change: c.Programmed | c.SheetMade) -> str:
        setup = self.controllers.get(change.controller)
        return change.grammar or (setup.grammar if setup else "")

    def last_sheet(self, controller: str) -> PrintedSheet | None:
        """The last sheet printed for the unit that hangs there now."""
        return self.sheets.get(controller, (None,))[-1]

    def _print(self, change: c.SheetMade) -> None:
        here = change.controller
        made = msgspec.structs.replace(change, grammar=self._grammar_of(change))
        owners = {place: who for (at, place), who in self.owners.items() if at == here}
        sheet = PrintedSheet(made, self.programmed.get(here), owners)
        self.sheets[here] = (*self.sheets.get(here, ()), sheet)
        self.sheet_numbers[here] = change.number

    def _compare_sheet(self, controller: str) -> None:
        sheet = self.last_sheet(controller)
        if sheet is None or sheet.made.content != self.programmed.get(controller):
            return
        # One from the factory on leads to what is held already, by way of next to nothing.
        if not sheet.made.from_reset or self.confirmed_sheets.get(controller) == sheet.made.number:
            self.keyed_sheets[controller] = sheet.made.number

    def _drop_pin(self, person: str) -> None:
        old = self.pins.pop(person, None)
        if old is not None:
            self.former_pins.setdefault(old, set()).add(person)

    def _remove_person(self, person: str) -> None:
        gone = self.people.pop(person, None)
        if gone is not None:
            self.left[person] = gone
        self._drop_pin(person)
        for card in [k for k, held in self.cards.items() if held.person == person]:
            self.left_cards[card] = self.cards.pop(card)
        for places in self.places.values():
            for place in [p for p, taken in places.items() if taken.person == person]:
                del places[place]


def name_of(register: Register, person: str) -> str:
    """A person's name, leavers included; "" where nobody had that id."""
    found = register.people.get(person) or register.left.get(person)
    return found.name if found else ""


def replay(entries: Iterable[c.Entry]) -> Register:
    """The register that a log leads to."""
    register = Register()
    register.extend(entries)
    return register


def _after(identity: str) -> int:
    digits = identity[1:]
    return int(digits) + 1 if digits.isdecimal() and len(digits) < 10 else 1
