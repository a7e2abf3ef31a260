"""What is in a controller and lies in the past: it lets nobody in and asks for no sheet."""

from __future__ import annotations

import datetime as dt

import msgspec

from latchwork.codes.content import Content, User
from latchwork.codes.keypad.grammar import Grammar
from latchwork.codes.keypad.wanted import Note, Wanted, card_number, is_over
from latchwork.codes.register.register import Register, name_of


def less_what_is_over(
    register: Register, controller: str, grammar: Grammar, meant: Wanted, day: dt.date
) -> Wanted:
    """The same, or what the controller holds already where all that differs is people whose last
    day is over. It keeps them out by its own clock; where anything else is to be keyed, they are
    keyed out along with it."""
    now = register.programmed.get(controller)
    if now is None or not now.clock:
        return meant
    gone = now.users.keys() - meant.content.users.keys()
    if not gone or not all(
        _kept_out(register, grammar, register.owners.get((controller, p), ""), now.users[p], day)
        for p in gone
    ):
        return meant
    if _without(now, gone) != meant.content:
        return meant
    names = dict.fromkeys(name_of(register, register.owners[controller, p]) for p in sorted(gone))
    return Wanted(now, (*meant.notes, Note("over", tuple(names))))


def _kept_out(register: Register, grammar: Grammar, owner: str, user: User, day: dt.date) -> bool:
    """Whether a place is of somebody whose last day is over, as the controller knows too. Whoever
    was taken off the list, or lost what stands there, is keyed out all the same."""
    person = register.people.get(owner)
    if person is None or person.valid_until is None or person.valid_until >= day:
        return False
    pin = register.pins.get(owner)
    cards = {card_number(c.value, grammar) for c in register.cards.values() if c.person == owner}
    own = user.pin in ("", pin.reveal() if pin else "") and cards.issuperset(user.cards)
    return own and not person.suspended and is_over(user.until, day)


def _without(now: Content, gone: set[int]) -> Content:
    """What a controller holds less these places, and less hours that only they have."""
    users = {place: user for place, user in now.users.items() if place not in gone}
    used = {user.times for user in users.values()}
    times = {number: spans for number, spans in now.times.items() if number in used}
    return msgspec.structs.replace(now, users=users, times=times)
