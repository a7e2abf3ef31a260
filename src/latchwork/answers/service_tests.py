"""Which tests of the service plan find which silent faults: where and when one looks, and where a
meter goes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from latchwork.answers.beyond import not_tried
from latchwork.behaviour import Event, Mode, Power
from latchwork.behaviour.situations import KEY, DoorInputs, Situation
from latchwork.faults import (
    Consequence,
    Effect,
    FaultReport,
    Progress,
    Reading,
    Seen,
    Shown,
    Sight,
    sights,
)
from latchwork.faults.spread import Over
from latchwork.wiring import Wiring


@dataclass(frozen=True, slots=True)
class Test:
    """Where and when to look at a door; the lock and its state where nothing is wrong, "" where a
    meter alone tells; what it finds; where the meter goes, and what it shows there (None: there is
    none)."""

    door: str
    situation: str
    held: bool
    lock: str
    state: str
    finds: tuple[str, ...]
    terminal: str = ""
    against: str = ""
    shown: Seen | None = None


def tests(
    wiring: Wiring,
    report: FaultReport,
    progress: Progress | None,
    over: Over | None,
    elsewhere: Collection[str],
) -> Iterator[Test]:
    """Few tests that find every silent fault that is not found ``elsewhere``."""
    kept = tuple(c for c in report.consequences if c.fault not in elsewhere)
    report = replace(report, consequences=kept)
    table = _Table(wiring, report, progress, over)
    alone: dict[str, dict[str, Consequence]] = defaultdict(dict)
    for c in _silent(report):
        alone[c.door].setdefault(c.fault, c)
    by_meter: dict[Sight, dict[str, Reading]] = defaultdict(dict)
    for door, silent in alone.items():
        early = dict(_early(table, silent))
        for name, found in early.items():
            by_meter[_screws(door, found)][name] = found
        yield from _cover(table, {n: c for n, c in silent.items() if n not in early})
    told = {(c.door, c.fault) for c in report.consequences}
    for door, name, reading in _paired(report):
        if (door, name) not in told and table.looks[door].known(reading.situation):
            by_meter[_screws(door, reading)][name] = reading
    for c in report.consequences:
        # What does its harm hours later: a meter tells it before, at the first door that has it.
        slow = report.faults[c.fault].till_then
        if slow is not None and not any(c.fault in some for some in by_meter.values()):
            by_meter[_screws(c.door, slow)][c.fault] = slow
    for at, some in by_meter.items():
        shown = {n: table.volts(n, r, at) for n, r in some.items()}
        names = tuple(sorted(n for n, v in shown.items() if table.meter_tells(at, n, v)))
        if names:
            ends = at.terminal, at.against, table.seen[at]
            yield Test(at.door, at.situation, at.held, "", "", names, *ends)


def _silent(report: FaultReport) -> Iterator[Consequence]:
    return (c for c in report.consequences if Effect.SILENT in (c.effect, *c.also))


def _paired(report: FaultReport) -> Iterator[tuple[str, str, Reading]]:
    """At which door a meter tells what only a second fault brings to light."""
    for pair in report.pairs.pairs if report.pairs else ():
        for name, reading in ((pair.silent, pair.reading), (pair.second, pair.second_reading)):
            if reading is not None:
                yield pair.door, name, reading


def _screws(door: str, reading: Reading) -> Sight:
    """A meter alone, put where a reading is."""
    return Sight(door, reading.situation, reading.held, "", reading.terminal, reading.against)


def _on_battery(door: str, reading: Reading) -> Sight:
    """The same screws with the mains off."""
    usual = Situation(Power.BATTERY, Mode.NORMAL, Event.NOBODY).key
    return Sight(door, usual, reading.held, "", reading.terminal, reading.against)


class _Looks:
    """Where one may look at a door for what a lock does."""

    def __init__(self, wiring: Wiring, door: str, wired: frozenset[str]) -> None:
        self._door, self._wiring, self._wired = door, wiring, wired
        self._unknown = not_tried(wiring, door)
        devices, slots = wiring.plan.devices, wiring.plan.doors[door].devices
        units = [devices[slots[slot]].part for slot in DoorInputs(wiring.plan, door, ()).units]
        self._code_alone = all(part.facts.get("credentials") == "code" for part in units)

    def known(self, situation: str) -> bool:
        """Whether the model says what comes of what is done in it."""
        return parts_of(situation)[2] not in self._unknown

    def at(self, found: Consequence) -> tuple[Shown, ...]:
        """Where a lock surely tells a fault: a marginal one may do as it should, and a code cannot
        be kept there as a card can."""
        return tuple(
            s
            for s in found.shows_in
            if s.sure and self.known(s.situation) and not (self._code_alone and _card_kept(s))
        )

    def sight(self, shown: Shown) -> Sight:
        """A look at the lock, with a meter across it where both its ends have a wire."""
        terminals = self._wiring.plan.devices[shown.lock].part.terminals[:2]
        ends = [f"{shown.lock}.{t.name}" for t in terminals]
        across = ends if len(ends) == 2 and self._wired.issuperset(ends) else ("", "")
        return Sight(self._door, shown.situation, shown.held, shown.lock, *across)


class _Table:
    """Everything that one may look at for a silent fault, and what comes of it."""

    def __init__(
        self,
        wiring: Wiring,
        report: FaultReport,
        progress: Progress | None,
        over: Over | None,
    ) -> None:
        ends = [(core.start, core.end) for core in wiring.conductors]
        ends += [(lead.start, lead.end) for lead in wiring.leads]
        wired = frozenset(end for pair in ends for end in pair)
        self.looks = {name: _Looks(wiring, name, wired) for name in wiring.plan.doors}
        self._slow = {name: f.till_then for name, f in report.faults.items() if f.till_then}
        wanted: dict[Sight, dict[str, None]] = defaultdict(dict)
        for c in _silent(report):
            for shown in self.looks[c.door].at(c):
                wanted[self.looks[c.door].sight(shown)][c.fault] = None
            slow = report.faults[c.fault].till_then
            if slow is not None:
                # It is told before it does what the fault is run as.
                wanted[_screws(c.door, slow)].update()
                wanted[_on_battery(c.door, slow)].update()
            elif c.reading is not None:
                wanted[_screws(c.door, c.reading)][c.fault] = None
        for door, name, reading in _paired(report):
            wanted[_screws(door, reading)][name] = None
        asked = [replace(sight, faults=tuple(some)) for sight, some in wanted.items()]
        self.seen = dict(zip(wanted, sights(wiring, asked, progress, over), strict=True))

    def volts(self, fault: str, reading: Reading, at: Sight) -> float:
        """What a meter shows with a fault: of a supply that lives on its battery, what that gives
        under the load that a sound supply has there."""
        slow = self._slow.get(fault)
        return reading.faulty_v if slow is None else self.seen[_on_battery(at.door, slow)].volt_v

    def lock_tells(self, at: Sight, fault: str) -> bool:
        """Whether the lock tells a fault, and as surely in the worst cases."""
        return fault in self.seen[at].by_lock or fault not in self.seen[at].here

    def meter_tells(self, at: Sight, fault: str, faulty_v: float | None = None) -> bool:
        """Whether the meter tells it; of a fault that is not run there, by its ``faulty_v``."""
        seen = self.seen[at]
        if fault in seen.by_meter or faulty_v is None:
            return fault in seen.by_meter
        return fault not in seen.here and seen.tells(faulty_v)


def _early(table: _Table, silent: Mapping[str, Consequence]) -> Iterator[tuple[str, Reading]]:
    """What shows at a lock as a battery ends and not before, or at no lock for sure, where a meter
    tells it without: a visit does not run a battery down."""
    for name, c in silent.items():
        looks, reading = table.looks[c.door], c.reading
        if not c.shows_in or reading is None or not soon(reading.situation):
            continue
        late = not any(soon(s.situation) for s in _places(table, c))
        tells = table.meter_tells(_screws(c.door, reading), name, reading.faulty_v)
        if late and looks.known(reading.situation) and tells:
            yield name, reading


def _places(table: _Table, found: Consequence) -> list[Shown]:
    """Where a lock, or a meter across it, tells a fault in the worst cases too."""
    looks, name = table.looks[found.door], found.fault
    each = [(s, looks.sight(s)) for s in looks.at(found)]
    return [s for s, at in each if table.lock_tells(at, name) or table.meter_tells(at, name)]


def _cover(table: _Table, silent: Mapping[str, Consequence]) -> Iterator[Test]:
    """Few tests in which all of these faults show: the one that shows most first, and what a visit
    cannot bring about, or a card that is kept there, for what nothing else shows."""
    left: dict[str, Sequence[Shown]] = {}
    unsure = set()
    for name, c in silent.items():
        left[name] = _places(table, c)
        if not left[name]:
            # Better at nominal figures than not at all.
            left[name] = table.looks[c.door].at(c)
            unsure.add(name)
    while places := [shown for some in left.values() for shown in some]:

        def worth(s: Shown, places: Sequence[Shown] = places) -> tuple[bool, bool, int, bool]:
            return soon(s.situation), not _card_kept(s), places.count(s), _usual(s)

        best = max(dict.fromkeys(places), key=worth)
        found = {name: silent[name] for name, some in left.items() if best in some}
        at = table.looks[next(iter(found.values())).door].sight(best)
        meter = _meter(table, at, found)
        if meter is None:
            told = {n: c for n, c in found.items() if n in unsure or table.lock_tells(at, n)}
            found = told or found
            meter = _meter(table, at, found)
        ends = (meter.terminal, meter.against, table.seen[meter]) if meter else ()
        yield Test(at.door, *best[:4], tuple(sorted(found)), *ends)
        left = {name: some for name, some in left.items() if name not in found}


def _meter(table: _Table, at: Sight, found: Mapping[str, Consequence]) -> Sight | None:
    """Where a meter tells all of these faults there and then: a reading that one of them passes
    would mislead."""
    tried = [
        _screws(c.door, c.reading)
        for c in found.values()
        if c.reading and (c.reading.situation, c.reading.held) == (at.situation, at.held)
    ]
    for sight in (*sorted(dict.fromkeys(tried), key=tried.count, reverse=True), at):
        nominal = {
            name: c.reading.faulty_v
            for name, c in found.items()
            if c.reading and _screws(c.door, c.reading) == sight
        }
        if sight.terminal and all(
            table.meter_tells(sight, name, nominal.get(name)) for name in found
        ):
            return sight
    return None


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
