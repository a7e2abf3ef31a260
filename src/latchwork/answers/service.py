"""The service plan: what to test at a visit so that no silent fault stays, and what to expect."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence

import msgspec
from msgspec.structs import replace

from latchwork.answers.faults_words import fault_text
from latchwork.answers.service_supplies import near_end, supplies_of
from latchwork.answers.service_tests import parts_of, soon, tests
from latchwork.behaviour import Event, Mode, Power
from latchwork.behaviour.outcomes import LOCK_SLOTS
from latchwork.behaviour.situations import HELD_S
from latchwork.faults import Effect, FaultReport, Progress
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
WAY_OUT = (Effect.TRAPS, Effect.BLOCKS, Effect.INWARD, Effect.HOLDS, Effect.RELEASE)
"""Effects that take people's way out: what comes to one, alone or with a second fault, is tested as
often as an emergency release (common practice, no source)."""
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
    by_itself: bool
    """The door has another lock, which may hold it all the same: one looks at this one alone."""
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
        power, mode, _ = parts_of(self.situation)
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
    elsewhere: Collection[str] = (),
) -> tuple[ServiceLine, ...]:
    """The fewest tests that find every silent fault of ``report``, by door, but for those that are
    found ``elsewhere``.

    A fault that is silent alone is found by its lock; one that only a second fault brings to light
    by a meter, as is one that no lock shows before a battery is near its end. Faults that no
    reading tells apart are in no line, nor what shows only where the door's answer is beyond the
    model.
    """
    rank = {door: n for n, door in enumerate(wiring.plan.doors)}
    grave = frozenset(_on_the_way_out(report))
    out = []
    for test in tests(wiring, report, progress, over, elsewhere):
        given = _given(test.situation, near_end(wiring, test.door))
        shown = test.shown
        out.append(
            ServiceLine(
                test.door,
                ", ".join(supplies_of(wiring, test.door)) if _switched(test.situation) else "",
                test.situation,
                "held" if test.held else "begins",
                in_words(test.situation, test.held, given),
                given,
                _months(test.situation, any((test.door, name) in grave for name in test.finds)),
                test.lock,
                test.state,
                bool(test.lock) and _locks(wiring, test.door) > 1,
                test.terminal,
                test.against,
                shown.volt_v if shown else 0.0,
                shown.low_v if shown else 0.0,
                shown.high_v if shown else 0.0,
                test.finds,
                tuple(fault_text(report.faults[name]) for name in test.finds),
            )
        )
    return tuple(sorted(_joined(out), key=lambda line: (rank[line.door], *_turn(line))))


def untried(
    report: FaultReport,
    plan: Sequence[ServiceLine],
    elsewhere: Collection[str] = (),
) -> dict[str, tuple[str, ...]]:
    """By door, in words: the silent faults that no test finds, as they show only in what of the
    door is beyond the model, or at no lock for sure and by no meter."""
    tested = {(line.door, fault) for line in plan for fault in line.finds}
    anywhere = {fault for _, fault in tested}
    found: dict[str, dict[str, None]] = defaultdict(dict)
    for c in report.consequences:
        silent = Effect.SILENT in (c.effect, *c.also)
        fault = report.faults[c.fault]
        # A slow one is found once, for all doors of its supply.
        done = c.fault in anywhere if fault.till_then else (c.door, c.fault) in tested
        if silent and not done and c.fault not in elsewhere:
            found[c.door][fault_text(fault)] = None
    told = tested | {(c.door, c.fault) for c in report.consequences}
    for pair in report.pairs.pairs if report.pairs else ():
        for name in (pair.silent, pair.second) if pair.both else (pair.silent,):
            if (pair.door, name) not in told:
                found[pair.door][fault_text(report.faults[name])] = None
    return {door: tuple(texts) for door, texts in found.items()}


def _locks(wiring: Wiring, door: str) -> int:
    """How many locks a door has."""
    return sum(slot in LOCK_SLOTS for slot in wiring.plan.doors[door].devices)


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
    event = _EVENTS.index(parts_of(line.situation)[2])
    return line.every_months, line.stage, event, line.situation, line.moment


def _switched(situation: str) -> bool:
    """Whether a supply has to be switched for it."""
    return parts_of(situation)[0] != Power.MAINS


def _given(situation: str, end: str) -> str:
    power, mode, _ = parts_of(situation)
    return say(f"service.given.{mode if mode != Mode.NORMAL else power}", {"end": end})


def in_words(situation: str, held: bool, given: str) -> str:
    """What to do in a situation, which is ``given`` in words."""
    _, _, event = parts_of(situation)
    moment = "held" if held else "begins"
    which = situation.partition(" (")[2].rstrip(")")
    # A key has words of its own; several exit devices have theirs, and their slot in them.
    tail = f" ({which if event == Event.CREDENTIAL else 'which'})" if which else ""
    told = {"given": given, "wait": f"{HELD_S:g} s", "which": which}
    return say(f"service.do.{event}{tail}.{moment}", told)


def _on_the_way_out(report: FaultReport) -> Iterator[tuple[str, str]]:
    """By door the faults that take people's way out, alone or two of them."""
    for c in report.consequences:
        if {c.effect, *c.also} & set(WAY_OUT):
            yield c.door, c.fault
    for pair in report.pairs.pairs if report.pairs else ():
        if pair.effect in WAY_OUT:
            yield pair.door, pair.silent
            yield pair.door, pair.second


def _months(situation: str, way_out: bool) -> int:
    """``way_out``: people's way out hangs on it. A battery is not brought to its end for the sake
    of what is tried on it then."""
    if not soon(situation):
        return MONTHS[Power.BATTERY_END]
    usual = min(MONTHS.get(part, USUAL_MONTHS) for part in parts_of(situation))
    return min(usual, MONTHS[Event.RELEASE]) if way_out else usual
