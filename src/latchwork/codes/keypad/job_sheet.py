"""A sheet for one controller of a site, from the register: places settled, meant against held."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Mapping, Set
from dataclasses import dataclass
from pathlib import Path

import msgspec

from latchwork.codes.cards.describe import layouts_for, wire_bits
from latchwork.codes.cards.layout import Layout
from latchwork.codes.content import Content
from latchwork.codes.errors import CodesError
from latchwork.codes.keypad.grammar import Grammar
from latchwork.codes.keypad.memory import factory_content
from latchwork.codes.keypad.needs import find_needs
from latchwork.codes.keypad.over import less_what_is_over
from latchwork.codes.keypad.setup import asks_first, check_settings, lock_out
from latchwork.codes.keypad.sheet import Sheet, Step, make_sheet
from latchwork.codes.keypad.shelf import grammar_for
from latchwork.codes.keypad.simulator import reads
from latchwork.codes.keypad.unit import check_unit, unit_before
from latchwork.codes.keypad.wanted import (
    Note,
    Wanted,
    card_number,
    confirmed_by,
    is_over,
    wanted_content,
)
from latchwork.codes.pins.odds import WARN_FROM, odds
from latchwork.codes.register.places import places_of, without_place
from latchwork.codes.register.register import Register, name_of
from latchwork.codes.secret import Secret
from latchwork.codes.site import ControllerOnSite, SiteView

DELETIONS = {"delete place", "delete card", "delete PIN"}


@dataclass(frozen=True, slots=True)
class ControllerSheet:
    """A sheet with who stands in its places. ``known``: whether what it begins with was confirmed;
    else the controller is taken to be as it left the factory."""

    controller: ControllerOnSite
    grammar: Grammar
    sheet: Sheet
    notes: tuple[Note, ...]
    names: Mapping[int, str]
    """By place: whose it is, or was."""
    known: bool
    goes: Mapping[int, str]
    """By place: whose codes are in it, where it is somebody else's by now."""

    def name_at(self, step: Step) -> str:
        """Of whom a step is: what is deleted may be of somebody who had the place before."""
        edge = next((e for e in self.grammar.edges if e.id == step.kind), None)
        deletes = edge is not None and set(edge.does) & DELETIONS
        known = {**self.names, **self.goes} if deletes else self.names
        return known.get(step.place, "") if step.place else ""


def grammar_of(register: Register, controller: ControllerOnSite, folder: Path | None) -> Grammar:
    """The controller's grammar: by the store, else by the job file. Raises CodesError."""
    setup = register.controllers.get(controller.id)
    name = setup.grammar if setup else controller.grammar
    if not name:
        raise CodesError(
            f"nobody said how {controller.id} is programmed; "
            f"`latchwork codes controller JOB {controller.id} --grammar NAME` does"
        )
    return grammar_for(folder, name)


def other_grammar(register: Register, controller: ControllerOnSite) -> str:
    """The grammar that the job file says where the store says another one, which goes before; ""
    else. Another unit may hang there since."""
    setup = register.controllers.get(controller.id)
    said = controller.grammar
    return said if setup and said and said != setup.grammar else ""


def grammars_of(register: Register, site: SiteView, folder: Path | None) -> dict[str, Grammar]:
    """The grammars of all controllers that have one."""
    return {
        c.id: grammar_of(register, c, folder)
        for c in site.controllers.values()
        if c.id in register.controllers or c.grammar
    }


