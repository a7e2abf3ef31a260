"""Whether a battery stands behind what feeds a door.

Supplies whose 0 V are joined share a circuit, and one without a battery feeds its doors on mains
only, whatever stands beside it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping

from latchwork.behaviour import Group, SiteOutcome
from latchwork.elements import Contact, Diode, Resistor, joining_ohm
from latchwork.plan import Plan
from latchwork.power.nets import LEAK_OHM, Nets, feeds


def battery_behind(site: SiteOutcome, door: str) -> bool:
    """Whether a battery's plus reaches what takes current at the door, every contact closed."""
    group = site.group_of(door)
    if group is None:
        return False
    backed = [s for s in group.supplies if site.plan.battery_blocks(s) > 0]
    if len(backed) in (0, len(group.supplies)):
        return bool(backed)
    reached = _reached(site.plan, group, backed)
    its = set(site.plan.doors[door].devices.values())
    takes = (
        e for e in group.things.elements if e.device in its and not isinstance(e.what, Contact)
    )
    return reached is None or any(not reached.isdisjoint((e.a, e.b)) for e in takes)


def backed_by_another(plan: Plan, group: Group, supply: str) -> bool:
    """Whether the battery of another supply carries on all that hangs on this one: by their pluses,
    or past a diode in each."""
    others = [s for s in group.supplies if s != supply and plan.battery_blocks(s) > 0]
    reached = _reached(plan, group, others)
    own = {s.plus for s in feeds(group) if s.device == supply}
    if reached is None or not own:
        return False
    its = _onward(group, own)
    return all(
        not reached.isdisjoint((e.a, e.b))
        for e in group.things.elements
        if not isinstance(e.what, Contact)
        and e.device not in plan.supplies
        and not its.isdisjoint((e.a, e.b))
    )


def batteries_beside(plan: Plan, group: Group, supply: str) -> tuple[str, ...]:
    """The other supplies whose batteries feed what a supply's battery feeds: joined by their
    pluses, be it by a diode in each."""
    own = _reached(plan, group, (supply,)) or set()
    others = (s for s in group.supplies if s != supply and plan.battery_blocks(s) > 0)
    return tuple(s for s in others if not own.isdisjoint(_reached(plan, group, (s,)) or ()))


def _reached(plan: Plan, group: Group, backed: Collection[str]) -> set[str] | None:
    """The nodes on the plus of a battery, of supplies that are ``backed`` by one; None where one is
    a minus too: a short tells nothing."""
    nets, sources = Nets(plan, group), feeds(group)
    found = _onward(group, {s.plus for s in sources if s.device in backed})
    shorted = any(nets.joined(node, s.minus) for node in found for s in sources)
    return None if shorted else found


def _onward(group: Group, nodes: Iterable[str]) -> set[str]:
    """The nodes that current may come to from some."""
    ways: Mapping[str, list[str]] = defaultdict(list)
    for here, there in _ways(group):
        ways[here].append(there)
    left, found = list(nodes), set[str]()
    while left:
        node = left.pop()
        if node not in found:
            found.add(node)
            left += ways[node]
    return found


def _ways(group: Group) -> Iterator[tuple[str, str]]:
    """From node to node by copper, contacts, fuses and diodes, as current may flow."""
    for wire in group.things.conductors:
        if wire.ohm.value <= LEAK_OHM:
            yield from ((wire.a, wire.b), (wire.b, wire.a))
    for item in group.things.elements:
        match item.what:
            case Diode():
                yield item.a, item.b
            case Resistor(name="reader feed"):
                yield from ((item.a, item.b), (item.b, item.a))
            case what if joining_ohm(what) is not None:
                yield from ((item.a, item.b), (item.b, item.a))
