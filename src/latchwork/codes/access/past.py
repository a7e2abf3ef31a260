"""Who could open a door in the past: by the register as it stood then, replayed from the log."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Mapping, Sequence

from latchwork.codes.access.times import instants
from latchwork.codes.access.who import Could, who_could
from latchwork.codes.errors import CodesError
from latchwork.codes.keypad.grammar import Grammar
from latchwork.codes.register.changes import Entry, WeeklyTimes
from latchwork.codes.register.register import Register, replay
from latchwork.codes.site import SiteView


def register_at(entries: Sequence[Entry], instant: dt.datetime, zone: dt.tzinfo) -> Register:
    """The register as it stood at an instant. Raises CodesError for one before the log begins."""
    if instant < entries[0].at:
        raise _before(entries, zone)
    return replay(e for e in entries if e.at <= instant)


def _before(entries: Sequence[Entry], zone: dt.tzinfo) -> CodesError:
    begun = entries[0].at.astimezone(zone)
    return CodesError(
        f"the store of codes begins on {begun:%Y-%m-%d at %H:%M}: "
        "who could open a door before that is not known here"
    )


def over_the_day(
    entries: Sequence[Entry],
    site: SiteView,
    grammars_of: Callable[[Register], Mapping[str, Grammar]],
    door: str,
    day: dt.date,
    now: dt.datetime,
) -> list[Could]:
    """Everybody who may or could open a door at some time of a day, once for each way.

    Looked at is every instant of the day at which anything changes: hours that begin or end, and
    entries of the log. Raises CodesError for a day before the log begins. From ``now`` on the units
    that the job has count.
    """
    changing = sorted({*_of_the_clock(entries, site, day), *_of_the_log(entries, site, day)})
    found: dict[Could, None] = {}
    register, done = Register(), 0
    for instant in changing:
        if instant < entries[0].at:
            continue
        while done < len(entries) and entries[done].at <= instant:
            register.extend([entries[done]])
            done += 1
        grammars = grammars_of(register)
        here = who_could(register, site, grammars, door, instant, units=instant >= now)
        found |= dict.fromkeys(here)
    if not done:
        raise _before(entries, site.zone)
    return sorted(found, key=lambda c: (not c.may, c.name.casefold(), c.person, c.place, c.why))


def _of_the_clock(entries: Sequence[Entry], site: SiteView, day: dt.date) -> Iterator[dt.datetime]:
    """The day's begin, every minute at which any weekly times that ever were begin or end (what
    controllers hold was put together from those), and where the clock is put forward or back: hours
    may begin in the minutes that it leaves out, the day itself too."""
    yield from _changes_of_the_clock(site, day)
    minutes = {0}
    for change in (c for e in entries for c in e.changes):
        if isinstance(change, WeeklyTimes):
            minutes.update(m for _, *ends in change.spans for m in ends)
            minutes.update(m for ends in change.on_holidays for m in ends)
    for minute in minutes:
        if minute < 24 * 60:
            wall = dt.datetime.combine(day, dt.time(minute // 60, minute % 60))
            yield from instants(wall, site.zone)


def _changes_of_the_clock(site: SiteView, day: dt.date) -> Iterator[dt.datetime]:
    """The instants of a day from which the clock goes by another offset; they lie on a minute."""
    instant = dt.datetime.combine(day, dt.time(), dt.UTC) - dt.timedelta(days=1)
    before = instant.astimezone(site.zone).utcoffset()
    for _ in range(3 * 24 * 60):
        instant += dt.timedelta(minutes=1)
        wall = instant.astimezone(site.zone)
        if wall.utcoffset() != before and wall.date() == day:
            yield instant
        before = wall.utcoffset()


def _of_the_log(entries: Sequence[Entry], site: SiteView, day: dt.date) -> Iterator[dt.datetime]:
    return (e.at for e in entries if e.at.astimezone(site.zone).date() == day)
