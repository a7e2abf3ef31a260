"""Weekly times and holidays, by the clock on the site's wall."""

from __future__ import annotations

import datetime as dt
import re
import zoneinfo
from collections.abc import Container

from latchwork.codes.content import Span
from latchwork.codes.errors import CodesError
from latchwork.codes.register.changes import ALWAYS, WeeklyTimes
from latchwork.codes.register.people import check_name
from latchwork.codes.register.register import Register

DAY_NAMES = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_DAY_MINUTES = 24 * 60
_PART = re.compile(
    r"(?P<days>[a-z]+(?:\s*-\s*[a-z]+)?)\s+(?P<from>\d{1,2}:\d{2})\s*-\s*(?P<to>\d{1,2}:\d{2})"
)


def parse_times(name: str, text: str) -> WeeklyTimes:
    """Weekly times of "mon-fri 08:00-18:00, sat 09:00-12:00, holidays 10:00-12:00".

    Hours past midnight (fri 22:00-02:00) go on into the next day. On a holiday only the hours said
    for holidays hold. Raises CodesError where the text is none of that, and where the name is none.
    """
    name = check_name(name)
    if name.casefold() == ALWAYS:
        raise CodesError(
            f"weekly times cannot be called {name}: that is what doors without hours are given by; "
            "choose another name, and give it to the groups that mean it"
        )
    spans: list[Span] = []
    holidays: list[tuple[int, int]] = []
    for part in text.lower().split(","):
        match = _PART.fullmatch(part.strip())
        if match is None:
            raise CodesError(
                f"not weekly times: {part.strip()[:40]!r}; "
                "expected such as mon-fri 08:00-18:00, sat 09:00-12:00, holidays 10:00-12:00"
            )
        start, end = _minute(match["from"]), _minute(match["to"])
        if start == _DAY_MINUTES:
            raise CodesError("hours cannot begin at 24:00; expected 00:00 of the next day")
        if start == end:
            # A slip for 07:00-17:00 would open for a day and a night.
            raise CodesError(
                f"hours that begin and end at {match['to']}; expected 00:00-24:00 for a whole day"
            )
        if match["days"].strip() in ("holiday", "holidays"):
            if start >= end:
                raise CodesError("holiday hours end after they begin, on the same day")
            holidays.append((start, end))
            continue
        for day in _days(match["days"]):
            if start < end:
                spans.append((day, start, end))
            else:
                spans.append((day, start, _DAY_MINUTES))
                if end:
                    spans.append(((day + 1) % 7, 0, end))
    if not spans and not holidays:
        raise CodesError("weekly times without hours")
    return WeeklyTimes(name, _joined(spans), tuple(sorted(set(holidays))))


def _minute(text: str) -> int:
    hour, minute = (int(part) for part in text.split(":"))
    if hour * 60 + minute > _DAY_MINUTES or minute > 59:
        raise CodesError(f"no time of day: {text}")
    return hour * 60 + minute


def _days(text: str) -> list[int]:
    ends = [end.strip()[:3] for end in text.split("-")]
    if ends == ["dai"] or ends == ["eve"]:
        return list(range(7))
    if any(end not in DAY_NAMES for end in ends):
        raise CodesError(f"no day of the week: {text[:30]!r}; expected mon, tue … or mon-fri")
    first, last = DAY_NAMES.index(ends[0]), DAY_NAMES.index(ends[-1])
    return [(first + i) % 7 for i in range((last - first) % 7 + 1)]


def _joined(spans: list[Span]) -> tuple[Span, ...]:
    """Overlapping and touching hours of a day as one."""
    joined: list[Span] = []
    for day, start, end in sorted(set(spans)):
        if joined and joined[-1][0] == day and start <= joined[-1][2]:
            joined[-1] = (day, joined[-1][1], max(end, joined[-1][2]))
        else:
            joined.append((day, start, end))
    return tuple(joined)


def show_times(times: WeeklyTimes) -> str:
    """The text that reads back as these times."""
    parts = [f"{DAY_NAMES[day]} {_clock(start)}-{_clock(end)}" for day, start, end in times.spans]
    parts += [f"holidays {_clock(start)}-{_clock(end)}" for start, end in times.on_holidays]
    return ", ".join(parts)


def _clock(minute: int) -> str:
    return f"{minute // 60:02d}:{minute % 60:02d}"


def holds_at(
    spans: tuple[Span, ...],
    on_holidays: tuple[tuple[int, int], ...],
    holidays: Container[dt.date],
    wall: dt.datetime,
) -> bool:
    """Whether hours hold at a time on the wall: from their first minute up to their end."""
    minute = wall.hour * 60 + wall.minute
    if wall.date() in holidays:
        return any(start <= minute < end for start, end in on_holidays)
    return any(day == wall.weekday() and start <= minute < end for day, start, end in spans)


def allowed_at(register: Register, times: str, instant: dt.datetime, zone: dt.tzinfo) -> bool:
    """Whether the named weekly times hold at an instant, by the site's clock."""
    if times == ALWAYS:
        return True
    found = register.times.get(times)
    if found is None:
        return False
    wall = instant.astimezone(zone)
    return holds_at(found.spans, found.on_holidays, register.holidays.keys(), wall)


def instants(wall: dt.datetime, zone: zoneinfo.ZoneInfo) -> tuple[dt.datetime, ...]:
    """The instants at which the site's clock shows ``wall`` (without a zone), in UTC.

    Two in the hour that a change of the clock repeats, none in the one it leaves out.
    """
    found = []
    for fold in (0, 1):
        instant = wall.replace(tzinfo=zone, fold=fold).astimezone(dt.UTC)
        back = instant.astimezone(zone).replace(tzinfo=None)
        if back == wall.replace(fold=0) and instant not in found:
            found.append(instant)
    return tuple(found)
