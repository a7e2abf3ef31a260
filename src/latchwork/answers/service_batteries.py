"""Of the service plan, the batteries: each under its own load, what that tells, and for how long it
hides that its supply has died."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import msgspec
import numpy as np

from latchwork.answers.service import MONTHS
from latchwork.behaviour import Mode, Power, SiteOutcome
from latchwork.elements import Figure
from latchwork.faults import TOLD, Effect, FaultReport
from latchwork.faults.reasons import CLEAR_V
from latchwork.parts import WORN
from latchwork.parts.states import WEAK_BATTERY
from latchwork.power.backed import batteries_beside
from latchwork.power.battery import worn_share
from latchwork.power.discharge import Pack, discharge
from latchwork.power.loads import supply_loads
from latchwork.power.standby import Standby, standbys
from latchwork.rules.standby import CHANGED_Y
from latchwork.words import say

MINUTES = (5.0, 10.0, 30.0, 60.0)
"""How long the mains are left off at a visit: no longer than it takes to tell a weak battery
(common practice, no source)."""
MINUTES_AN_HOUR = 60.0
NOTHING_A = 0.001
"""Less flattens no battery between two visits, be it of 7 Ah (7000 h are ten months)."""


class ThenLine(msgspec.Struct, frozen=True):
    """What comes at doors as a battery is flat that has hidden a dead supply."""

    effect: str
    doors: tuple[str, ...]


class BatteryLine(msgspec.Struct, frozen=True):
    """A supply's battery with the mains off and nobody at the doors: what it gives then, and what
    the meter reads across it after ``minutes`` with a new one, with one that is still good
    enough, at its lowest, and with a weak one, of which nothing is left by then where it is None.
    ``minutes`` 0: its doors take too little to tell a weak one within the hour, or the batteries
    of supplies ``beside`` it feed them too.

    From ``holds_h`` in its last year to ``new_h`` when new it carries the doors until the ``first``
    thing goes (``what``), below ``first_v`` at the supply. ``then``: what comes of a supply that
    died that long before; nothing where somebody is told of it.
    """

    supply: str
    blocks: int
    block_v: float
    capacity_ah: float
    every_months: int
    change_years: float
    amps_a: float
    minutes: float
    new_v: float
    least_v: float
    weak_v: float | None
    holds_h: float
    new_h: float
    first: str
    what: str
    first_v: float
    finds: tuple[str, ...]
    then: tuple[ThenLine, ...]
    beside: tuple[str, ...]


def battery_lines(site: SiteOutcome, report: FaultReport) -> tuple[BatteryLine, ...]:
    """A line for each supply with a battery that feeds one of the doors that were run; none where
    ``check`` has to tell first, as it was found weak or gone, or runs flat on mains."""
    loads = {load.id: load.loads_a for load in supply_loads(site)}
    out = []
    for battery in standbys(site):
        group = next(g for g in site.groups if battery.supply in g.supplies)
        amps = loads[battery.supply].get(f"{Power.BATTERY}/{Mode.NORMAL}", 0.0)
        near = not set(group.doors).isdisjoint(report.doors)
        well = battery.worn_ah is None and battery.supply not in report.drained
        if near and well:
            figures = site.plan.devices[battery.supply].part.figures
            beside = batteries_beside(site.plan, group, battery.supply)
            out.append(_line(battery, figures, amps, report, beside))
    return tuple(out)


def found_by(lines: Sequence[BatteryLine]) -> frozenset[str]:
    """The faults that these find, by name."""
    return frozenset(name for line in lines for name in line.finds)


def _line(
    battery: Standby,
    figures: Mapping[str, Figure],
    amps: float,
    report: FaultReport,
    beside: tuple[str, ...],
) -> BatteryLine:
    new = replace(battery.pack, usable_ah=battery.capacity_ah, left=1.0)
    # As low as it may rest, worn to where it is changed, and cold.
    low = figures["cell_rested_v"].low / figures["cell_rested_v"].value
    good = replace(battery.pack, full_v=new.full_v * low, flat_v=new.flat_v * low, left=1.0)
    own_ohm = figures["battery_ohm"].value
    weak = replace(
        new,
        ohm=new.ohm + own_ohm * (WEAK_BATTERY - 1.0),
        usable_ah=battery.capacity_ah * worn_share(1.0, WEAK_BATTERY),
    )
    path_ohm = battery.pack.ohm - own_ohm

    def after(pack: Pack, minutes: float) -> float | None:
        return _after(battery, pack, path_ohm, minutes)

    # Another battery holds its volts up, whatever is left of it.
    tried = () if beside else MINUTES
    minutes = next((m for m in tried if _tells(after(good, m), after(weak, m))), 0.0)
    new_v, least_v = (after(pack, minutes) or 0.0 for pack in (new, good))
    first = battery.losses[0]
    return BatteryLine(
        battery.supply,
        battery.blocks,
        figures["battery_block_v"].value,
        battery.capacity_ah,
        MONTHS[Power.BATTERY],
        CHANGED_Y,
        amps,
        minutes,
        new_v,
        least_v,
        after(weak, minutes),
        battery.holds_h,
        battery.new_holds_h,
        first.device,
        first.what,
        first.volts,
        (f"{battery.supply} {WORN}",) if minutes else (),
        tuple(_then(battery.supply, report)),
        beside,
    )


def _tells(least_v: float | None, shown_v: float | None) -> bool:
    """Whether a good one, at its lowest, still reads clearly more than a weak one."""
    return least_v is not None and (shown_v is None or shown_v < least_v - CLEAR_V)


def _after(battery: Standby, pack: Pack, path_ohm: float, minutes: float) -> float | None:
    """Volts across the battery after so long under the load of its doors, behind what lies between
    it and the supply's plus; None once it has ended."""
    course = discharge(pack, battery.taken_v, battery.taken_a)
    hours = minutes / MINUTES_AN_HOUR
    if hours >= course.hours[-1]:
        return None
    return float(np.interp(hours, course.hours, course.volts + path_ohm * course.amps))


