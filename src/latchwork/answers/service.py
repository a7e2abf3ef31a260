"""The service plan: what to test at a visit so that no silent fault stays, and what to expect."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping

import msgspec

from latchwork.answers.faults_words import fault_text
from latchwork.behaviour import Event, Mode, Power
from latchwork.faults import Consequence, Effect, FaultReport, Progress, Reading, bands
from latchwork.faults.spread import Over
from latchwork.wiring import Wiring
from latchwork.words import say

MONTHS: Mapping[str, int] = {
    Mode.FIRE_ALARM: 3,
    Mode.PANEL_LOST: 3,
    Mode.FIRE_RESET: 3,
    Event.RELEASE: 6,
    Power.BATTERY: 6,
    Power.BATTERY_END: 12,
}
"""How often what is tried in a situation is tested (common practice, no source)."""
USUAL_MONTHS = 12


class ServiceLine(msgspec.Struct, frozen=True):
    """One test: in which situation, where the meter goes, what it shows where nothing is wrong and
    the band of that, and which silent faults it finds, by name and in words. ``terminal`` "": the
    lock alone tells."""

    door: str
    situation: str
    do: str
    every_months: int
    lock: str
    expected_state: str
    terminal: str
    against: str
    expected_v: float
    low_v: float
    high_v: float
    finds: tuple[str, ...]
    told: tuple[str, ...]


def service_plan(
    wiring: Wiring,
    report: FaultReport,
    progress: Progress | None = None,
    over: Over | None = None,
) -> tuple[ServiceLine, ...]:
    """The fewest tests that find every silent fault of ``report``, by door.

    A fault that is silent alone is found by its lock; one that only a second fault brings to light
    by a meter. Faults that no reading tells apart are in no line.
    """
    lines = list(_lines(report))
    metered = [(door, reading) for door, reading, *_ in lines if reading.terminal]
    found = iter(bands(wiring, metered, progress, over))
    rank = {door: n for n, door in enumerate(wiring.plan.doors)}
    out = []
    for door, reading, lock, state, finds in lines:
        low, high = next(found) if reading.terminal else (0.0, 0.0)
        out.append(
            ServiceLine(
                door,
                reading.situation,
                _do(reading.situation),
                _months(reading.situation),
                lock,
                state,
                reading.terminal,
                reading.against,
                reading.sound_v,
                low,
                high,
                finds,
                tuple(fault_text(report.faults[name]) for name in finds),
            )
        )
    return tuple(sorted(out, key=lambda line: (rank[line.door], line.every_months, line.situation)))


Line = tuple[str, Reading, str, str, tuple[str, ...]]
"""Door, where to look, the lock and its state where nothing is wrong, faults found."""


def _lines(report: FaultReport) -> Iterator[Line]:
    by_door: dict[str, dict[str, Consequence]] = defaultdict(dict)
    for c in report.consequences:
        if Effect.SILENT in (c.effect, *c.also):
            by_door[c.door].setdefault(c.fault, c)
    for door, silent in by_door.items():
        yield from _cover(door, silent)
    alone = {(c.door, c.fault) for c in report.consequences}
    by_meter: dict[tuple[str, str, str], dict[str, Reading]] = defaultdict(dict)
    for pair in report.pairs.pairs if report.pairs else ():
        reading = pair.reading
        if reading is not None and (pair.door, pair.silent) not in alone:
            key = pair.door, reading.situation, reading.terminal
            by_meter[key][pair.silent] = reading
    for (door, _, _), by_fault in by_meter.items():
        yield door, next(iter(by_fault.values())), "", "", tuple(sorted(by_fault))


def _cover(door: str, silent: Mapping[str, Consequence]) -> Iterator[Line]:
    """Few situations in which all of these faults show: the one that shows most first, and what a
    visit cannot bring about for what nothing else shows."""
    left = dict(silent)
    while left:
        situations = [key for c in left.values() for key, _, _ in c.shows_in]
        best = max(dict.fromkeys(situations), key=lambda s: (_soon(s), situations.count(s)))
        found = {
            name: next((shown for shown in c.shows_in if shown[0] == best), None)
            for name, c in left.items()
        }
        names = sorted(name for name, shown in found.items() if shown)
        metered = {n: r for n in names if (r := left[n].reading) and r.situation == best}
        # The meter goes where it tells most of them.
        terminals = [r.terminal for r in metered.values()]
        told = max(metered, key=lambda n: terminals.count(metered[n].terminal), default=names[0])
        _, lock, state = found[told] or ("", "", "")
        reading = metered.get(told) or Reading(best, True, "", "", 0.0, 0.0)
        yield door, reading, lock, state, tuple(names)
        for name in names:
            del left[name]


def _soon(situation: str) -> bool:
    """Whether a visit can bring it about: a battery takes hours to its end."""
    return not situation.startswith(f"{Power.BATTERY_END}/")


def _do(situation: str) -> str:
    power, mode, event = (part.strip() for part in situation.split("/"))
    event = event.partition(" (")[0]
    given = mode if mode != Mode.NORMAL else power
    line = {"do": say(f"service.do.{event}"), "given": say(f"service.given.{given}")}
    return say("service.line", line)


def _months(situation: str) -> int:
    return min(MONTHS.get(part.strip(), USUAL_MONTHS) for part in situation.split("/"))
