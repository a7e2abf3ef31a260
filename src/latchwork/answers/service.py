"""The service plan: what to test at a visit so that no silent fault stays, and what to expect."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

import msgspec
from msgspec.structs import replace

from latchwork.answers.beyond import beyond, not_tried
from latchwork.answers.faults_words import fault_text
from latchwork.answers.service_supplies import near_end, supplies_of
from latchwork.behaviour import Event, Mode, Power
from latchwork.behaviour.situations import HELD_S
from latchwork.faults import (
    Consequence,
    Effect,
    FaultReport,
    Progress,
    Reading,
    Shown,
    bands,
)
from latchwork.faults.reasons import CLEAR_V
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
NOT_METERED = Reading("", True, "", "", 0.0, 0.0)
_POWERS, _MODES, _EVENTS = (tuple(each) for each in (Power, Mode, Event))
METER_V = 0.1
"""A meter that shows less shows nothing (common practice, no source)."""


class ServiceLine(msgspec.Struct, frozen=True):
    """One test: in which situation, where the meter goes, what it shows where nothing is wrong and
    the band of that, and which silent faults it finds, by name and in words. ``terminal`` "": the
    lock alone tells. ``supply``: what has to be switched off or on again for it, for all of its
    doors at once; "" where nothing has to. ``given``: the situation in words."""

    door: str
    supply: str
    situation: str
    moment: str
    """"begins" or "held": of what somebody does, whether one looks at once or past the relay
    time; else whether one looks as it comes about or later on."""
    do: str
    given: str
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

    @property
    def stage(self) -> tuple[int, int]:
        """Where its power and mode come in a visit: first what needs nothing switched off, power
        that comes back last."""
        power, mode, _ = _parts(self.situation)
        return _POWERS.index(power), _MODES.index(mode)

    @property
    def nothing_v(self) -> float | None:
        """Where the meter shows nothing if nothing is wrong, up to how much counts as that: what
        the test finds is further off."""
        nothing = max(abs(self.low_v), abs(self.high_v)) < METER_V
        return CLEAR_V if self.terminal and nothing else None

    @property
    def has_band(self) -> bool:
        """Whether the ends of its band read apart, in hundredths of a volt."""
        return f"{self.low_v:.2f}" != f"{self.high_v:.2f}"


def service_plan(
    wiring: Wiring,
    report: FaultReport,
    progress: Progress | None = None,
    over: Over | None = None,
) -> tuple[ServiceLine, ...]:
    """The fewest tests that find every silent fault of ``report``, by door.

    A fault that is silent alone is found by its lock; one that only a second fault brings to light
    by a meter, as is one that no lock shows before a battery is near its end. Faults that no
    reading tells apart are in no line, nor what shows only where the door's answer is beyond the
    model.
    """
    metered = {_screws(door, reading): (door, reading) for door, reading in _readings(report)}
    sound = dict(zip(metered, bands(wiring, list(metered.values()), progress, over), strict=True))
    rank = {door: n for n, door in enumerate(wiring.plan.doors)}
    out = []
    for test in _tests(wiring, report, sound):
        reading, finds = next(iter(test.readings.values()), NOT_METERED), test.finds
        low, high = sound[_screws(test.door, reading)] if test.readings else (0.0, 0.0)
        told = {name for name, r in test.readings.items() if _tells(r, low, high)}
        passed = set(finds) - told if test.readings else set()
        if passed and test.lock:
            # The lock tells all of them; a reading that some of them pass would mislead.
            reading, low, high = NOT_METERED, 0.0, 0.0
        elif passed:
            finds = tuple(name for name in finds if name not in passed)
        if not finds:
            continue
        given = _given(test.situation, near_end(wiring, test.door))
        out.append(
            ServiceLine(
                test.door,
                ", ".join(supplies_of(wiring, test.door)) if _switched(test.situation) else "",
                test.situation,
                "held" if test.held else "begins",
                in_words(test.situation, test.held, given),
                given,
                _months(test.situation),
                test.lock,
                test.state,
                reading.terminal,
                reading.against,
                reading.sound_v,
                low,
                high,
                finds,
                tuple(fault_text(report.faults[name]) for name in finds),
            )
        )
    return tuple(sorted(_joined(out), key=lambda line: (rank[line.door], *_turn(line))))


def untried(
    wiring: Wiring, report: FaultReport, plan: Sequence[ServiceLine]
) -> dict[str, tuple[str, ...]]:
    """By door, in words: the silent faults that no test finds, as they show only in what of the
    door is beyond the model."""
    tested = {(line.door, fault) for line in plan for fault in line.finds}
    found: dict[str, dict[str, None]] = {
        name: {} for name in wiring.plan.doors if beyond(wiring, name)
    }
    for c in report.consequences:
        silent = Effect.SILENT in (c.effect, *c.also)
        if c.door in found and silent and (c.door, c.fault) not in tested:
            found[c.door][fault_text(report.faults[c.fault])] = None
    return {door: tuple(texts) for door, texts in found.items() if texts}


def _joined(lines: Sequence[ServiceLine]) -> Iterator[ServiceLine]:
    """The lines, with what a meter alone tells in the line that has the meter there anyway."""
    alone: dict[object, list[ServiceLine]] = defaultdict(list)
    for line in lines:
        if not line.lock:
            alone[_place(line)].append(line)
    for line in lines:
        if line.lock:
            more = alone.pop(_place(line), []) if line.terminal else []
            told = {f: t for x in (line, *more) for f, t in zip(x.finds, x.told, strict=True)}
            names = tuple(sorted(told))
            yield replace(line, finds=names, told=tuple(told[name] for name in names))
    for some in alone.values():
        yield from some


def _place(line: ServiceLine) -> object:
    """In which test, when and where the meter is put."""
    return line.door, line.situation, line.moment, line.terminal, line.against


def _turn(line: ServiceLine) -> tuple[int, tuple[int, int], int, str, str]:
    """When a test of a door has its turn."""
    event = _EVENTS.index(_parts(line.situation)[2])
    return line.every_months, line.stage, event, line.situation, line.moment


@dataclass(frozen=True, slots=True)
class _Test:
    """Where and when to look at a door; the lock and its state where nothing is wrong, "" where a
    meter alone tells; faults found, and readings of them at one terminal."""

    door: str
    situation: str
    held: bool
    lock: str
    state: str
    finds: tuple[str, ...]
    readings: Mapping[str, Reading]


_Screws = tuple[str, str, bool, str, str]
"""At which door, when and where a meter is put."""


def _screws(door: str, reading: Reading) -> _Screws:
    return door, reading.situation, reading.held, reading.terminal, reading.against


def _readings(report: FaultReport) -> Iterator[tuple[str, Reading]]:
    """All that a meter may be asked for, with its door."""
    for c in report.consequences:
        for reading in (c.reading, report.faults[c.fault].till_then):
            if reading is not None:
                yield c.door, reading
    for pair in report.pairs.pairs if report.pairs else ():
        for reading in (pair.reading, pair.second_reading):
            if reading is not None:
                yield pair.door, reading


def _tests(
    wiring: Wiring, report: FaultReport, sound: Mapping[_Screws, tuple[float, float]]
) -> Iterator[_Test]:
    unknown = {name: not_tried(wiring, name) for name in wiring.plan.doors}
    by_door: dict[str, dict[str, Consequence]] = defaultdict(dict)
    for c in report.consequences:
        if Effect.SILENT in (c.effect, *c.also):
            by_door[c.door].setdefault(c.fault, c)
    by_meter: dict[_Screws, dict[str, Reading]] = defaultdict(dict)
    for door, silent in by_door.items():
        early = dict(_early(door, silent, unknown[door], sound))
        for name, found in early.items():
            by_meter[_screws(door, found)][name] = found
        left = {name: c for name, c in silent.items() if name not in early}
        yield from _cover(door, left, unknown[door])
    yield from _slow(report)
    alone = {(c.door, c.fault) for c in report.consequences}
    for pair in report.pairs.pairs if report.pairs else ():
        for name, reading in (
            (pair.silent, pair.reading),
            (pair.second, pair.second_reading),
        ):
            if reading is None or (pair.door, name) in alone:
                continue
            if _parts(reading.situation)[2] not in unknown[pair.door]:
                by_meter[_screws(pair.door, reading)][name] = reading
    for (door, situation, held, *_), by_fault in by_meter.items():
        names = tuple(sorted(by_fault))
        yield _Test(door, situation, held, "", "", names, {n: by_fault[n] for n in names})


def _early(
    door: str,
    silent: Mapping[str, Consequence],
    unknown: Collection[str],
    sound: Mapping[_Screws, tuple[float, float]],
) -> Iterator[tuple[str, Reading]]:
    """What shows at a lock as a battery ends and not before, where a meter tells it without: a
    visit does not run a battery down, and a lock that is marginal then may do as it should."""
    for name, c in silent.items():
        late = c.shows_in and not any(_soon(s.situation) for s in c.shows_in)
        reading = c.reading
        if not late or reading is None or not _soon(reading.situation):
            continue
        event = _parts(reading.situation)[2]
        if event not in unknown and _tells(reading, *sound[_screws(door, reading)]):
            yield name, reading


def _slow(report: FaultReport) -> Iterator[_Test]:
    """What does its harm hours later: a meter tells it before, at the first door that has it."""
    seen: set[str] = set()
    for c in report.consequences:
        reading = report.faults[c.fault].till_then
        if reading is not None and c.fault not in seen:
            seen.add(c.fault)
            names = {c.fault: reading}
            yield _Test(c.door, reading.situation, reading.held, "", "", (c.fault,), names)


def _cover(
    door: str, silent: Mapping[str, Consequence], unknown: Collection[str]
) -> Iterator[_Test]:
    """Few tests in which all of these faults show: the one that shows most first, and what a visit
    cannot bring about for what nothing else shows. ``unknown``: what is not to be tried."""
    left: dict[str, tuple[Shown, ...]] = {}
    for name, c in silent.items():
        shown = tuple(s for s in c.shows_in if _parts(s.situation)[2] not in unknown)
        if shown:
            left[name] = shown
    while left:
        places = [shown for some in left.values() for shown in some]
        best = max(
            dict.fromkeys(places), key=lambda s: (_soon(s.situation), places.count(s), _usual(s))
        )
        names = tuple(sorted(name for name, some in left.items() if best in some))
        yield _Test(door, *best, names, _metered(best, names, silent))
        for name in names:
            del left[name]


def _metered(
    at: Shown, names: Sequence[str], silent: Mapping[str, Consequence]
) -> dict[str, Reading]:
    """Those of the faults that a meter tells there and then, at the terminal that tells most."""
    found = {}
    for name in names:
        reading = silent[name].reading
        if reading and (reading.situation, reading.held) == (at.situation, at.held):
            found[name] = reading
    terminals = [reading.terminal for reading in found.values()]
    most = max(terminals, key=terminals.count, default="")
    return {name: reading for name, reading in found.items() if reading.terminal == most}


def _tells(reading: Reading, low: float, high: float) -> bool:
    """Whether what a meter shows with the fault lies clearly outside what it may show without."""
    return not low - CLEAR_V <= reading.faulty_v <= high + CLEAR_V


def _parts(situation: str) -> tuple[str, str, str]:
    """Power, mode and event of a situation's key, without which exit device is used."""
    power, mode, event = (part.strip() for part in situation.split("/"))
    return power, mode, event.partition(" (")[0]


