"""Hours on battery of each supply: what is lost first, when, and how long it takes to recover."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from latchwork.behaviour import Case, Event, Mode, Power, SiteOutcome, climate_of
from latchwork.behaviour.curves import CellCurve
from latchwork.behaviour.shape import Array
from latchwork.elements import FALSE, Contact, Fuse, Source
from latchwork.parts import BATTERY_FUSE, GIVE_NOTHING, GIVES_LESS, NO_BATTERY, WORN, Part
from latchwork.power.battery import (
    AGEING,
    CHARGE_BACK,
    PlainMethod,
    cold_factor,
    plain_method,
    worn_share,
)
from latchwork.power.converters import converted
from latchwork.power.discharge import Discharge, Pack, discharge
from latchwork.power.loads import ALIKE_A, given_a, granted_extras_a

GRANTS_AN_HOUR = 20.0
"""Where neither door nor site says (common practice, no source)."""

LEAST_V = 1.0
"""Below it no converter runs."""


@dataclass(frozen=True, slots=True)
class Loss:
    """Something lost on the way down: ``what`` is "lets go", "dies" or "cut off"."""

    hours: float
    device: str
    what: str
    volts: float


@dataclass(frozen=True, slots=True)
class Standby:
    """One supply on its battery."""

    supply: str
    blocks: int
    capacity_ah: float
    usable_ah: float
    left: float
    """The share of its charge that it begins with."""
    mean_a: float
    losses: tuple[Loss, ...]
    """First first; the last is the cut-off."""
    course: Discharge
    asked_h: float | None
    plain: PlainMethod | None
    """For the hours asked."""
    new_holds_h: float
    """Hours until the first loss with a new battery at 25 °C."""
    recover_h: float | None
    """To put back what the hours asked (or all of it) took; None where the supply cannot."""
    charge_a: float
    returns_by_itself: bool
    cold_c: float
    cold: float
    alone: bool
    """Whether its doors hang on it alone. Else the losses are its cut-off only: at which of its
    volts what is lost before then hangs on the other supplies as well."""
    worn_ah: float | None
    """What a battery that was found weak has left of its capacity."""
    pack: Pack
    taken_v: Array
    taken_a: Array
    """What is taken at each of ``taken_v``."""

    @property
    def holds_h(self) -> float:
        """Hours until the first loss."""
        return self.losses[0].hours


def standbys(site: SiteOutcome) -> tuple[Standby, ...]:
    """Every supply with a battery that feeds a door, in the order of the job; but those whose
    battery was found to carry nothing on, or blows its own fuse."""
    found = []
    gone = {*found_gone(site), *blows_its_fuse(site)}
    for supply in site.plan.supplies.values():
        if supply.battery_blocks == 0 or supply.battery_ah is None or supply.id in gone:
            continue
        curves = site.curves.get(supply.id)
        taken = curves or _two_points(site, supply.id)
        if taken:
            found.append(_standby(site, supply.id, taken, bool(curves)))
    return tuple(found)


def found_gone(site: SiteOutcome) -> Mapping[str, str]:
    """The supplies whose battery was found to carry nothing on, and as what."""
    off = {
        placed.device
        for group in site.groups
        for placed in group.things.elements
        if placed.on == FALSE and placed.name == f"{placed.device}.battery"
    }
    return {
        s.device: s.state
        for s in site.wiring.states
        if s.state in NO_BATTERY or (s.state == GIVES_LESS and s.device in off)
    }


def blows_its_fuse(site: SiteOutcome) -> frozenset[str]:
    """The supplies whose battery is given more than its fuse bears, with nobody about."""
    blown = set()
    for result in (by_case.get(Case.NOMINAL) for by_case in site.outcomes.values()):
        quiet = None if result is None else result.at(Power.BATTERY, Mode.NORMAL, Event.NOBODY)
        if result is None or quiet is None:
            continue
        for name, is_blown in zip(result.fuse_names, result.fuse_blown[:, quiet, 1], strict=True):
            supply, _, fuse = name.partition(".")
            if fuse == BATTERY_FUSE and is_blown:
                blown.add(supply)
    return frozenset(blown)


def _beside_s(site: SiteOutcome, supply: str, curves: tuple[CellCurve, ...]) -> float:
    """Siemens across the supply's own screws, as of a leak there: what it gives on battery above
    what its doors take."""
    for curve in curves:
        for door in curve.doors:
            result = site.outcomes.get(door, {}).get(Case.NOMINAL)
            if result is None or f"{supply}.mains supply" not in result.feed_names:
                continue
            quiet = result.at(Power.BATTERY, Mode.NORMAL, Event.NOBODY)
            volts = result.feed_v[result.feed_names.index(f"{supply}.mains supply"), quiet, 1]
            taken = sum(float(np.interp(volts, c.volts, c.amps[Mode.NORMAL])) for c in curves)
            beside_a = float(given_a(result, supply)[quiet, 1]) - taken
            return beside_a / float(volts) if beside_a > ALIKE_A else 0.0
    return 0.0


def _two_points(site: SiteOutcome, supply: str) -> tuple[CellCurve, ...]:
    """What a supply that shares its doors with others gives, as a curve of two points: its battery
    full, and at its end, as those of the others are. Every door's run holds what all take."""
    doors = next((g.doors for g in site.groups if supply in g.supplies), ())
    for door in doors:
        result = site.outcomes.get(door, {}).get(Case.NOMINAL)
        if result is None or f"{supply}.battery" not in result.feed_names:
            continue
        at = [
            result.at(power, Mode.NORMAL, Event.NOBODY)
            for power in (Power.BATTERY_END, Power.BATTERY)
        ]
        columns = [n for n in at if n is not None]
        volts = result.feed_v[result.feed_names.index(f"{supply}.battery")][columns, 1]
        amps = given_a(result, supply)[columns, 1]
        return (CellCurve(doors, Case.NOMINAL, volts, {Mode.NORMAL: amps}, {}, {}),)
    return ()


