"""The load of each supply, situation by situation."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from latchwork.behaviour import Case, DoorOutcome, Event, Mode, Power, SiteOutcome, Situation
from latchwork.elements import Source
from latchwork.power.keys import EVERYBODY

SAME_A = 1e-6
"""Loads no further apart are the same one, told by what comes first, whatever rounding says."""


@dataclass(frozen=True, slots=True)
class SupplyLoad:
    """One supply. ``loads_a``: amperes by (power, mode) with nobody at any door, and by
    ``EVERYBODY`` on mains; ``most_a`` the highest in the case of most current, but
    for the surge as all doors lock again."""

    id: str
    volts: float
    limit_a: float | None
    loads_a: Mapping[str, float]
    most_a: float
    most_when: str
    charge_a: float

    @property
    def margin(self) -> float | None:
        """Limit over the highest load and charge together; None without a limit."""
        total = self.most_a + self.charge_a
        if self.limit_a is None or total <= 0.0:
            return None
        return self.limit_a / total


def supply_loads(site: SiteOutcome) -> tuple[SupplyLoad, ...]:
    """The loads of every supply of the site, in the order of the job."""
    out = []
    for group in site.groups:
        for supply in group.supplies:
            out.append(_load(site, group.doors, supply))
    order = list(site.plan.supplies) + [s.id for s in out]
    return tuple(sorted(out, key=lambda s: order.index(s.id)))


def _given(result: DoorOutcome, supply: str, charge: bool = False) -> np.ndarray:
    """Amperes the supply gives to its doors: situations x moments."""
    total = np.zeros(result.feed_a.shape[1:])
    for n, name in enumerate(result.feed_names):
        if not name.startswith(supply + "."):
            continue
        is_charge = "charge" in name or "trickle" in name
        if is_charge:
            total += result.feed_a[n] if charge else -result.feed_a[n]
        elif not charge:
            total += result.feed_a[n]
    return total


def _load(site: SiteOutcome, doors: tuple[str, ...], supply: str) -> SupplyLoad:
    part = site.plan.devices[supply].part
    source = next(e for e in part.elements if isinstance(e, Source))
    loads: dict[str, float] = {}
    most, when, charge = 0.0, "", 0.0
    ran = [d for d in doors if d in site.outcomes]
    for case in (Case.NOMINAL, Case.MOST_CURRENT):
        idle = None
        extra = 0.0
        for door in ran:
            result = site.outcomes[door].get(case)
            if result is None:
                continue
            given = _given(result, supply)
            charge = max(charge, float(_given(result, supply, charge=True).max(initial=0.0)))
            quiet = result.at(Power.MAINS, Mode.NORMAL, Event.NOBODY)
            if quiet is None:
                continue
            base = float(given[quiet, 1])
            idle = base if idle is None else idle
            extra += _most_extra(result, given, base)
            most_amps, last_amps = given.max(axis=1).tolist(), given[:, 1].tolist()
            for s, amps, last in zip(result.situations, most_amps, last_amps, strict=True):
                if case is Case.NOMINAL and s.event is Event.NOBODY:
                    key = f"{s.power}/{s.mode}"
                    loads[key] = max(loads.get(key, 0.0), amps)
                lasting = last if _surges(s) else amps
                if lasting > most + SAME_A:
                    when = s.key
                most = max(most, lasting)
        if idle is not None:
            everybody = idle + extra
            if case is Case.NOMINAL:
                loads[EVERYBODY] = everybody
            if everybody > most + SAME_A:
                when = EVERYBODY
            most = max(most, everybody)
    limit = source.limit_a.value if source.limit_a is not None else None
    return SupplyLoad(supply, source.volt.value, limit, loads, most, when, charge)


def _surges(situation: Situation) -> bool:
    """Whether all doors move in its first moment: a surge, which is judged by itself."""
    return situation.event is Event.NOBODY and (
        situation.power is Power.RETURNS or situation.mode is Mode.FIRE_RESET
    )


def _most_extra(result: DoorOutcome, given: np.ndarray, base: float) -> float:
    """How much more one door takes than idle when somebody uses it, on mains."""
    most = 0.0
    for n, s in enumerate(result.situations):
        if (
            s.power is Power.MAINS
            and s.mode is Mode.NORMAL
            and s.event
            in (
                Event.CREDENTIAL,
                Event.EXIT,
            )
        ):
            most = max(most, float(given[n].max()) - base)
    return most