def controller_sheet(
    register: Register,
    site: SiteView,
    controller: ControllerOnSite,
    grammar: Grammar,
    day: dt.date,
    from_reset: bool = False,
    clock: str = "",
) -> ControllerSheet:
    """The sheet from what the controller holds to what is meant, places being settled.

    ``clock``: YYYY-MM-DDTHH:MM to set the controller's clock to, "" to leave it.
    """
    if grammar.can("change master card") and (controller.id, "master card") not in register.codes:
        raise CodesError(
            f"programming {controller.id} is opened by a card of its own: say which with "
            f"`latchwork codes controller JOB {controller.id} --master-card CARD`"
        )
    check_unit(register, controller)
    if not confirmed_by(register, controller.id, grammar):
        raise CodesError(
            f"what was confirmed of {controller.id} was keyed in by the grammar "
            f"{register.keyed_by[controller.id]}, and it is programmed by {grammar.name} now: "
            f"`latchwork codes controller JOB {controller.id}` with --new-unit where another unit "
            "hangs there, with --same-unit where only the grammar changed"
        )
    held = register.programmed.get(controller.id)
    now = held if held is not None else factory_content(grammar)
    bits = card_bits(register, grammar, layouts_for(site.folder))
    meant = _meant(register, site, controller, grammar, day, bits)
    if not from_reset and not clock:
        meant = less_what_is_over(register, controller.id, grammar, meant, day)
    content = meant.content
    check_settings(grammar, controller.id, content.settings)
    unread = {n for n, wide in bits.items() if not reads(content.settings, wide)}
    if clock and grammar.can("set clock"):
        content = msgspec.structs.replace(content, clock=clock)
    elif from_reset and "clock" not in grammar.reset_keeps:
        content = msgspec.structs.replace(content, clock="")
    if from_reset and "holidays" not in grammar.reset_keeps:
        coming = tuple(d for d in content.holidays if not is_over(d, day))
        content = msgspec.structs.replace(content, holidays=coming)
    named = card_names(register, grammar)
    sheet = make_sheet(grammar, now, content, from_reset, named, bits)
    held_up = {p.value for p in sheet.presses if p.kind == "card"}
    if held_up & unread:
        # What the controller held is to be keyed in anew, and it would not be read.
        content = without_cards(content, held_up & unread)
        sheet = make_sheet(grammar, now, content, from_reset, named, bits)
    places = {*now.users, *content.users}
    names = {p: name_of(register, register.owners.get((controller.id, p), "")) for p in places}
    full = full_note(register, site, controller.id, grammar, day)
    other = other_grammar(register, controller)
    differs = (Note("other grammar", (controller.id,), other),) if other else ()
    notes = (
        *differs,
        *full,
        *meant.notes,
        *_clock_note(grammar, content),
        *_odds_note(grammar, content),
    )
    goes = _others(register, controller.id, grammar, now)
    return ControllerSheet(controller, grammar, sheet, notes, names, held is not None, goes)


def _others(register: Register, controller: str, grammar: Grammar, now: Content) -> dict[int, str]:
    """The names of those whose PIN or cards are in places that went to others."""
    having: dict[str, set[str]] = {}
    for cards in (register.cards, register.lost_cards, register.left_cards):
        for card in cards.values():
            having.setdefault(card_number(card.value, grammar), set()).add(card.person)
    pins = {pin: set(people) for pin, people in register.former_pins.items()}
    for person, pin in register.pins.items():
        pins.setdefault(pin, set()).add(person)
    found: dict[int, str] = {}
    for place, user in now.users.items():
        people = pins.get(Secret(user.pin), set()).union(*(having.get(c, ()) for c in user.cards))
        if people and register.owners.get((controller, place)) not in people:
            found[place] = ", ".join(name_of(register, p) for p in sorted(people))
    return found


def _meant(
    register: Register,
    site: SiteView,
    controller: ControllerOnSite,
    grammar: Grammar,
    day: dt.date,
    bits: Mapping[str, int],
) -> Wanted:
    """What is meant, less new cards that would not be read, with the clock as it goes."""
    now = register.programmed.get(controller.id, Content())
    wanted = wanted_content(register, site, controller, grammar, day)
    content = msgspec.structs.replace(wanted.content, clock=now.clock)
    unread = {n for n, wide in bits.items() if not reads(content.settings, wide)}
    notes = (*wanted.notes, *_format_notes(register, grammar, content, bits))
    return Wanted(without_cards(content, unread - _cards_in(now)), notes)


