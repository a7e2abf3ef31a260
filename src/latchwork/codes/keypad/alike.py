"""Codes that a controller cannot tell apart: each is keyed in once, for one person."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import msgspec

from latchwork.codes.content import User

_EMPTY = User()
PROGRAMMING = 0
"""The place of the card that opens programming: nobody's."""


@dataclass(frozen=True, slots=True)
class Twin:
    """A code that is left out. ``kind``: pin or card. ``other``: the place that has it already."""

    kind: str
    place: int
    other: int


def each_once(
    users: Mapping[int, User], held: Mapping[int, User], programming: str
) -> tuple[dict[int, User], list[Twin]]:
    """Users without the codes that others have, those who have them in the controller (``held``)
    going first; and what was left out. ``programming``: the number of the programming card."""
    first = {("card", programming): PROGRAMMING}
    for now in (held, users):
        for place in sorted(users):
            there = set(_codes(now.get(place, _EMPTY)))
            for code in _codes(users[place]):
                if code in there:
                    first.setdefault(code, place)
    kept: dict[int, User] = {}
    twins: list[Twin] = []
    for place, user in sorted(users.items()):
        own: list[tuple[str, str]] = []
        for code in _codes(user):
            if first[code] != place or code in own:
                twins.append(Twin(code[0], place, first[code]))
            else:
                own.append(code)
        pin = next((value for kind, value in own if kind == "pin"), "")
        cards = tuple(value for kind, value in own if kind == "card")
        kept[place] = msgspec.structs.replace(user, pin=pin, cards=cards)
    return kept, twins


def _codes(user: User) -> Iterator[tuple[str, str]]:
    if user.pin:
        yield "pin", user.pin
    for card in user.cards:
        yield "card", card
