"""The load of each supply, situation by situation."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from latchwork.behaviour import (
    Case,
    DoorOutcome,
    Event,
    Group,
    Mode,
    Power,
    SiteOutcome,
    Situation,
)
from latchwork.behaviour.situations import DoorInputs
from latchwork.elements import Source
from latchwork.parts import CHARGING, GIVE_NOTHING
from latchwork.power.converters import converted
from latchwork.power.keys import EACH_AT_MOST, EVERYBODY

SAME_A = 1e-6
"""Loads no further apart are the same one, told by what comes first, whatever rounding says."""

ALIKE_A = 1e-3
"""So far apart may be what one supply gives as two of its doors are run: each knows the others by a
curve. Which situation is named must not hang on the order of the doors."""

ON_BATTERY = (Power.BATTERY, Power.BATTERY_END)
"""Powers in which no supply gives anything of its own."""

Act = frozenset[str]
"""What somebody does at a door, as the inputs it sets: the same act where doors share a device."""
Amperes = Callable[[DoorOutcome], np.ndarray]
"""What is given in a door's run: situations x moments."""


@dataclass(frozen=True, slots=True)
class SupplyLoad:
    """One supply. ``loads_a``: amperes by (power, mode) with nobody at any door, and by
    ``EVERYBODY`` on mains, as a meter reads them; ``most_a`` the highest that it gives itself, in
    the case of most current, but for the surge as all doors lock again. ``limit_a`` is the most it
    gives; of a transformer, which sags and stops at no limit, what it may give for ever.
    ``charge_a`` is what its charger gives a battery that comes back from an outage, ``float_a``
    the most that it gives a full one. One that was found ``dead`` gives what its battery does, and
    charges nothing."""

    id: str
    volts: float
    limit_a: float | None
    loads_a: Mapping[str, float]
    most_a: float
    most_when: str
    charge_a: float
    float_a: float
    dead: bool = False

    @property
    def margin(self) -> float | None:
        """Limit over the highest load and charge together; None without a limit, where nothing is
        taken or given."""
        total = self.most_a + self.charge_a
        if self.limit_a is None or total <= 0.0 or self.dead:
            return None
        return self.limit_a / total


def supply_loads(site: SiteOutcome) -> tuple[SupplyLoad, ...]:
    """The loads of every supply of the site, in the order of the job."""
    out = []
    for group in site.groups:
        for supply in group.supplies:
            out.append(_load(site, group, supply))
    order = list(site.plan.supplies) + [s.id for s in out]
    return tuple(sorted(out, key=lambda s: order.index(s.id)))


def given_a(result: DoorOutcome, supply: str) -> np.ndarray:
    """Amperes the supply gives to its doors, without the charge: situations x moments."""
    total: np.ndarray = np.zeros(result.feed_a.shape[1:])
    for n, name in enumerate(result.feed_names):
        if name.startswith(f"{supply}."):
            charge = name.removeprefix(f"{supply}.") in CHARGING
            total = total - result.feed_a[n] if charge else total + result.feed_a[n]
    return total


def granted_extras_a(
    site: SiteOutcome, doors: Iterable[str], supply: str, power: Power, case: Case = Case.NOMINAL
) -> Mapping[str, float]:
    """How much more the supply gives as each door is granted than idle, amperes; below nothing
    where locks let go."""
    extras = {door: _extras(site, door, _of(supply), power, case) for door in doors}
    return {door: max(its, key=abs, default=0.0) for door, its in _once(extras).items()}


def together_a(site: SiteOutcome, doors: Iterable[str], fuse: str) -> float:
    """What a fuse of an output carries on mains as every door is granted at once, amperes, at
    nominal figures; ``doors``: those behind it, in whose runs all of them are."""

    def carried(result: DoorOutcome) -> np.ndarray:
        amps: np.ndarray = result.fuse_a[result.fuse_names.index(fuse)]
        return amps

    idle, case = 0.0, Case.NOMINAL
    extras: dict[str, dict[Act, float]] = {}
    for door in doors:
        result = site.outcomes[door][case]
        quiet = result.at(Power.MAINS, Mode.NORMAL, Event.NOBODY)
        if quiet is not None:
            idle = max(idle, float(carried(result)[quiet, 1]))
            extras[door] = _extras(site, door, carried, Power.MAINS, case, most=True)
    return idle + _extra(extras)


def _extra(extras: Mapping[str, Mapping[Act, float]]) -> float:
    """What all doors together add where each adds what it may."""
    return sum(max((0.0, *its)) for its in _once(extras).values())


def _of(supply: str) -> Amperes:
    return lambda result: given_a(result, supply)


def _once(extras: Mapping[str, Mapping[Act, float]]) -> Mapping[str, list[float]]:
    """What each door's own acts add. An exit device that several doors share opens them all at
    once: it counts at the first of those that have no act of their own."""
    having = Counter(act for its in extras.values() for act in its)
    counted: set[Act] = set()
    found = {}
    for door, its in extras.items():
        own = [amps for act, amps in its.items() if having[act] == 1]
        found[door] = own or [amps for act, amps in its.items() if act not in counted]
        counted |= its.keys()
    return found