def _path_ohm(part: Part) -> float:
    """What lies between a battery and its supply's plus."""
    inner = [e for e in part.elements if isinstance(e, Contact | Fuse)]
    path = [e for e in inner if "_batt" in (e.a, e.b) or "_cell" in (e.a, e.b)]
    return sum(e.closed_ohm.value if isinstance(e, Contact) else e.ohm.value for e in path)


def _found_ohm(site: SiteOutcome, supply: str) -> float:
    """The resistance of a battery as it was found."""
    name = f"{supply}.battery"
    placed = (e for g in site.groups if supply in g.supplies for e in g.things.elements)
    found = next((e.what for e in placed if e.name == name and isinstance(e.what, Source)), None)
    own = site.plan.devices[supply].part.figures["battery_ohm"]
    return (found.ohm if found is not None else own).value


def left_ah(site: SiteOutcome, device: str) -> float | None:
    """The capacity of a device's battery as it was found; None where it has none."""
    figures = site.plan.devices[device].part.figures
    if "battery_ah" not in figures:
        return None
    ah = figures["battery_ah"].value
    if device not in found_worn(site):
        return ah
    return ah * worn_share(figures["battery_ohm"].value, _found_ohm(site, device))


def found_worn(site: SiteOutcome) -> frozenset[str]:
    """The supplies whose battery was found weak."""
    return frozenset(s.device for s in site.wiring.states if s.state == WORN)


def duty_share(site: SiteOutcome, door: str) -> float:
    """The share of time a door is granted: grants an hour, its own or the site's for each door,
    times relay time."""
    planned = site.plan.doors[door]
    at_site = site.plan.job.site.facts.get("grants an hour")
    said = planned.door.facts.get("grants an hour", at_site)
    grants = float(said) if isinstance(said, int) else GRANTS_AN_HOUR
    controller = planned.devices.get("controller")
    relay = site.plan.devices[controller].part.figures.get("relay_s") if controller else None
    return min(1.0, grants * (relay.value if relay else 0.0) / 3600.0)


def _in_the_mean_a(site: SiteOutcome, door: str, granted_a: float) -> float:
    """What a door's grants take in the mean. One that the clock holds unlocked takes that as long
    as the clock does, be it through all of an outage; what it then takes less it takes at night."""
    held = site.plan.doors[door].door.facts.get("held unlocked") is True
    return granted_a if held and granted_a > 0.0 else duty_share(site, door) * granted_a


