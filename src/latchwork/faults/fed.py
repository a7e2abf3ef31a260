"""The plus and the minus that a core may touch: those that feed what it serves."""

from __future__ import annotations

from collections.abc import Iterator

from latchwork.behaviour.network import PlacedConductor, Things
from latchwork.wiring import Wiring
from latchwork.wiring.kit import feed_of
from latchwork.wiring.union import Union


class Fed:
    """The poles of one cell. ``plus`` and ``minus`` are those of a supply that is alone in it."""

    def __init__(self, wiring: Wiring, cell: Things, plus: str, minus: str) -> None:
        self._wiring = wiring
        self._cell = cell
        self._alone = plus, minus
        ends = [(wire.a, wire.b) for wire in cell.conductors]
        ends += [(item.a, item.b) for item in cell.elements]
        self._nodes = {node for pair in ends for node in pair}
        self._cables = {core.id: core.cable for core in wiring.conductors}
        self._known: dict[str, tuple[str, str]] = {}

    def poles(self, wire: PlacedConductor) -> tuple[str, str]:
        """Plus, behind its fuse, and minus: of the core's door as the file says it is fed, of a
        core of no door those that its cable's copper is joined to; "" where there is none."""
        cable = self._cables[wire.name]
        about = wire.door or cable
        if about not in self._known:
            self._known[about] = self._of_door(wire.door) or self._of_cable(cable) or self._alone
        return self._known[about]

    def _of_door(self, door: str) -> tuple[str, str] | None:
        plan = self._wiring.plan
        feed = feed_of(plan, plan.doors[door].door) if door else None
        if feed is None or not self._nodes.issuperset((feed.plus, feed.minus)):
            return None
        return feed.plus, feed.minus

    def _of_cable(self, cable: str) -> tuple[str, str] | None:
        copper = Union()
        for wire in self._cell.conductors:
            copper.join(wire.a, wire.b)
        its = {copper.find(w.a) for w in self._cell.conductors if self._cables.get(w.name) == cable}
        found = [(p, m) for p, m in self._feeds() if not its.isdisjoint(map(copper.find, (p, m)))]
        return min(found, key=lambda poles: copper.find(poles[0]) not in its, default=None)

    def _feeds(self) -> Iterator[tuple[str, str]]:
        """Plus and minus of every output of the site's supplies that stands in the cell."""
        for supply in self._wiring.plan.supplies.values():
            part = supply.device.part
            minus = f"{supply.id}.{'-' if part.has_terminal('-') else 'A2'}"
            for terminal in part.terminals:
                plus = f"{supply.id}.{terminal.name}"
                out = terminal.does == "output_plus" or terminal.name == "A1"
                if out and self._nodes.issuperset((plus, minus)):
                    yield plus, minus
