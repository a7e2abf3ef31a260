"""What hangs on the converter of a unit: a reader fed with other volts than the unit itself, or a
lock that somebody has put beside it.

The unit's supply gives those watts too; what the converter itself wastes stands in the unit's own
figures.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from latchwork.behaviour import Group
from latchwork.elements import TRUE, Load, Rail, Resistor, ResistorRole
from latchwork.parts import Part
from latchwork.plan import Plan
from latchwork.power.nets import Contacts, Nets, feeds


@dataclass(frozen=True, slots=True)
class Converted:
    """Devices behind converters with the volts there, and the watts they take at rest, while the
    doors are unlocked, and at most."""

    volts: Mapping[str, float]
    idle_w: float
    unlocked_w: float
    most_w: float


def converted(plan: Plan, group: Group, supply: str) -> Converted:
    """What hangs on the converters of the units that ``supply`` feeds."""
    nets = Nets(plan, group)
    elements = group.things.elements
    loads = [e for e in elements if isinstance(e.what, Load)]
    plus = [feed.plus for feed in feeds(group) if feed.device == supply]
    fed = {load.device for load in loads if any(nets.joined(load.a, node) for node in plus)}
    behind: dict[str, float] = {}
    its: dict[str, float] = {}
    coils: list[tuple[Part, Resistor, float]] = []
    for rail in elements:
        volts = plan.devices[rail.device].part.figures.get("reader_v")
        if rail.device not in fed or volts is None or not isinstance(rail.what, Rail):
            continue
        if _does(plan.devices[rail.device].part, rail.what.plus) != "reader_plus":
            continue
        behind |= {load.device: volts.value for load in loads if nets.joined(load.a, rail.a)}
        for device, coil in _coils(plan, group, rail.a, plus):
            coils.append((plan.devices[device].part, coil, volts.value))
            its[device] = volts.value
    parts = {device: plan.devices[device].part for device in behind}
    steady = [
        (part.facts.get("energised"), v * v / c.ohm.value) for part, c, v in coils if c.on == TRUE
    ]
    idle = sum(idle_w(parts[d], volts) for d, volts in behind.items())
    return Converted(
        {**its, **behind},
        idle + sum(watts for does, watts in steady if does == "locks"),
        idle + sum(watts for does, watts in steady if does == "unlocks"),
        sum(v * v / c.ohm.low for _, c, v in coils)
        + sum(most_w(parts[d], volts) for d, volts in behind.items()),
    )


def _coils(
    plan: Plan, group: Group, node: str, plus: Sequence[str]
) -> Iterator[tuple[str, Resistor]]:
    """Locks with their coils that contacts, whichever way they stand, join to ``node`` and to no
    plus of the supply's own."""
    nets = Nets(plan, group, Contacts.ALL)
    if any(nets.joined(node, own) for own in plus):
        return
    for item in group.things.elements:
        match item.what:
            case Resistor(role=ResistorRole.COIL) as coil:
                if nets.joined(item.a, node) or nets.joined(item.b, node):
                    yield item.device, coil


def idle_w(part: Part, volts: float) -> float:
    """Watts of a unit at rest; with a relay that is energised then, as while another's is."""
    if part.facts.get("relay") == "energised when idle":
        return max(_watts(part, "busy", volts), _watts(part, "idle", volts))
    return _watts(part, "idle", volts)


def _watts(part: Part, when: str, volts: float) -> float:
    watts, amps = part.figures.get(f"{when}_w"), part.figures.get(f"{when}_a")
    return watts.value if watts else amps.value * volts if amps else 0.0


def most_w(part: Part, volts: float) -> float:
    """Watts of a unit at most, while it acts; one may be said in watts and the other in amperes."""
    figures = part.figures
    watts = [figures[name].high for name in ("busy_w", "idle_w") if name in figures]
    watts += [figures[name].high * volts for name in ("busy_a", "idle_a") if name in figures]
    return max(watts, default=0.0)


def _does(part: Part, terminal: str) -> str:
    return next((t.does for t in part.terminals if t.name == terminal), "")