def _then(supply: str, report: FaultReport) -> Iterator[ThenLine]:
    """What comes of a supply that died and whose battery is flat, the worst first."""
    slow = {n for n, f in report.faults.items() if f.till_then and supply in f.subjects}
    for effect in TOLD:
        found = (c.door for c in report.consequences if c.fault in slow and c.effect is effect)
        doors = tuple(dict.fromkeys(found))
        if doors and effect is not Effect.SILENT:
            yield ThenLine(effect.value, doors)


def battery_do(line: BatteryLine) -> str:
    """What to do, in words."""
    return say("service.battery.do", {"minutes": f"{line.minutes:g}"})


def battery_finds(line: BatteryLine) -> str:
    """What it finds, in words."""
    told: dict[str, float | str] = {"fault": ", ".join(line.finds)}
    if line.weak_v is None:
        return say("service.battery.ended", told)
    return say("service.battery.weak", {**told, "weak_v": round(line.weak_v, 2)})


def battery_notes(line: BatteryLine) -> tuple[str, ...]:
    """What no minutes tell, in words: a weak one that its doors do not load, its age, and that its
    supply has died."""
    hours: dict[str, float | str] = {
        "supply": line.supply,
        "new_h": line.new_h,
        "holds_h": line.holds_h,
    }
    untold = {
        "supply": line.supply,
        "minutes": f"{MINUTES[-1]:g}",
        "others": ", ".join(line.beside),
    }
    why = "untold beside" if line.beside else "untold"
    age: dict[str, float | str] = {
        **hours,
        "battery": f"{line.blocks} x {line.block_v:g} V {line.capacity_ah:g} Ah",
        "years": f"{line.change_years:g}",
        "first": line.first,
        "first_v": round(line.first_v, 2),
        "what": say(f"service.battery.what.{line.what}"),
    }
    notes = [] if line.minutes else [say(f"service.battery.{why}", untold)]
    idle = line.amps_a < NOTHING_A
    notes.append(say(f"service.battery.{'years idle' if idle else 'years'}", age))
    if line.then and not idle:
        then = (
            {"effect": say(f"effect.{each.effect}"), "doors": ", ".join(each.doors)}
            for each in line.then
        )
        told = "; ".join(say("service.battery.then", each) for each in then)
        notes.append(say("service.battery.slow", {**hours, "then": told}))
    return tuple(notes)
