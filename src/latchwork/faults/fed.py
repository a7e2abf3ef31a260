"""The plus and the minus that a core may touch: those that feed what it serves."""

from __future__ import annotations

from collections.abc import Iterator

from latchwork.behaviour.network import PlacedConductor, Things
from latchwork.elements import Contact, Fuse, Resistor, ResistorRole
from latchwork.wiring import Wiring
from latchwork.wiring.kit import feeds_of
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
        self._doors: dict[str, tuple[tuple[str, str], ...]] = {}
        self._known: dict[str, tuple[str, str]] = {}
        self._closed: Union | None = None

    def poles(self, wire: PlacedConductor) -> tuple[str, str]:
        """Plus, behind its fuse, and minus: of the core's door as the file says it is fed, of a
        core of no door those that its cable's copper is joined to; "" where there is none."""
        cable = self._cables[wire.name]
        if wire.door not in self._doors:
            self._doors[wire.door] = tuple(self._of_door(wire.door))
        feeds = self._doors[wire.door]
        if len(feeds) > 1:
            return min(feeds, key=lambda poles: self._far(wire, poles))
        if not feeds and cable not in self._known:
            self._known[cable] = self._of_cable(cable) or self._alone
        return feeds[0] if feeds else self._known[cable]

    def _of_door(self, door: str) -> Iterator[tuple[str, str]]:
        plan = self._wiring.plan
        for feed in feeds_of(plan, plan.doors[door].door) if door else ():
            if self._nodes.issuperset((feed.plus, feed.minus)):
                yield feed.plus, feed.minus

    def _far(self, wire: PlacedConductor, poles: tuple[str, str]) -> int:
        """How little a core has to do with two poles: it leads to the plus, with every contact
        closed; to the minus; to neither."""
        if self._closed is None:
            self._closed = Union()
            for a, b in self._ways():
                self._closed.join(a, b)
        ends = [self._closed.find(node) for node in (*poles, wire.b)]
        return ends.index(ends[-1])

    def _ways(self) -> Iterator[tuple[str, str]]:
        for wire in self._cell.conductors:
            yield wire.a, wire.b
        for item in self._cell.elements:
            match item.what:
                case Contact() | Fuse():
                    yield item.a, item.b
                case Resistor(role=ResistorRole.INTERNAL | ResistorRole.JOINT):
                    yield item.a, item.b

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
