"""At which screws of a supply a meter's other lead is put."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping, Sequence

from latchwork.behaviour import Group
from latchwork.behaviour.copper import ohms_from
from latchwork.faults.door_facts import DoorFacts
from latchwork.plan import PlannedSupply


class Meters:
    """The screws of one cell's supplies, by the doors of it.

    Supplies whose 0 V are joined are one circuit, and the reference is a screw of the first of
    them, which may hang in another room than the door.
    """

    def __init__(
        self,
        cell: Group,
        supplies: Sequence[PlannedSupply],
        nodes: Mapping[str, int],
        elsewhere: Container[str],
    ) -> None:
        """``elsewhere``: nodes that nothing ties to the reference."""
        self._cell, self._nodes = cell, nodes
        here = {name for name in nodes if name not in elsewhere}
        outputs = [f"{supply.id}.{name}" for supply in supplies for name in supply.outputs]
        self._plus = [name for name in outputs if name in nodes]
        both = (f"{supply.id}.{name}" for supply in supplies for name in ("-", "A2"))
        self._minus = [name for name in both if name in here]
        self._names = {n: name for name, n in nodes.items()}

    def of(self, door: DoorFacts) -> tuple[int, int]:
        """Minus and plus of what feeds the door's lock: of several supplies that to which the least
        copper leads, every contact closed."""
        plus = self._nodes[self._plus[0]] if self._plus else 0
        if len(self._minus) < 2 or not door.nodes:
            return 0, plus
        a, b = (self._names[node] for node in door.nodes[0])
        return self._nearest(b, self._minus, 0), self._nearest(a, self._plus, plus)

    def _nearest(self, node: str, screws: Iterable[str], otherwise: int) -> int:
        ohms = ohms_from(self._cell.things, node)
        reached = [(ohms[name], n) for n, name in enumerate(screws) if name in ohms]
        return self._nodes[tuple(screws)[min(reached)[1]]] if reached else otherwise
