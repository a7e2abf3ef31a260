"""What hangs on the converter of a unit: a reader fed with other volts than the unit itself.

The unit's supply gives those watts too; what the converter itself wastes stands in the unit's own
figures.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from latchwork.behaviour import Group
from latchwork.elements import Load, Rail
from latchwork.parts import Part
from latchwork.plan import Plan
from latchwork.power.nets import Nets, feeds


@dataclass(frozen=True, slots=True)
class Converted:
    """Devices behind converters with the volts there, and the watts they take at rest and at
    most."""

    volts: Mapping[str, float]
    idle_w: float
    most_w: float


def converted(plan: Plan, group: Group, supply: str) -> Converted:
    """What hangs on the converters of the units that ``supply`` feeds."""
    nets = Nets(plan, group)
    elements = group.things.elements
    loads = [e for e in elements if isinstance(e.what, Load)]
    plus = [feed.plus for feed in feeds(group) if feed.device == supply]
    fed = {load.device for load in loads if any(nets.joined(load.a, node) for node in plus)}
    behind: dict[str, float] = {}
    for rail in elements:
        volts = plan.devices[rail.device].part.figures.get("reader_v")
        if rail.device not in fed or volts is None or not isinstance(rail.what, Rail):
            continue
        if _does(plan.devices[rail.device].part, rail.what.plus) != "reader_plus":
            continue
        behind |= {load.device: volts.value for load in loads if nets.joined(load.a, rail.a)}
    parts = {device: plan.devices[device].part for device in behind}
    return Converted(
        behind,
        sum(idle_w(parts[d], volts) for d, volts in behind.items()),
        sum(most_w(parts[d], volts) for d, volts in behind.items()),
    )


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
