"""Which node is eliminated when: worked out once for each topology.

A topology is nodes 0 … n-1 and branches between them. Node 0 is the reference and goes last.
Nodes that carry a non-linear branch are kept for the second level; all others are eliminated
first, cheapest next (fewest neighbours, then lowest number, so that the order is fixed).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache


@dataclass(frozen=True, slots=True)
class Topology:
    """``linear`` and ``nonlinear`` hold the two nodes of each branch."""

    nodes: int
    linear: tuple[tuple[int, int], ...]
    nonlinear: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Step:
    """Eliminate ``node``: its neighbours, the slots of the conductances to them, and for each
    pair of neighbours (positions in ``neighbours``, the first never the reference) the slot that
    grows."""

    node: int
    neighbours: tuple[int, ...]
    slots: tuple[int, ...]
    pairs: tuple[tuple[int, int, int], ...]


@dataclass(frozen=True, slots=True)
class Order:
    """The elimination of one topology. A slot is the conductance between one pair of nodes.

    ``linear_slot`` and ``nonlinear_slot`` give each branch's slot, -1 where both its ends are one
    node. ``first`` are the linear nodes, ``second`` the rest, the reference not among them;
    ``second_slots`` all that the second level reads.
    """

    slots: int
    linear_slot: tuple[int, ...]
    nonlinear_slot: tuple[int, ...]
    first: tuple[Step, ...]
    second: tuple[Step, ...]
    second_slots: tuple[int, ...]


@lru_cache(maxsize=4096)
def order(topology: Topology) -> Order:
    """The elimination order of ``topology`` by least degree."""
    slots: dict[tuple[int, int], int] = {}
    around: list[set[int]] = [set() for _ in range(topology.nodes)]

    def slot(a: int, b: int) -> int:
        if a == b:
            return -1
        around[a].add(b)
        around[b].add(a)
        return slots.setdefault((min(a, b), max(a, b)), len(slots))

    linear_slot = tuple(slot(a, b) for a, b in topology.linear)
    nonlinear_slot = tuple(slot(a, b) for a, b in topology.nonlinear)
    kept = {n for branch in topology.nonlinear for n in branch} - {0}
    linear_nodes = set(range(1, topology.nodes)) - kept

    def eliminate(nodes: set[int]) -> tuple[Step, ...]:
        steps = []
        waiting = set(nodes)
        while waiting:
            node = min(waiting, key=lambda n: (len(around[n]), n))
            waiting.remove(node)
            neighbours = tuple(sorted(around[node]))
            own = tuple(slots[min(node, m), max(node, m)] for m in neighbours)
            for m in neighbours:
                around[m].remove(node)
            pairs = tuple(
                (j, i, slot(neighbours[i], neighbours[j]))
                for i in range(len(neighbours))
                for j in range(i + 1, len(neighbours))
            )
            steps.append(Step(node, neighbours, own, pairs))
        return tuple(steps)

    first = eliminate(linear_nodes)
    second = eliminate(kept)
    read = tuple(sorted({s for step in second for s in step.slots}))
    return Order(len(slots), linear_slot, nonlinear_slot, first, second, read)
