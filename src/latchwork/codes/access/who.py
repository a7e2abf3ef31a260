"""Who could open a door at a moment: those who may, and those whom a controller would let in
though they may not."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from latchwork.codes.access.rights import doors_of, may_open
from latchwork.codes.access.times import holds_at
from latchwork.codes.content import Content, User
from latchwork.codes.keypad.grammar import Grammar
from latchwork.codes.register.places import cards_by_person
from latchwork.codes.register.register import Register, name_of
from latchwork.codes.site import SiteView


@dataclass(frozen=True, slots=True)
class Could:
    """One person at one door. ``may``: by the register. ``can``: by what is in a controller.

    ``why`` where the two differ: "not keyed in", "no card or PIN", "still keyed in",
    "hours not kept", "last day not kept", or "controller unknown" where nothing was ever
    confirmed of it. ``place`` is 0 where there is none.
    """

    person: str
    name: str
    may: bool
    can: bool
    why: str
    controller: str
    place: int


def who_could(
    register: Register,
    site: SiteView,
    grammars: Mapping[str, Grammar],
    door: str,
    instant: dt.datetime,
) -> list[Could]:
    """Everybody who may or can open the door, by name, and why where the two differ.

    Only what was confirmed as keyed in is known of a controller. Mechanical keys, and who knows
    the installer code, are beyond this.
    """
    may = {p.id for p in register.people.values() if may_open(register, site, p, door, instant)}
    found: list[Could] = []
    for controller in site.controllers.values():
        if door not in controller.doors:
            continue
        content = register.programmed.get(controller.id)
        if content is None:
            found += [_unknown(register, p, controller.id) for p in may]
            continue
        way = controller.doors[door] or "1"
        inside: dict[str, list[tuple[int, bool]]] = {}
        for place, user in content.users.items():
            owner = register.owners.get((controller.id, place), "")
            if user.relay not in (way, "both") and len(controller.doors) > 1:
                continue
            takes = _takes(register, site, grammars.get(controller.id), content, user, instant)
            inside.setdefault(owner, []).append((place, takes))
        for owner, places in inside.items():
            place, takes = max(places, key=lambda p: p[1])
            if owner in may or takes:
                why = _why(register, site, owner, door, instant, owner in may, takes)
                name = name_of(register, owner)
                found.append(Could(owner, name, owner in may, takes, why, controller.id, place))
        found += [_missing(register, p, controller.id) for p in sorted(may) if p not in inside]
    return sorted(found, key=lambda c: (not c.may, c.name.casefold(), c.person, c.place))


def _unknown(register: Register, person: str, controller: str) -> Could:
    name = name_of(register, person)
    return Could(person, name, True, False, "controller unknown", controller, 0)


def _missing(register: Register, person: str, controller: str) -> Could:
    holds = person in register.pins or person in cards_by_person(register)
    why = "not keyed in" if holds else "no card or PIN"
    return Could(person, name_of(register, person), True, False, why, controller, 0)


def _takes(
    register: Register,
    site: SiteView,
    grammar: Grammar | None,
    content: Content,
    user: User,
    instant: dt.datetime,
) -> bool:
    """Whether the controller would let this user in then, by what it holds."""
    wall = instant.astimezone(site.zone)
    if user.until and wall.date().isoformat() > user.until:
        return False
    if not user.times or grammar is None:
        return True
    holidays = {dt.date.fromisoformat(d) for d in content.holidays if len(d) == 10}
    return holds_at(content.times.get(user.times, ()), (), holidays, wall)


def _why(
    register: Register,
    site: SiteView,
    person: str,
    door: str,
    instant: dt.datetime,
    may: bool,
    can: bool,
) -> str:
    if may == can:
        return ""
    if may:
        return "not keyed in"
    found = register.people.get(person)
    if found is None or found.suspended or door not in doors_of(register, site, found):
        return "still keyed in"
    day = instant.astimezone(site.zone).date()
    if found.valid_until is not None and day > found.valid_until:
        return "last day not kept"
    return "hours not kept"
