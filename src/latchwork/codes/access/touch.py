"""Where something of a person's stands in the controllers: what is to be keyed out after them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from latchwork.codes.content import Content, User
from latchwork.codes.keypad.confirming import unconfirmed
from latchwork.codes.keypad.grammar import Grammar
from latchwork.codes.keypad.overtaken import left_behind
from latchwork.codes.keypad.wanted import card_number
from latchwork.codes.register.changes import Card, PlaceTaken
from latchwork.codes.register.register import Register


@dataclass(frozen=True, slots=True)
class Touch:
    """A controller that still holds something of a person: what, and in which place."""

    controller: str
    place: int
    holds: str


def to_be_touched(
    register: Register, grammars: Mapping[str, Grammar], person: str
) -> tuple[Touch, ...]:
    """Every place that must be keyed after a person left: where they stand in a controller's
    memory, and where a PIN or a card of theirs does, whosever the place is.

    A controller of which nothing was ever confirmed counts by the place the register gave, and
    so does a sheet that may have been keyed in though nobody confirmed it.
    """
    pins = {pin.reveal() for pin, people in register.former_pins.items() if person in people}
    if person in register.pins:
        pins.add(register.pins[person].reveal())
    every = (register.cards, register.lost_cards, register.left_cards)
    values = [c.value for cards in every for c in cards.values() if c.person == person]
    found = [
        Touch(controller, place, "unknown")
        for controller, places in register.places.items()
        if controller not in register.programmed
        for place, taken in places.items()
        if taken.person == person
    ]
    for controller, content in register.programmed.items():
        grammar = grammars.get(controller)
        cards = {card_number(v, grammar) if grammar else str(v) for v in values}
        for place, user in content.users.items():
            own = register.owners.get((controller, place)) == person
            holds = _parts(user, own or user.pin in pins, own or not cards.isdisjoint(user.cards))
            if holds:
                found.append(Touch(controller, place, holds))
        known = {t.place for t in found if t.controller == controller}
        waiting = _on_paper(register, controller, grammar, person)
        found += [Touch(controller, place, "unknown") for place in waiting if place not in known]
    return tuple(sorted(found, key=lambda t: (t.controller, t.place)))


def holding(register: Register, grammars: Mapping[str, Grammar], card: Card) -> tuple[Touch, ...]:
    """Every place that lets a card in until it is keyed out, whosever the place is; and those of
    sheets that may have been keyed in though nobody confirmed them."""
    found: list[Touch] = []
    for controller in sorted({*register.programmed, *register.sheets}):
        grammar = grammars.get(controller)
        number = card_number(card.value, grammar) if grammar else str(card.value)
        content = register.programmed.get(controller, Content())
        known = {place for place, user in content.users.items() if number in user.cards}
        left = {each.number: each.places for each in left_behind(register, controller, grammar)}
        open_ones = unconfirmed(register, controller)
        waiting = {
            place
            for paper in register.sheets.get(controller, ())
            for place, user in paper.made.content.users.items()
            if number in user.cards
            if paper.made.number in open_ones or place in left.get(paper.made.number, {})
        }
        found += [Touch(controller, place, "card") for place in sorted(known)]
        found += [Touch(controller, place, "unknown") for place in sorted(waiting - known)]
    return tuple(found)


def _on_paper(
    register: Register, controller: str, grammar: Grammar | None, person: str
) -> tuple[int, ...]:
    """The places of a person on sheets that nobody confirmed and that may have been keyed in."""
    numbers = unconfirmed(register, controller)
    waiting = [p for p in register.sheets.get(controller, ()) if p.made.number in numbers]
    found = {n for p in waiting for n in p.made.content.users if p.owners.get(n) == person}
    left = left_behind(register, controller, grammar)
    found |= {n for each in left for n, owner in each.places.items() if owner == person}
    return tuple(sorted(found))


def keyed_in(register: Register, grammar: Grammar | None, taken: PlaceTaken) -> bool:
    """Whether a place holds, as far as was confirmed, what the person has whose it is now; what
    somebody before them left in it does not count."""
    content = register.programmed.get(taken.controller)
    user = content.users.get(taken.place) if content else None
    if user is None:
        return False
    pin = register.pins.get(taken.person)
    values = [c.value for c in register.cards.values() if c.person == taken.person]
    cards = {card_number(v, grammar) if grammar else str(v) for v in values}
    return (pin is not None and user.pin == pin.reveal()) or not cards.isdisjoint(user.cards)


def _parts(user: User, pin: bool, card: bool) -> str:
    """What of a place is meant: PIN, card, or PIN and card."""
    parts = [*(["PIN"] if user.pin and pin else []), *(["card"] if user.cards and card else [])]
    return " and ".join(parts)
