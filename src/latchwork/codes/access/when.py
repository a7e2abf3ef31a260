"""A moment as people say it: "friday 19:00", "yesterday 22:30", "2026-03-06 19:00", "now"."""

from __future__ import annotations

import datetime as dt
import re
import zoneinfo

from latchwork.codes.access.times import DAY_NAMES, instants
from latchwork.codes.errors import CodesError

_WHEN = re.compile(
    r"(?P<day>(last +)?[a-z]+|\d{4}-\d{2}-\d{2})([ t]+(?P<hour>\d{1,2}):(?P<minute>\d{2}))?"
)

_NEAR = {"yesterday": -1, "today": 0, "tomorrow": 1}


def moments(text: str, now: dt.datetime, zone: zoneinfo.ZoneInfo) -> tuple[dt.datetime, ...]:
    """The instants meant: one, or two in an hour that a change of the clock repeats.

    A day of the week is the next such, today included; "last" makes it the one before today. Raises
    CodesError for what is no moment, and for one that the clock leaves out.
    """
    text = text.strip().lower()
    if text == "now":
        return (now,)
    match = _WHEN.fullmatch(text)
    day = _day(match["day"], now.astimezone(zone).date()) if match else None
    clock = match and match["hour"]
    if not match or not day or not clock or int(clock) > 23 or int(match["minute"]) > 59:
        raise CodesError(
            f"no moment: {text[:40]!r}; expected now, friday 19:00, last friday 19:00, "
            "yesterday 22:30, 2026-03-06 19:00, or a day alone"
        )
    time = dt.time(int(clock), int(match["minute"]))
    wall = dt.datetime.combine(day, time)
    found = instants(wall, zone)
    if not found:
        raise CodesError(
            f"{wall:%Y-%m-%d %H:%M} is not on the clock at the site: "
            "it is put forward over that hour in that night"
        )
    return found


def day_alone(text: str, now: dt.datetime, zone: zoneinfo.ZoneInfo) -> dt.date | None:
    """The day meant where a text names a day and no time; else None."""
    match = _WHEN.fullmatch(text.strip().lower())
    if match is None or match["hour"]:
        return None
    return _day(match["day"], now.astimezone(zone).date())


def _day(text: str, today: dt.date) -> dt.date | None:
    if text in _NEAR:
        return today + dt.timedelta(days=_NEAR[text])
    last, _, name = text.rpartition(" ")
    if last and name[:3] in DAY_NAMES:
        behind = (today.weekday() - DAY_NAMES.index(name[:3]) - 1) % 7 + 1
        return today - dt.timedelta(days=behind)
    if text[:3] in DAY_NAMES:
        ahead = (DAY_NAMES.index(text[:3]) - today.weekday()) % 7
        return today + dt.timedelta(days=ahead)
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        return None
