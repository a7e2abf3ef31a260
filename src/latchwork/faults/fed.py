"""The plus and the minus that a core may touch: those that feed what it serves."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from latchwork.behaviour.network import PlacedConductor, Things
from latchwork.elements import joining_ohm
from latchwork.wiring import Conductor, Wiring
from latchwork.wiring.kit import feeds_of
from latchwork.wiring.union import Union


class Fed:
    """The poles of one cell. ``cores``: the site's by their ids; ``plus`` and ``minus`` are those
    of a supply that is alone in the cell."""

    def __init__(
        self, wiring: Wiring, cores: Mapping[str, Conductor], cell: Things, plus: str, minus: str
    ) -> None:
        self._wiring = wiring
        self._cell = cell
        self._alone = plus, minus
        ends = [(wire.a, wire.b) for wire in cell.conductors]
        ends += [(item.a, item.b) for item in cell.elements]
        self._nodes = {node for pair in ends for node in pair}
        self._cables = {w.name: cores[w.name].cable for w in cell.conductors if w.name in cores}
        self._doors: dict[str, tuple[tuple[str, str], ...]] = {}
        self._known: dict[str, tuple[str, str]] = {}
        self._closed: Union | None = None

    def poles(self, wire: PlacedConductor) -> tuple[str, str]:
        """Plus, behind its fuse, and minus: of the core's door as the file says it is fed; where a
        device of it has a supply of its own, of the one that the core's circuit hangs on; of a core
        of no door those that its cable's copper is joined to. "" where there is none."""
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
            self._closed = _union(self._ways())
        ends = [self._closed.find(node) for node in (*poles, wire.b)]
        return ends.index(ends[-1])

    def _ways(self) -> Iterator[tuple[str, str]]:
        for wire in self._cell.conductors:
            yield wire.a, wire.b
        for item in self._cell.elements:
            if joining_ohm(item.what) is not None:
                yield item.a, item.b

    def _of_cable(self, cable: str) -> tuple[str, str] | None:
        copper = _union((wire.a, wire.b) for wire in self._cell.conductors)
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


def _union(ways: Iterable[tuple[str, str]]) -> Union:
    joined = Union()
    for a, b in ways:
        joined.join(a, b)
    return joined
