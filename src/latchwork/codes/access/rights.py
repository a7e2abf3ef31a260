"""Who may open what: from groups, weekly times, validity and suspension."""

from __future__ import annotations

import datetime as dt

from latchwork.codes.access.times import allowed_at
from latchwork.codes.register.changes import ALWAYS, Person
from latchwork.codes.register.register import Register
from latchwork.codes.site import SiteView

EVERY_DOOR = "*"
"""A grant for every door of the site."""


def valid_on(person: Person, day: dt.date) -> bool:
    """Whether a person counts on a day of the site's: neither suspended nor out of their dates."""
    return not person.suspended and in_dates(person, day)


def in_dates(person: Person, day: dt.date) -> bool:
    """Whether a day lies within a person's dates, suspended or not."""
    if person.valid_from is not None and day < person.valid_from:
        return False
    return person.valid_until is None or day <= person.valid_until


def doors_of(register: Register, site: SiteView, person: Person) -> dict[str, frozenset[str]]:
    """Door id to the names of the weekly times a person has there; ``always`` drowns the others.

    Dates and suspension do not count here.
    """
    found: dict[str, set[str]] = {}
    for name in person.groups:
        group = register.groups.get(name)
        for grant in group.grants if group else ():
            for door in site.doors if grant.door == EVERY_DOOR else (grant.door,):
                if door in site.doors:
                    found.setdefault(door, set()).add(grant.times)
    return {
        door: frozenset({ALWAYS}) if ALWAYS in times else frozenset(times)
        for door, times in found.items()
    }


def may_open(
    register: Register, site: SiteView, person: Person, door: str, instant: dt.datetime
) -> bool:
    """Whether a person may open a door at an instant, by the register."""
    if not valid_on(person, instant.astimezone(site.zone).date()):
        return False
    times = doors_of(register, site, person).get(door, frozenset())
    return any(allowed_at(register, name, instant, site.zone) for name in times)
