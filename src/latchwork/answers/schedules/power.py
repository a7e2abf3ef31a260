"""Supplies and batteries with their working, from the site as run and as metered."""

from __future__ import annotations

from collections.abc import Mapping

from latchwork.answers.schedules.model import (
    BatteryRow,
    LoadRow,
    LockVoltsRow,
    LossRow,
    SupplyRow,
)
from latchwork.behaviour import Case, Power, SiteOutcome
from latchwork.behaviour.meter import Metered
from latchwork.power.battery import AGEING, MARGIN
from latchwork.power.loads import supply_loads
from latchwork.power.standby import Standby, standbys
from latchwork.rules import least_volts, need

ByDoor = Mapping[str, Mapping[Case, Metered]]


def supplies(site: SiteOutcome, metered: ByDoor) -> tuple[SupplyRow, ...]:
    """Every supply in the order of the job."""
    batteries = {s.supply: s for s in standbys(site)}
    doors_of = {s: g.doors for g in site.groups for s in g.supplies}
    rows = []
    for load in supply_loads(site):
        part = site.plan.devices[load.id].part
        doors = tuple(
            door
            for door in doors_of.get(load.id, ())
            if site.plan.doors[door].door.supply.partition(".")[0] == load.id
        )
        names = [t.name for t in part.terminals if t.does == "output_plus"]
        fuses = {n: part.figures.get(f"output_{n}_fuse_a") for n in names}
        rows.append(
            SupplyRow(
                load.id,
                part.name,
                doors,
                load.volts,
                load.limit_a,
                dict(load.loads_a),
                load.most_a,
                load.most_when,
                load.charge_a,
                load.margin,
                {n: f.value if f is not None else None for n, f in fuses.items()},
                _loads(site, doors, metered),
                _locks(site, doors),
                _battery(batteries[load.id]) if load.id in batteries else None,
            )
        )
    return tuple(rows)


def _loads(site: SiteOutcome, doors: tuple[str, ...], metered: ByDoor) -> tuple[LoadRow, ...]:
    """What each device of these doors draws: idle, at most in use, and on battery."""
    found: dict[str, list[tuple[float, float, float]]] = {}
    for door in doors:
        shown = metered.get(door, {}).get(Case.NOMINAL)
        if shown is None:
            continue
        battery = [n for n, s in enumerate(shown.situations) if s.power is Power.BATTERY]
        for name, amps in shown.amps.items():
            device = name.rpartition(".")[0]
            planned = site.plan.devices.get(device)
            # In a group solved whole every door's devices show; each counts at its own door.
            if planned is None or device in site.plan.supplies or planned.door not in (door, ""):
                continue
            if not planned.door and device in found and door != doors[0]:
                continue
            drawn = abs(amps)
            at_battery = float(drawn[battery[0]]) if battery else 0.0
            found.setdefault(device, []).append((float(drawn[0]), float(drawn.max()), at_battery))
    return tuple(
        LoadRow(
            device, site.plan.devices[device].part.name, *(sum(x) for x in zip(*each, strict=True))
        )
        for device, each in found.items()
        if any(sum(one) > 0.0 for one in each)
    )


def _locks(site: SiteOutcome, doors: tuple[str, ...]) -> tuple[LockVoltsRow, ...]:
    rows = []
    for door in doors:
        cases = site.outcomes.get(door, {})
        for lock in cases[Case.NOMINAL].locks if cases else ():
            least_v, when = least_volts(lock.device, cases) or (None, "")
            part = site.plan.devices[lock.device].part
            rows.append(LockVoltsRow(lock.device, part.name, least_v, when, *need(lock)))
    return tuple(rows)


def _battery(standby: Standby) -> BatteryRow:
    plain = standby.plain
    return BatteryRow(
        standby.blocks,
        standby.capacity_ah,
        standby.usable_ah,
        standby.mean_a,
        standby.asked_h,
        plain.base_ah if plain else None,
        AGEING,
        MARGIN,
        standby.cold,
        standby.cold_c,
        plain.needed_ah if plain else None,
        tuple(LossRow(x.hours, x.device, x.what, x.volts) for x in standby.losses),
        standby.new_holds_h,
        standby.charge_a,
        standby.recover_h,
        standby.returns_by_itself,
    )
