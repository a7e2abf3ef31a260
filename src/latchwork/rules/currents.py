"""Amperes: supplies, ports, contacts, cores and joints against what they may carry."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from latchwork.behaviour import Case, Event, Group, Mode, Power
from latchwork.elements import Contact
from latchwork.findings import Finding, Severity
from latchwork.job.model import Fact
from latchwork.power.converters import converted, most_w
from latchwork.power.loads import SupplyLoad, given_a
from latchwork.power.standby import left_ah
from latchwork.rules.rule import Rule, Uses
from latchwork.rules.security import SITE
from latchwork.rules.view import View

MARGIN = 1.25
"""Limit over highest load (common practice, no source)."""
AT_LIMIT = 0.999
"""A supply that gives this share of its limit is asked for more than it has."""
JOINT_W = 0.5
"""A joint that turns more than this into heat is a bad one (common practice, no source)."""
ALL_AT_ONCE = ((Power.MAINS, Mode.FIRE_RESET), (Power.RETURNS, Mode.NORMAL))
"""When every lock that had let go is energised again in the same moment."""


def _is_port(view: View, supply: str) -> bool:
    return view.part(supply).kind == "poe port"


def _sags(view: View, supply: str) -> bool:
    """Whether a supply stops at no limit: a transformer sags, and its rating is what heats it."""
    return view.part(supply).kind == "transformer"


def supply_overload(view: View) -> Iterator[Finding]:
    """A supply asked for more than its limit, or with less than the usual margin.

    The margin is over load and charge, C/10 of a battery that comes back from an outage (common
    practice, no source). A charger gives way where the doors take all there is, and a battery on
    the output carries them: only the load with a full battery's float fails.
    """
    for load in view.loads:
        if load.limit_a is None or load.margin is None or load.margin >= MARGIN:
            continue
        if _is_port(view, load.id) or _sags(view, load.id):
            continue
        over = load.most_a + load.float_a > AT_LIMIT * load.limit_a
        yield Finding(
            "supply-overload",
            load.id,
            Severity.FAILS if over else Severity.WEAK,
            load.most_when,
            {
                "load_a": load.most_a,
                "charge_a": load.charge_a,
                "limit_a": load.limit_a,
                "margin": load.margin,
                "want": MARGIN,
                **_beyond_limit(view, load),
            },
            "practice",
        )


def _beyond_limit(view: View, load: SupplyLoad) -> Mapping[str, float | str]:
    """What the sums do not show where a supply gives all that it has: a battery on its output gives
    the rest until it is flat, mains or no mains; without one nobody knows how much is wanting."""
    idle_a, limit_a = load.loads_a.get(f"{Power.MAINS}/{Mode.NORMAL}", 0.0), load.limit_a or 0.0
    battery_ah = left_ah(view.site, load.id)
    if idle_a > limit_a / AT_LIMIT and battery_ah is not None:
        flat_h = battery_ah / (idle_a - limit_a)
        return {"also": "drains", "idle_a": idle_a, "flat_h": flat_h}
    if AT_LIMIT * limit_a < load.most_a + load.float_a and load.most_a < limit_a / AT_LIMIT:
        # By a hair more, as the limit is a steep slope in the circuit.
        return {"also": "takes all", "load_a": min(load.most_a, limit_a)}
    return {}


def transformer_overload(view: View) -> Iterator[Finding]:
    """A transformer with more on it than its rating, bells rung besides.

    What lasts heats it until its thermal cut-out opens; a few seconds of more do not, and only make
    it sag (common practice, no source). How far is judged at the locks.
    """
    for load in view.loads:
        if not _sags(view, load.id) or load.limit_a is None:
            continue
        bells_a = sum(_rings_a(view, load.id))
        if load.most_a + bells_a <= load.limit_a:
            continue
        rated_v = view.part(load.id).figures["nominal_v"].value
        lasts_a = load.loads_a.get(f"{Power.MAINS}/{Mode.NORMAL}", 0.0)
        yield Finding(
            "transformer-overload",
            load.id,
            Severity.FAILS if lasts_a > load.limit_a else Severity.WEAK,
            load.most_when,
            {
                "load_a": load.most_a + bells_a,
                "bells_a": bells_a,
                "load_va": (load.most_a + bells_a) * rated_v,
                "rated_va": load.limit_a * rated_v,
            },
            "practice",
        )


def _rings_a(view: View, supply: str) -> Iterator[float]:
    """Amperes of each bell that a transformer rings: no situation rings one."""
    group = view.group_with(supply)
    devices = dict.fromkeys(e.device for e in group.things.elements) if group is not None else {}
    for device in devices:
        part = view.part(device)
        if part.kind == "bell" and view.alternating(view.node(f"{device}.+")):
            yield part.figures["current_a"].value


def relock_overload(view: View) -> Iterator[Finding]:
    """All locks energised again at once, after a fire test or an outage, are more than the supply
    gives."""
    loads = {load.id: load for load in view.loads}
    for group in view.site.groups:
        for supply in group.supplies:
            load = loads.get(supply)
            if load is None or load.limit_a is None or _is_port(view, supply):
                continue
            if _sags(view, supply):
                continue
            if load.most_a + load.float_a > AT_LIMIT * load.limit_a:
                continue
            for power, mode in ALL_AT_ONCE:
                amps = _at_once(view, group, supply, power, mode)
                if amps + load.float_a > AT_LIMIT * load.limit_a:
                    yield Finding(
                        "relock-overload",
                        supply,
                        Severity.FAILS,
                        f"{power}/{mode}/{Event.NOBODY}",
                        {
                            "load_a": amps,
                            "float_a": load.float_a,
                            "limit_a": load.limit_a,
                            "locks": float(_relocking(view, group)),
                        },
                        "practice",
                    )
                    break


def _relocking(view: View, group: Group) -> int:
    return sum(
        view.needs_power_to_lock(lock)
        for door in group.doors
        if door in view.site.outcomes
        for lock in view.site.outcomes[door][Case.NOMINAL].locks
    )


def _at_once(view: View, group: Group, supply: str, power: Power, mode: Mode) -> float:
    """Amperes as all doors come back together: every door's run holds what all others take."""
    most = 0.0
    for door in group.doors:
        outcome = view.outcome(door, Case.NOMINAL) if door in view.site.outcomes else None
        column = outcome.at(power, mode, Event.NOBODY) if outcome is not None else None
        if outcome is not None and column is not None:
            most = max(most, float(given_a(outcome, supply)[column, 0]))
    return most