def wanting(
    register: Register, site: SiteView, grammars: Mapping[str, Grammar], day: dt.date
) -> tuple[str, ...]:
    """The controllers that do not hold what is meant, as far as was confirmed, so that a sheet is
    wanted; one that is full, was keyed in by another grammar or is another unit, among them.
    ``register``: with places settled."""
    found = []
    for name, grammar in grammars.items():
        bits = card_bits(register, grammar, layouts_for(site.folder))
        meant = _meant(register, site, site.controllers[name], grammar, day, bits)
        meant = less_what_is_over(register, name, grammar, meant, day)
        now = register.programmed.get(name) or factory_content(grammar)
        full = without_place(register, site, name, grammar, day)
        if (
            full
            or find_needs(grammar, now, meant.content)
            or not confirmed_by(register, name, grammar)
            or unit_before(register, site.controllers[name])
        ):
            found.append(name)
    return tuple(found)


def full_note(
    register: Register, site: SiteView, controller: str, grammar: Grammar, day: dt.date
) -> tuple[Note, ...]:
    """People for whom no place is left, places being settled."""
    names = tuple(p.name for p in without_place(register, site, controller, grammar, day))
    every = places_of(site, controller, grammar)
    return (Note("full", names, f"{every[0]} to {every[-1]}"),) if names else ()


def _clock_note(grammar: Grammar, content: Content) -> tuple[Note, ...]:
    """Hours and last days in a controller whose clock was never set."""
    goes_by_it = any(user.times or user.until for user in content.users.values())
    if content.clock or not goes_by_it or not grammar.can("set clock"):
        return ()
    return (Note("clock", ()),)


def _odds_note(grammar: Grammar, content: Content) -> tuple[Note, ...]:
    """A warning where a stranger's chance in a night is one in a thousand or better."""
    if asks_first(grammar, content.settings) != "PIN":
        return ()
    lengths = Counter(len(u.pin) for u in content.users.values() if u.pin)
    rule = lock_out(content.settings)
    worst = max((odds(d, n, rule).night for d, n in lengths.items()), default=0.0)
    return (Note("odds", (), f"{worst:.6g}"),) if worst >= WARN_FROM else ()


def _format_notes(
    register: Register, grammar: Grammar, content: Content, bits: Mapping[str, int]
) -> tuple[Note, ...]:
    """People whose cards have other bits on the wire than the controller reads."""
    here = _cards_in(content)
    unread: dict[int, dict[str, None]] = {}
    for card in register.cards.values():
        number = card_number(card.value, grammar)
        wide = bits.get(number, 0)
        if number in here and not reads(content.settings, wide):
            unread.setdefault(wide, {})[name_of(register, card.person)] = None
    return tuple(Note("reader format", tuple(who), str(wide)) for wide, who in unread.items())


def _cards_in(content: Content) -> set[str]:
    return {card for user in content.users.values() for card in user.cards}


def without_cards(content: Content, cards: Set[str]) -> Content:
    """The content without these cards, and without those whom that leaves nothing."""
    users = {
        place: msgspec.structs.replace(user, cards=tuple(c for c in user.cards if c not in cards))
        for place, user in content.users.items()
    }
    return msgspec.structs.replace(content, users={p: u for p, u in users.items() if not u.empty})


def card_bits(
    register: Register, grammar: Grammar, layouts: Mapping[str, Layout]
) -> dict[str, int]:
    """How many bits each card has on the wire where that is known, by the number this controller
    counts it by."""
    found = {
        card_number(c.value, grammar): wire_bits(layouts, c.layout) for c in register.cards.values()
    }
    return {number: bits for number, bits in found.items() if bits}


def card_names(register: Register, grammar: Grammar) -> dict[str, str]:
    """What is printed on each card, by the number this kind of controller counts it by."""
    return {card_number(c.value, grammar): c.printed for c in register.cards.values()}
