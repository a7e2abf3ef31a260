"""What-ifs of the fault run against ngspice's own run through time.

From where the situation before left every contact and lock, the supply dark for a moment, to where
they come to rest over there: each flag must end as it does here, and what chatters must go on
changing. What-ifs in which a timer runs are left out, as timers stand over there: cards and exit
requests start some.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from latchwork.behaviour import Event, Mode, Power, Situation
from latchwork.elements import Speed, expr_flags
from latchwork.faults import FaultKind
from latchwork.faults.prepare import prepare
from latchwork.wiring import Wiring
from tests.faults.known import jobs
from tests.outside.faulted import apart, faulted
from tests.outside.in_time import in_time
from tests.outside.spice import transients
from tests.outside.what_ifs import solved
from tests.truth.solved import wired

Bools = NDArray[np.bool_]
END_S = {"fuse": 30.0, "chatter": 0.03}
REST_S, CUT_OFF_S = 1.0, 900.0
"""How long a run lasts: ten lags of its slowest class; where it chatters, some hundred of the
fastest, which is what goes round there."""
CUT_OFF = {"S1.battery_up", "S1.tripped"}
"""The flags of the class of cut-offs."""
OTHER_RULES = (".options method=gear", ".options method=gear chgtol=1e-11")
"""Where steps become too small by the trapezoidal rule, they seldom do by Gear's as well, and less
so where small charges count less: what is asked is where contacts end."""
NEAR = 0.05
CHANGES = 3
SECTIONS = tuple(jobs().values())
MAGNET, ALONE, STRIKE, BAR = SECTIONS[0], SECTIONS[1], SECTIONS[3], SECTIONS[6]


def small(job: str, limit_a: float) -> str:
    """A job on a supply with another limit."""
    assert "limit: 5 A" in job
    return job.replace("limit: 5 A", f"limit: {limit_a} A")


JOBS = [MAGNET, STRIKE, BAR, small(ALONE, 0.3), small(BAR, 0.25), small(MAGNET, 0.45)]


@dataclass(frozen=True)
class Place:
    """A what-if: fault, situation, and the situation that it starts from, by number."""

    fault: int
    column: int
    before: int

    @property
    def at(self) -> tuple[slice, int, int]:
        return slice(None), self.fault, self.column


class Door:
    """A job's one door with all its faults solved."""

    def __init__(self, job: str) -> None:
        self.wiring = wired(job)
        (self.item,) = prepare(self.wiring)
        looks = solved(self.item.cell, 0, self.item.cell.faults)
        shape = len(self.item.cell.faults), len(self.item.cell.situations[0])
        where = np.arange(shape[0] * shape[1])

        def table(name: str, *, held: bool) -> NDArray[Any]:
            """Rows x faults x situations."""
            rows = looks.solved.at(name, where // shape[1], where % shape[1], held=held)
            return rows.reshape(-1, *shape)

        things, net = self.item.sound, self.item.cell.network
        gates = {name for e in things.elements for name in expr_flags(e.on)}
        later = [r.flag for r in things.rules if getattr(r.what, "speed", Speed.LOCK) > 0]
        self.slow = [net.flags[name] for name in later if name in gates]
        self.rested = table("flags", held=True)
        self.flags, self.flips, self.volts = (
            table(name, held=False) for name in ("flags", "flips", "volts")
        )

    def named(self, flags: Bools) -> dict[str, bool]:
        return {flag: bool(flags[n]) for flag, n in self.item.cell.network.flags.items()}

    def strata(self) -> dict[str, list[Place]]:
        """What-ifs by what they are."""
        found: dict[str, list[Place]] = defaultdict(list)
        situations = self.item.cell.situations[0]
        for column, situation in enumerate(situations):
            before = starts_from(situation, situations)
            if before is not None:
                for fault in range(len(self.item.cell.faults)):
                    place = Place(fault, column, before)
                    found[self.stratum(place)].append(place)
        found.pop("", None)
        return found

    def stratum(self, place: Place) -> str:
        """What it is; nothing where a timer runs or hardly anything moves. A chatter may hang on a
        node that nothing holds, where over there a shunt holds it: only bad joints are taken. A
        slower contact that goes round with it may follow the mean there, and end it."""
        shape, cell = self.item.cell.network.shape, self.item.cell
        begin, at = self.rested[:, place.fault, place.before], place.at
        end, flips = self.flags[at], self.flips[at]
        timers = [timer[0] for timer in shape.timers]
        if (begin | end | flips)[timers].any():
            return ""
        if flips.any():
            joint = cell.faults[place.fault].kind is FaultKind.JOINT
            return "chatter" if joint and not flips[self.slow].any() else ""
        if (begin != end)[[blown for _, blown, _ in shape.fuses]].any():
            return "fuse"
        if (begin != end).sum() < 2:
            return ""
        volts = self.volts[at]
        if self.limited(volts, end):
            return "limit"
        for n, sense in enumerate(shape.senses):
            seen = abs(volts[sense.a] - volts[sense.b])
            for row in (cell.values.sense_on_v, cell.values.sense_off_v):
                if abs(seen / row[n, 0] - 1.0) < NEAR:
                    return "near"
        return "stable"

    def limited(self, volts: NDArray[np.float64], flags: Bools) -> bool:
        """Whether the mains supply gives no more than its limit."""
        net, values = self.item.cell.network, self.item.cell.values
        n = net.devices.index("S1.mains supply")
        _, plus, minus, _, _ = net.shape.devices[n]
        knee_v = values.source_volt[n, 0] - values.source_ohm[n, 0] * values.source_limit_a[n, 0]
        on = bool(flags[net.flags["S1.mains"]])
        return on and float(volts[plus] - volts[minus]) < knee_v - 1e-3


def starts_from(situation: Situation, among: tuple[Situation, ...]) -> int | None:
    """The situation before: healthy idle, all lost, a fire alarm; before an event, nobody."""
    if situation.event not in (Event.NOBODY, Event.RELEASE):
        return None
    if situation.event is Event.RELEASE:
        before = Situation(situation.power, situation.mode, Event.NOBODY)
    elif situation.power is Power.RETURNS:
        before = Situation(Power.ALL_LOST, Mode.NORMAL, Event.NOBODY)
    elif situation.mode is Mode.FIRE_RESET:
        before = Situation(Power.MAINS, Mode.FIRE_ALARM, Event.NOBODY)
    else:
        before = Situation(Power.MAINS, Mode.NORMAL, Event.NOBODY)
    return None if before == situation else among.index(before)


def hold(door: Door, wiring: Wiring, stratum: str, place: Place, folder: Path) -> bool:
    """One what-if against ngspice; whether that gets through it."""
    net = door.item.cell.network
    ours, flips = door.named(door.flags[place.at]), door.named(door.flips[place.at])
    begin = door.named(door.rested[:, place.fault, place.before])
    begin |= {name: ours[name] for name in net.inputs}
    deck = in_time(wiring, begin, net.reference)
    cuts_off = any(begin[name] != ours[name] for name in CUT_OFF & ours.keys())
    end_s = [CUT_OFF_S if cuts_off and stratum != "chatter" else END_S.get(stratum, REST_S)]
    run = transients([deck.lines], end_s, folder)[0]
    for rule in OTHER_RULES:
        run = run or transients([[*deck.lines, rule]], end_s, folder)[0]
    what = door.item.cell.faults[place.fault].id, door.item.cell.situations[0][place.column].key
    if run is None:
        return False
    theirs = {name: np.array(run[node]) > 0.5 for name, node in deck.seen.items() if name in ours}
    if stratum == "chatter":
        late = np.array(run["time"]) > run["time"][-1] / 2.0
        changes = {n: int(np.diff(v[late]).sum()) for n, v in theirs.items() if flips[n]}
        assert max(changes.values()) >= CHANGES, (*what, changes)
        return True
    differ = {name for name, seen in theirs.items() if bool(seen[-1]) != ours[name]}
    assert not differ, (*what, differ)
    return True


def compare(
    job: str, most: int, rng: np.random.Generator, folder: Path, seen: Collection[str] = ()
) -> dict[str, int]:
    """Hold at most so many what-ifs of each stratum not ``seen`` against ngspice, which may find no
    way through one in twenty; how many were held."""
    door = Door(job)
    sound = apart(door.wiring, door.item.cell.doors, door.item.supplies)
    counts: dict[str, int] = {}
    asked = 0
    for stratum, places in door.strata().items():
        if stratum in seen:
            continue
        chosen = [places[n] for n in rng.permutation(len(places))[:most]]
        held = [
            hold(door, faulted(sound, door.item.cell.faults[place.fault]), stratum, place, folder)
            for place in chosen
        ]
        asked += len(held)
        counts[stratum] = sum(held)
    assert sum(counts.values()) >= 0.95 * asked
    return counts


def test_a_sample_of_what_ifs_ends_where_ngspice_does(tmp_path: Path) -> None:
    rng = np.random.default_rng(60)
    seen = set[str]()
    for job in (JOBS[1], JOBS[3], JOBS[5]):
        seen |= compare(job, 1, rng, tmp_path, seen).keys()
    assert seen == {"stable", "near", "limit", "fuse", "chatter"}


@pytest.mark.slow_oracle
@pytest.mark.parametrize("job", range(len(JOBS)))
def test_many_what_ifs_end_where_ngspice_does(job: int, tmp_path: Path) -> None:
    compare(JOBS[job], 12, np.random.default_rng(61), tmp_path)