def port_budget(view: View) -> Iterator[Finding]:
    """A unit that takes more than its network port's class gives, or all ports together more than
    the switch has."""
    total, ports = 0.0, 0
    for group in view.site.groups:
        for supply in group.supplies:
            if not _is_port(view, supply):
                continue
            port_w, when = _port_power(view, group, supply)
            # A unit that a port cannot feed takes little: what it would take is what counts.
            unit_w = _asked_w(view, group, supply)
            port_w = max(port_w + converted(view.plan, group, supply).most_w, unit_w)
            total, ports = total + port_w, ports + 1
            part = view.part(supply)
            may_port, may_unit = part.figures["port_w"].value, part.figures["unit_w"].value
            if port_w > may_port or unit_w > may_unit:
                at_unit = unit_w > may_unit
                yield Finding(
                    "port-overload",
                    supply,
                    Severity.FAILS,
                    when,
                    {
                        "takes_w": unit_w if at_unit else port_w,
                        "may_w": may_unit if at_unit else may_port,
                        "at": "the unit" if at_unit else "the port",
                        "class": str(part.facts.get("poe_class", "")),
                    },
                    "poe",
                )
    budget = view.plan.job.site.facts.get("port budget")
    if isinstance(budget, Fact) and total > budget.value:
        yield Finding(
            "ports-together",
            SITE,
            Severity.FAILS,
            "",
            {"total_w": total, "budget_w": budget.value, "ports": float(ports)},
            "poe",
        )


def _asked_w(view: View, group: Group, supply: str) -> float:
    """Watts that the electronics fed by a port itself take at most while they act, and what hangs
    on their converters."""
    least_v = view.part(supply).figures["output_v"].low
    nets, plus = view.nets(group), view.node(f"{supply}.+")
    devices = dict.fromkeys(e.device for e in group.things.elements)
    fed = [
        device
        for device in devices
        if device not in group.supplies and nets.joined(view.node(f"{device}.+"), plus)
    ]
    behind = converted(view.plan, group, supply)
    return sum(most_w(view.part(device), least_v) for device in fed) + behind.most_w


def _port_power(view: View, group: Group, supply: str) -> tuple[float, str]:
    """Highest watts at the port, and when, at nominal figures."""
    best = (0.0, "")
    for door in group.doors:
        outcome = view.site.outcomes.get(door, {}).get(Case.NOMINAL)
        if outcome is None:
            continue
        for n, name in enumerate(outcome.feed_names):
            if name.startswith(f"{supply}."):
                watts = outcome.feed_a[n] * outcome.feed_v[n]
                column = int(np.argmax(watts.max(axis=1)))
                best = max(best, (float(watts.max()), outcome.situations[column].key))
    return best


def carried(view: View) -> Iterator[Finding]:
    """A contact, core or joint that carries more than it may, at most current."""
    contacts = {
        e.name: e.what.rating_a
        for group in view.site.groups
        for e in group.things.elements
        if isinstance(e.what, Contact) and e.what.rating_a is not None
    }
    cores = {c.id: view.plan.cables[c.cable].type.limit_a for c in view.site.wiring.conductors}
    joints = {x.id: x.ohm for x in view.site.wiring.leads if x.ohm is not None}
    most: dict[str, float] = {}
    for by_case in view.site.outcomes.values():
        outcome = by_case.get(Case.MOST_CURRENT)
        for name, amps in outcome.most_a.items() if outcome else ():
            most[name] = max(most.get(name, 0.0), amps)
    told: set[str] = set()
    for name, amps in most.items():
        rating = contacts.get(name)
        if rating is not None and amps > rating:
            yield _over("contact-overload", name, amps, rating)
        limit, core = cores.get(name), name.partition("#")[0]
        if limit is not None and amps > limit and core not in told:
            told.add(core)
            yield _over("core-overload", core, amps, limit)
        ohm = joints.get(name)
        if ohm is not None and amps * amps * ohm.value > JOINT_W:
            yield Finding(
                "joint-hot",
                name,
                Severity.WEAK,
                "",
                {"current_a": amps, "joint_ohm": ohm.value, "heat_w": amps * amps * ohm.value},
                "practice",
            )


def _over(code: str, subject: str, amps: float, rating: float) -> Finding:
    figures = {"current_a": amps, "rating_a": rating}
    return Finding(code, subject, Severity.WEAK, "", figures, "practice")


RULES: tuple[Rule, ...] = (
    Rule(("supply-overload",), "practice", supply_overload, Uses.SUPPLY),
    Rule(("transformer-overload",), "practice", transformer_overload, Uses.SUPPLY),
    Rule(("relock-overload",), "practice", relock_overload, Uses.SUPPLY),
    Rule(("port-overload", "ports-together"), "poe", port_budget, Uses.SUPPLY),
    Rule(("contact-overload", "core-overload", "joint-hot"), "practice", carried, Uses.DOOR),
)
