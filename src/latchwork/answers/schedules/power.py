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
from latchwork.behaviour import Case, Group, Power, SiteOutcome
from latchwork.behaviour.meter import Metered
from latchwork.elements import Fuse, Load, Resistor
from latchwork.plan.supplies import NO_FUSE
from latchwork.power.battery import AGEING, MARGIN
from latchwork.power.converters import converted
from latchwork.power.loads import SupplyLoad, supply_loads
from latchwork.power.nets import Contacts, feeds
from latchwork.power.standby import Standby, found_gone, standbys
from latchwork.rules import least_volts, need
from latchwork.rules.view import View

NO = NO_FUSE.value
ByDoor = Mapping[str, Mapping[Case, Metered]]


def supplies(site: SiteOutcome, metered: ByDoor) -> tuple[SupplyRow, ...]:
    """Every supply in the order of the job."""
    batteries, gone = {s.supply: s for s in standbys(site)}, found_gone(site)
    view = View(site)
    rows = []
    for load in supply_loads(site):
        part = site.plan.devices[load.id].part
        # Those it comes with too: a lid without them has a fitter guess what to put in.
        fuses = {e.b: e.rating_a for e in part.elements if isinstance(e, Fuse)}
        names = [t.name for t in part.terminals if t.does == "output_plus"]
        on = _On(view, load, metered)
        rows.append(
            SupplyRow(
                load.id,
                part.name,
                on.doors,
                load.volts,
                load.limit_a,
                dict(load.loads_a),
                load.most_a,
                load.most_when,
                load.charge_a,
                load.margin,
                {n: fuses[n] if fuses.get(n, NO) < NO else None for n in names},
                on.loads(),
                on.locks(),
                site.plan.battery_blocks(load.id),
                _battery(batteries[load.id]) if load.id in batteries else None,
                gone.get(load.id, ""),
                load.dead,
            )
        )
    return tuple(rows)


class _On:
    """What hangs on one supply: told by what feeds each device, which its door need not name."""

    def __init__(self, view: View, load: SupplyLoad, metered: ByDoor) -> None:
        self._site = site = view.site
        self._load = load
        self._metered = metered
        group = next(g for g in site.groups if load.id in g.supplies)
        self._fed = {name for name, supply in _feeding(view, group).items() if supply == load.id}
        self._converted = converted(site.plan, group, load.id).volts
        self.doors = tuple(
            door
            for door in group.doors
            if site.plan.doors[door].door.supply.partition(".")[0] == load.id
            or any(name.startswith(f"{door}.") for name in self._fed)
        )

    def loads(self) -> tuple[LoadRow, ...]:
        """What each device draws from the supply: idle, at most in use, and on battery. What hangs
        on a converter draws the same watts at the supply's volts."""
        plan = self._site.plan
        found: dict[str, list[tuple[float, float, float]]] = {}
        shown_at: dict[str, str] = {}
        for door in self.doors:
            shown = self._metered.get(door, {}).get(Case.NOMINAL)
            if shown is None:
                continue
            battery = [n for n, s in enumerate(shown.situations) if s.power is Power.BATTERY]
            for name, amps in shown.amps.items():
                device = name.rpartition(".")[0]
                planned = plan.devices.get(device)
                volts = self._converted.get(device)
                if planned is None or (name not in self._fed and volts is None):
                    continue
                # In a group solved whole every door's devices show; each counts at its own door,
                # and what several share at the first.
                if (planned.door or shown_at.setdefault(device, door)) != door:
                    continue
                drawn = abs(amps) * (1.0 if volts is None else volts / self._load.volts)
                at_battery = float(drawn[battery[0]]) if battery else 0.0
                each = (float(drawn[0]), float(drawn.max()), at_battery)
                found.setdefault(device, []).append(each)
        return tuple(
            LoadRow(device, plan.devices[device].part.name, *map(sum, zip(*each, strict=True)))
            for device, each in found.items()
            if any(sum(one) > 0.0 for one in each)
        )

    def locks(self) -> tuple[LockVoltsRow, ...]:
        """The volts of each lock that the supply feeds."""
        rows = []
        devices = {name.rpartition(".")[0] for name in self._fed}
        for door in self.doors:
            cases = self._site.outcomes.get(door, {})
            for lock in cases[Case.NOMINAL].locks if cases else ():
                if lock.device not in devices:
                    continue
                least_v, when = least_volts(lock.device, cases) or (None, "")
                part = self._site.plan.devices[lock.device].part
                rows.append(LockVoltsRow(lock.device, part.name, least_v, when, *need(lock)))
        return tuple(rows)


def _feeding(view: View, group: Group) -> dict[str, str]:
    """Element -> the supply whose plus it joins: by copper alone, else by the contacts closed at
    rest, else by any; where none tells, the one that its door names."""
    sources = feeds(group)
    taking = [
        e
        for e in group.things.elements
        if e.device not in group.supplies and isinstance(e.what, Load | Resistor)
    ]
    found: dict[str, str] = {}
    for contacts in Contacts:
        nets = view.nets(group, contacts)
        live = [s for s in sources if not nets.joined(s.plus, s.minus)]
        for item in taking:
            by = [s.device for s in live if any(nets.joined(x, s.plus) for x in (item.a, item.b))]
            if by and item.name not in found:
                own = _named(view, item.door)
                found[item.name] = own if own in by else by[0]
    for item in taking:
        found.setdefault(item.name, _named(view, item.door))
    return found


def _named(view: View, door: str) -> str:
    return view.plan.doors[door].door.supply.partition(".")[0] if door else ""


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
        standby.alone,
        standby.worn_ah,
    )
