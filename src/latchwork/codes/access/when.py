"""A moment as people say it: "friday 19:00", "today 07:30", "2026-03-06 19:00", "now"."""

from __future__ import annotations

import datetime as dt
import re
import zoneinfo

from latchwork.codes.access.times import DAY_NAMES, instants
from latchwork.codes.errors import CodesError

_WHEN = re.compile(r"(?P<day>[a-z]+|\d{4}-\d{2}-\d{2})[ t]+(?P<hour>\d{1,2}):(?P<minute>\d{2})")


def moments(text: str, now: dt.datetime, zone: zoneinfo.ZoneInfo) -> tuple[dt.datetime, ...]:
    """The instants meant: one, or two in an hour that a change of the clock repeats.

    A day of the week is the next such, today included. Raises CodesError for what is no moment,
    and for one that the clock leaves out.
    """
    text = text.strip().lower()
    if text == "now":
        return (now,)
    match = _WHEN.fullmatch(text)
    day = _day(match["day"], now.astimezone(zone).date()) if match else None
    if match is None or day is None or int(match["hour"]) > 23 or int(match["minute"]) > 59:
        raise CodesError(
            f"no moment: {text[:40]!r}; expected now, friday 19:00, today 07:30 or 2026-03-06 19:00"
        )
    time = dt.time(int(match["hour"]), int(match["minute"]))
    wall = dt.datetime.combine(day, time)
    found = instants(wall, zone)
    if not found:
        raise CodesError(
            f"{wall:%Y-%m-%d %H:%M} is not on the clock at the site: "
            "it is put forward over that hour in that night"
        )
    return found


def _day(text: str, today: dt.date) -> dt.date | None:
    if text in ("today", "tomorrow"):
        return today + dt.timedelta(days=text == "tomorrow")
    if text[:3] in DAY_NAMES:
        ahead = (DAY_NAMES.index(text[:3]) - today.weekday()) % 7
        return today + dt.timedelta(days=ahead)
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        return None