def _standby(site: SiteOutcome, supply: str, curves: tuple[CellCurve, ...], alone: bool) -> Standby:
    planned = site.plan.supplies[supply]
    part = planned.device.part
    figures = part.figures
    cold_c = climate_of(site.plan).cold_c
    cold = cold_factor(cold_c)
    ah = figures["battery_ah"].value
    cells = planned.battery_blocks * figures["battery_block_v"].value / 2.0
    worn_ah = left_ah(site, supply) if supply in found_worn(site) else None
    left = figures["battery_charge_share"].value if "battery_charge_share" in figures else 1.0
    flat_v = figures["cell_flat_v"].value * cells
    new = Pack(
        max(figures["cell_rested_v"].value * cells, flat_v),
        flat_v,
        figures["battery_end_v"].value,
        figures["battery_ohm"].value + _path_ohm(part),
        ah,
    )
    pack = replace(new, usable_ah=ah / AGEING / cold, left=left)
    if worn_ah is not None:
        # What has worn so far counts in place of what age takes, where it is more.
        pack = replace(
            pack,
            ohm=_found_ohm(site, supply) + _path_ohm(part),
            usable_ah=min(worn_ah, ah / AGEING) / cold,
        )
    volts = curves[0].volts
    idle = np.sum([c.amps[Mode.NORMAL] for c in curves], axis=0)
    idle = idle + volts * (_beside_s(site, supply, curves) if alone else 0.0)
    granted = granted_extras_a(site, (d for c in curves for d in c.doors), supply, Power.BATTERY)
    extra = sum(_in_the_mean_a(site, door, amps) for door, amps in granted.items())
    group = next(g for g in site.groups if supply in g.supplies)
    behind = converted(site.plan, group, supply).idle_w / np.maximum(volts, LEAST_V)
    load = np.where(idle > 0.0, np.maximum(idle + extra + behind, 0.0), idle)
    course = discharge(pack, volts, load)
    losses = _losses(supply, curves, course)
    standby = site.plan.job.site.standby_h
    asked = standby.value if standby is not None else None
    mean = _mean_a(course)
    there_ah = pack.usable_ah * left
    taken = there_ah if asked is None else min(mean * asked, there_ah)
    dead = any(s.device == supply and s.state in GIVE_NOTHING for s in site.wiring.states)
    charge_a = _charge_a(part, float(np.interp(figures["output_v"].value, volts, load)))
    if dead:
        charge_a = 0.0
    return Standby(
        supply,
        planned.battery_blocks,
        ah,
        there_ah,
        left,
        mean,
        losses,
        course,
        asked,
        plain_method(mean, asked, cold_c) if asked else None,
        _losses(supply, curves, discharge(new, volts, load))[0].hours,
        taken * CHARGE_BACK / charge_a if charge_a > 0.0 else None,
        charge_a,
        bool(part.facts.get("returns_by_itself", True)),
        cold_c,
        cold,
        alone,
        worn_ah,
        pack,
        volts,
        load,
    )


def holds_without(battery: Standby, leak_ohm: float) -> float:
    """Hours until the first loss, had a leak not been across the supply all the time."""
    load = np.maximum(battery.taken_a - battery.taken_v / leak_ohm, 0.0)
    course = discharge(battery.pack, battery.taken_v, load)
    return min(course.hours_above(loss.volts) for loss in battery.losses)


def _mean_a(course: Discharge) -> float:
    """The current in the mean over time; of a battery that is at its end at once, the first."""
    hours = np.diff(course.hours)
    if not hours.any():
        return float(course.amps[0])
    return float(np.average(course.amps[:-1], weights=hours))


def _losses(supply: str, curves: tuple[CellCurve, ...], course: Discharge) -> tuple[Loss, ...]:
    """What is lost on the way down, first first; the cut-off ends it."""
    end_v = float(course.volts[-1])
    losses = [
        Loss(course.hours_above(v), device, what, v)
        for c in curves
        for what, found in (("lets go", c.lets_go_v), ("dies", c.dies_v))
        for device, v in found.items()
        if v > end_v
    ]
    losses.sort(key=lambda loss: loss.hours)
    return (*losses, Loss(float(course.hours[-1]), supply, "cut off", end_v))


def _charge_a(part: Part, load_a: float) -> float:
    """What is left to charge with: the charger's own current, or what the limit leaves."""
    wanted = part.figures["charge_a"].value
    limit = part.figures.get("limit_a")
    return wanted if limit is None else max(0.0, min(wanted, limit.value - load_a))
