"""Test sheets: what to try, what a meter should show, and room to write it down."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby

from latchwork.answers.schedules.model import NO_LOCK, DoorReadings, DoorRow, Reading, TrialRow
from latchwork.papers.content.room import on_one_line
from latchwork.papers.content.source import (
    Sheet,
    Source,
    amps,
    band,
    door_title,
    leave_by,
    lines,
    out_by,
    volts,
    with_beyond,
    words,
)
from latchwork.papers.tables import situation_words
from latchwork.words import has, say

Cell = list[str]
SIZE_PT, DEVICE_MM, TERMINAL_MM = 8.0, 25.4, 14.8
"""Size of a name of a device and a terminal, and its room in the template."""
ASKS = ("card", "exit")
"""Trials after which a door should be unlocked, whatever the model shows."""
FIRE = ("fire alarm", "fire panel off")
"""Trials that need the fire panel."""


def test_sheets(source: Source) -> list[Sheet]:
    """A sheet for every door with anything electrical."""
    return [_sheet(source, row) for row in source.schedules.readings]


def _sheet(source: Source, row: DoorReadings) -> Sheet:
    door = source.door(row.door)
    against = [t.against for t in row.terminals]
    minus = max(dict.fromkeys(against), key=against.count, default="")
    unit = "V~" if row.alternating else "V"
    return {
        "kind": "test",
        "title": words("sheet.test", {"door": door_title(door)}),
        "about": with_beyond(words("about.test", {"lock": door.lock or "–"}), door),
        "before": " ".join(
            (
                before(t.key in FIRE for t in source.schedules.trials[row.door]),
                words("test.not tried"),
            )
        ),
        "do_title": words("test.do"),
        "do_heads": [words(f"test.{k}") for k in ("try", "should", "ok", "seen")],
        "tests": [_trial(door, t) for t in source.schedules.trials[row.door]],
        "situations": [situation_words(key) for key in row.situations],
        "locks_title": words("test.locks"),
        "lock_head": say("schedules.column.lock"),
        "unit_head": words("test.unit"),
        "locks": [
            line
            for lock in row.locks
            for line in (
                {"device": lock.device, "what": unit, "cells": _volts(lock.volts_v)},
                {"device": "", "what": "A", "cells": [_amps(r) for r in lock.amps_a]},
            )
        ],
        "volts_title": words("test.volts"),
        "volts_about": words("test.about", {"minus": minus, "unit": unit}),
        "device": say("schedules.column.device"),
        "terminal": say("schedules.column.terminal"),
        "terminals": _terminals(row, minus),
        "signed": [words(f"test.{k}") for k in ("date", "tested by", "meter")],
    }


def before(fire: Iterable[bool]) -> str:
    """What to see to before a door is tested, and after. ``fire``: what is tried of the panel."""
    told = lines("test.before")
    return " ".join([*told[:-1], words("test.before fire"), told[-1]] if any(fire) else told)


def _terminals(row: DoorReadings, minus: str) -> list[dict[str, object]]:
    shown = [t for t in row.terminals if t.terminal != t.against]
    found: list[dict[str, object]] = []
    for device, group in groupby(shown, key=lambda t: t.device):
        its = list(group)
        for n, t in enumerate(its):
            name = t.terminal.removeprefix(f"{device}.") if device != t.terminal else ""
            if t.terminal == f"{device}~":
                name = words("test.beyond")
            if t.against != minus:
                name = words("test.other", {"terminal": name, "against": t.against})
            found.append(
                {
                    "device": device,
                    "span": 0 if n else len(its),
                    "terminal": name,
                    "low": (n > 0 or on_one_line(device, SIZE_PT, DEVICE_MM))
                    and on_one_line(name, SIZE_PT, TERMINAL_MM),
                    "cells": _volts(t.volts_v),
                }
            )
    return found


def _volts(rows: tuple[Reading, ...]) -> list[Cell]:
    return [[volts(r.value), band(r.low, r.high)] for r in rows]


def _amps(row: Reading) -> Cell:
    return [amps(row.value), band(row.low, row.high, 3)]


def _trial(door: DoorRow, row: TrialRow) -> dict[str, str]:
    do = f"trial.{row.key}"
    exact = f"{do} {row.device}"
    told = words(exact if row.device and has(f"papers.{exact}") else do)
    if row.which == "second exit":
        told = words("trial.second", {"do": told})
    expect = words(f"expect.{row.state}")
    if row.key == "release" and row.state != "unlocked":
        expect = words("expect.not freed", {"state": expect})
    if row.key in ASKS and row.state == "locked":
        expect = words("expect.not unlocked", {"state": expect})
    elif row.key == "card" and not row.device and row.state != NO_LOCK:
        expect = words("expect.wrong too", {"state": expect})
    if row.leave:
        shut_in = row.state != "unlocked" and out_by(row.leave) == out_by("nothing")
        key = "shut in" if shut_in else "leaving"
        expect = words(f"expect.{key}", {"state": expect, "leave": leave_by(door, row.leave)})
    return {"do": told, "expect": expect}