def _extras(
    site: SiteOutcome, door: str, amperes: Amperes, power: Power, case: Case, *, most: bool = False
) -> dict[Act, float]:
    """How many more ``amperes`` than idle as somebody comes or goes, all else as usual; with
    ``most`` at the highest of its two moments."""
    result = site.outcomes.get(door, {}).get(case)
    quiet = None if result is None else result.at(power, Mode.NORMAL, Event.NOBODY)
    if result is None or quiet is None:
        return {}
    given, inputs = amperes(result), DoorInputs(site.plan, door, ())
    found: dict[Act, float] = {}
    for n, s in enumerate(result.situations):
        if s.power is power and s.mode is Mode.NORMAL and s.event in (Event.CREDENTIAL, Event.EXIT):
            amps = float((given[n].max() if most else given[n, 0]) - given[quiet, 1])
            act = frozenset(inputs.event(s.event, s.which))
            if act:
                found[act] = amps
    return found


def _load(site: SiteOutcome, group: Group, supply: str) -> SupplyLoad:
    part = site.plan.devices[supply].part
    placed = (e.what for e in group.things.elements if e.device == supply)
    # As it was found, be it with a regulator that has failed.
    source = next(e for e in (*placed, *part.elements) if isinstance(e, Source))
    behind = converted(site.plan, group, supply)
    loads: dict[str, float] = {}
    most, when = 0.0, ""
    ran = [d for d in group.doors if d in site.outcomes]
    highest, lasts = 0.0, dict[Situation, float]()
    for case in (Case.NOMINAL, Case.MOST_CURRENT):
        idle = None
        extras: dict[str, dict[Act, float]] = {}
        for door in ran:
            result = site.outcomes[door].get(case)
            if result is None:
                continue
            given = given_a(result, supply)
            quiet = result.at(Power.MAINS, Mode.NORMAL, Event.NOBODY)
            if quiet is None:
                continue
            base = float(given[quiet, 1])
            idle = base if idle is None else idle
            extras[door] = _extras(site, door, _of(supply), Power.MAINS, case, most=True)
            most_amps, last_amps = given.max(axis=1).tolist(), given[:, 1].tolist()
            for s, amps, last in zip(result.situations, most_amps, last_amps, strict=True):
                if case is Case.NOMINAL and s.event is Event.NOBODY:
                    key = f"{s.power}/{s.mode}"
                    loads[key] = max(loads.get(key, 0.0), amps)
                lasting = last if _surges(s) else amps
                if s.power in ON_BATTERY:
                    # Its limit is no matter there, and its charger gives nothing.
                    continue
                if lasting > highest - ALIKE_A:
                    lasts[s] = max(lasts.get(s, 0.0), lasting)
                    highest = max(highest, lasting)
        if idle is not None:
            if highest > most + SAME_A:
                alike = (s for s, amps in lasts.items() if amps > highest - ALIKE_A)
                when, most = min(alike, key=_place).key, highest
            extra = _extra(extras)
            together = idle + extra
            granted = sum(granted_extras_a(site, ran, supply, Power.MAINS, case).values())
            if case is Case.NOMINAL:
                loads[EVERYBODY] = idle + granted
            # What a door finds idle is a hair apart from what the next one finds.
            if together > most + ALIKE_A:
                when = EVERYBODY if extra <= granted + SAME_A else EACH_AT_MOST
            most = max(most, together)
    # A converter takes what hangs on it wherever the unit itself takes anything.
    shut_a, open_a = (w / source.volt.value for w in (behind.idle_w, behind.unlocked_w))
    for key, amps in loads.items():
        is_open = key == EVERYBODY or key.endswith(f"/{Mode.TIMED_UNLOCK}")
        loads[key] = amps + (open_a if is_open else shut_a) if amps > SAME_A else amps
    most += behind.most_w / source.volt.low if most > SAME_A else 0.0
    limit = source.limit_a or part.figures.get("limit_a")
    dead = any(s.device == supply and s.state in GIVE_NOTHING for s in site.wiring.states)
    figures = {} if dead else part.figures
    charge_a = figures["charge_a"].value if "charge_a" in figures else 0.0
    # The case of most current has the most of it too, and takes it off what is left for the doors.
    float_a = figures["trickle_a"].high if "trickle_a" in figures else 0.0
    limit_a = limit.value if limit is not None else None
    volt = source.volt.value
    return SupplyLoad(supply, volt, limit_a, loads, most, when, charge_a, float_a, dead)


def _place(situation: Situation) -> tuple[int, int, int, str]:
    """Where a situation stands among all."""
    kinds = ((Power, situation.power), (Mode, situation.mode), (Event, situation.event))
    power, mode, event = (list(kind).index(its) for kind, its in kinds)
    return power, mode, event, situation.which


def _surges(situation: Situation) -> bool:
    """Whether all doors move in its first moment: a surge, which is judged by itself."""
    return situation.event is Event.NOBODY and (
        situation.power is Power.RETURNS or situation.mode is Mode.FIRE_RESET
    )