def _soon(situation: str) -> bool:
    """Whether a visit can bring it about: a battery takes hours to its end."""
    return _parts(situation)[0] != Power.BATTERY_END


def _usual(shown: Shown) -> bool:
    """Whether one looks when one would: at once at what somebody does, else in the long run."""
    return shown.held is (_parts(shown.situation)[2] == Event.NOBODY)


def _switched(situation: str) -> bool:
    """Whether a supply has to be switched for it."""
    return _parts(situation)[0] != Power.MAINS


def _given(situation: str, end: str) -> str:
    power, mode, _ = _parts(situation)
    return say(f"service.given.{mode if mode != Mode.NORMAL else power}", {"end": end})


def in_words(situation: str, held: bool, given: str) -> str:
    """What to do in a situation, which is ``given`` in words."""
    _, _, event = _parts(situation)
    moment = "held" if held else "begins"
    which = situation.partition(" (")[2].rstrip(")")
    # A key has words of its own; several exit devices have theirs, and their slot in them.
    tail = f" ({which if event == Event.CREDENTIAL else 'which'})" if which else ""
    told = {"given": given, "wait": f"{HELD_S:g} s", "which": which}
    return say(f"service.do.{event}{tail}.{moment}", told)


def _months(situation: str) -> int:
    """A battery is not brought to its end for the sake of what is tried on it then."""
    if not _soon(situation):
        return MONTHS[Power.BATTERY_END]
    return min(MONTHS.get(part, USUAL_MONTHS) for part in _parts(situation))
