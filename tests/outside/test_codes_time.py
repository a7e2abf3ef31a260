"""Hours by the clock on the wall, held against the transitions in tzdata's own files."""

from __future__ import annotations

import datetime as dt
import struct
import zoneinfo
from importlib import resources
from typing import NamedTuple

import pytest

from latchwork.codes.access.times import holds_at, instants, parse_times
from latchwork.codes.access.when import moments
from latchwork.codes.errors import CodesError

ZONES = (
    "Europe/Berlin",
    "Europe/London",
    "America/New_York",
    "America/St_Johns",
    "Australia/Lord_Howe",
    "Asia/Kathmandu",
    "Pacific/Apia",
    "America/Sao_Paulo",
)
SINCE = dt.datetime(1970, 1, 1, tzinfo=dt.UTC).timestamp()


class Transition(NamedTuple):
    at: dt.datetime
    before_s: int
    after_s: int


def transitions(zone: str) -> list[Transition]:
    """The transitions of a TZif file (RFC 8536, version 2 block), read here byte by byte."""
    folder, _, name = zone.rpartition("/")
    path = resources.files("tzdata.zoneinfo")
    for part in folder.split("/"):
        path = path / part
    data = (path / name).read_bytes()

    def header(at: int) -> tuple[int, ...]:
        assert data[at : at + 4] == b"TZif"
        return struct.unpack_from(">6l", data, at + 20)

    isut, isstd, leap, times, types, chars = header(0)
    second = 44 + times * 5 + types * 6 + chars + leap * 8 + isstd + isut
    isut, isstd, leap, times, types, chars = header(second)
    at = second + 44
    stamps = struct.unpack_from(f">{times}q", data, at)
    indexes = struct.unpack_from(f">{times}B", data, at + 8 * times)
    offsets = [struct.unpack_from(">l", data, at + 9 * times + 6 * i)[0] for i in range(types)]
    found = []
    for i in range(1, times):
        before, after = offsets[indexes[i - 1]], offsets[indexes[i]]
        if before != after and stamps[i] > SINCE:
            found.append(Transition(dt.datetime.fromtimestamp(stamps[i], dt.UTC), before, after))
    return found


@pytest.mark.parametrize("zone", ZONES)
def test_walls_around_every_transition(zone: str) -> None:
    """Put forward: the walls left out have no instant. Put back: those shown twice have two."""
    info = zoneinfo.ZoneInfo(zone)
    found = transitions(zone)
    assert found
    for change in found:
        shown_before = (change.at + dt.timedelta(seconds=change.before_s)).replace(tzinfo=None)
        jump = dt.timedelta(seconds=change.after_s - change.before_s)
        shown_after = shown_before + jump
        low, high = sorted((shown_before, shown_after))
        middle = low + (high - low) / 2
        seen = instants(middle, info)
        if jump > dt.timedelta():
            assert seen == ()
        else:
            first = middle - dt.timedelta(seconds=change.before_s)
            second = middle - dt.timedelta(seconds=change.after_s)
            assert seen == (first.replace(tzinfo=dt.UTC), second.replace(tzinfo=dt.UTC))
        day = dt.timedelta(hours=30)
        for wall, offset in ((low - day, change.before_s), (high + day, change.after_s)):
            quiet = not any(abs(t.at - change.at) < 2 * day for t in found if t is not change)
            if quiet:
                utc = (wall - dt.timedelta(seconds=offset)).replace(tzinfo=dt.UTC)
                assert instants(wall, info) == (utc,)


def test_the_nights_of_a_clock_change_in_berlin() -> None:
    """2026-03-29 01:00 UTC forward, 2026-10-25 01:00 UTC back (EU rule, from tzdata's rule)."""
    berlin = zoneinfo.ZoneInfo("Europe/Berlin")
    now = dt.datetime(2026, 3, 1, tzinfo=dt.UTC)
    with pytest.raises(CodesError, match="not on the clock at the site"):
        moments("2026-03-29 02:30", now, berlin)
    twice = moments("2026-10-25 02:30", now, berlin)
    assert [t.isoformat() for t in twice] == [
        "2026-10-25T00:30:00+00:00",
        "2026-10-25T01:30:00+00:00",
    ]


@pytest.mark.parametrize(
    ("day", "hours"), [("2026-03-29", 23), ("2026-10-25", 25), ("2026-06-14", 24)]
)
def test_hours_of_a_day_counted_minute_by_minute(day: str, hours: int) -> None:
    """A span over the whole day holds 23, 25 or 24 hours; 01:00 to 04:00 two, four, three."""
    berlin = zoneinfo.ZoneInfo("Europe/Berlin")
    whole = parse_times("w", "sun 00:00-24:00")
    night = parse_times("n", "sun 01:00-04:00")
    start = dt.datetime.fromisoformat(day).replace(tzinfo=berlin).astimezone(dt.UTC)
    minutes = [start + dt.timedelta(minutes=m) for m in range(-120, 28 * 60)]

    def held(times: object) -> int:
        return sum(
            holds_at(times.spans, (), (), m.astimezone(berlin))  # type: ignore[attr-defined]  # read
            for m in minutes
        )

    assert held(whole) == hours * 60
    assert held(night) == (hours - 21) * 60
