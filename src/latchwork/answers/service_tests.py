"""Which tests of the service plan find which silent faults: where and when one looks, and where a
meter goes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from latchwork.answers.beyond import not_tried
from latchwork.behaviour import Event, Power
from latchwork.behaviour.situations import KEY, DoorInputs
from latchwork.faults import Consequence, Effect, FaultReport, Reading, Shown
from latchwork.faults.reasons import CLEAR_V
from latchwork.wiring import Wiring


@dataclass(frozen=True, slots=True)
class Test:
    """Where and when to look at a door; the lock and its state where nothing is wrong, "" where a
    meter alone tells; faults found, and readings of them at one terminal."""

    door: str
    situation: str
    held: bool
    lock: str
    state: str
    finds: tuple[str, ...]
    readings: Mapping[str, Reading]


Screws = tuple[str, str, bool, str, str]
"""At which door, when and where a meter is put."""


def screws(door: str, reading: Reading) -> Screws:
    return door, reading.situation, reading.held, reading.terminal, reading.against


def readings_of(report: FaultReport) -> Iterator[tuple[str, Reading]]:
    """All that a meter may be asked for, with its door."""
    for c in report.consequences:
        for reading in (c.reading, report.faults[c.fault].till_then):
            if reading is not None:
                yield c.door, reading
    for pair in report.pairs.pairs if report.pairs else ():
        for reading in (pair.reading, pair.second_reading):
            if reading is not None:
                yield pair.door, reading


class _Looks:
    """Where one may look at a door for what a lock does."""

    def __init__(self, wiring: Wiring, door: str) -> None:
        self.unknown = not_tried(wiring, door)
        """What is not to be tried."""
        devices, slots = wiring.plan.devices, wiring.plan.doors[door].devices
        units = [devices[slots[slot]].part for slot in DoorInputs(wiring.plan, door, ()).units]
        self._code_alone = all(part.facts.get("credentials") == "code" for part in units)

    def at(self, found: Consequence) -> tuple[Shown, ...]:
        """Where a lock surely tells a fault: a marginal one may do as it should, and a code cannot
        be kept there as a card can."""
        return tuple(
            s
            for s in found.shows_in
            if s.sure
            and parts_of(s.situation)[2] not in self.unknown
            and not (self._code_alone and _card_kept(s))
        )


def tests(
    wiring: Wiring, report: FaultReport, sound: Mapping[Screws, tuple[float, float]]
) -> Iterator[Test]:
    looks = {name: _Looks(wiring, name) for name in wiring.plan.doors}
    by_door: dict[str, dict[str, Consequence]] = defaultdict(dict)
    for c in report.consequences:
        if Effect.SILENT in (c.effect, *c.also):
            by_door[c.door].setdefault(c.fault, c)
    by_meter: dict[Screws, dict[str, Reading]] = defaultdict(dict)
    for door, silent in by_door.items():
        early = dict(_early(door, silent, looks[door], sound))
        for name, found in early.items():
            by_meter[screws(door, found)][name] = found
        left = {name: c for name, c in silent.items() if name not in early}
        yield from _cover(door, left, looks[door])
    yield from _slow(report)
    alone = {(c.door, c.fault) for c in report.consequences}
    for pair in report.pairs.pairs if report.pairs else ():
        for name, reading in (
            (pair.silent, pair.reading),
            (pair.second, pair.second_reading),
        ):
            if reading is None or (pair.door, name) in alone:
                continue
            if parts_of(reading.situation)[2] not in looks[pair.door].unknown:
                by_meter[screws(pair.door, reading)][name] = reading
    for (door, situation, held, *_), by_fault in by_meter.items():
        names = tuple(sorted(by_fault))
        yield Test(door, situation, held, "", "", names, {n: by_fault[n] for n in names})


def _early(
    door: str,
    silent: Mapping[str, Consequence],
    looks: _Looks,
    sound: Mapping[Screws, tuple[float, float]],
) -> Iterator[tuple[str, Reading]]:
    """What shows at a lock as a battery ends and not before, or at no lock for sure, where a meter
    tells it without: a visit does not run a battery down."""
    for name, c in silent.items():
        late = c.shows_in and not any(soon(s.situation) for s in looks.at(c))
        reading = c.reading
        if not late or reading is None or not soon(reading.situation):
            continue
        event = parts_of(reading.situation)[2]
        if event not in looks.unknown and tells(reading, *sound[screws(door, reading)]):
            yield name, reading


def _slow(report: FaultReport) -> Iterator[Test]:
    """What does its harm hours later: a meter tells it before, at the first door that has it."""
    seen: set[str] = set()
    for c in report.consequences:
        reading = report.faults[c.fault].till_then
        if reading is not None and c.fault not in seen:
            seen.add(c.fault)
            names = {c.fault: reading}
            yield Test(c.door, reading.situation, reading.held, "", "", (c.fault,), names)


def _cover(door: str, silent: Mapping[str, Consequence], looks: _Looks) -> Iterator[Test]:
    """Few tests in which all of these faults show: the one that shows most first, and what a visit
    cannot bring about, or a card that is kept there, for what nothing else shows."""
    left = {name: shown for name, c in silent.items() if (shown := looks.at(c))}
    while left:
        places = [shown for some in left.values() for shown in some]

        def worth(s: Shown, places: Sequence[Shown] = places) -> tuple[bool, bool, int, bool]:
            return soon(s.situation), not _card_kept(s), places.count(s), _usual(s)

        best = max(dict.fromkeys(places), key=worth)
        names = tuple(sorted(name for name, some in left.items() if best in some))
        yield Test(door, *best[:4], names, _at_hand(best, names, silent))
        for name in names:
            del left[name]


def _at_hand(
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


def tells(reading: Reading, low: float, high: float) -> bool:
    """Whether what a meter shows with the fault lies clearly outside what it may show without."""
    return not low - CLEAR_V <= reading.faulty_v <= high + CLEAR_V


def parts_of(situation: str) -> tuple[str, str, str]:
    """Power, mode and event of a situation's key, without which exit device is used."""
    power, mode, event = (part.strip() for part in situation.split("/"))
    return power, mode, event.partition(" (")[0]


def soon(situation: str) -> bool:
    """Whether a visit can bring it about: a battery takes hours to its end."""
    return parts_of(situation)[0] != Power.BATTERY_END


def _card_kept(shown: Shown) -> bool:
    """Whether a card has to be kept there past the relay time for it."""
    event = parts_of(shown.situation)[2]
    return shown.held and event == Event.CREDENTIAL and f"({KEY})" not in shown.situation


def _usual(shown: Shown) -> bool:
    """Whether one looks when one would: at once at what somebody does, else in the long run."""
    return shown.held is (parts_of(shown.situation)[2] == Event.NOBODY)
