"""Which node is eliminated when: worked out once for each topology.

A topology is nodes 0 … n-1 and branches between them. Node 0 is the reference and goes last.
Nodes that carry a non-linear branch are kept for the second level; all others are eliminated
first, cheapest next (fewest neighbours, then lowest number, so that the order is fixed). What by
then still has many, as where the doors of a supply meet, is kept too: it would join all of them to
each other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache

MOST_NEIGHBOURS = 4
"""A linear node with more of them, the reference left out, is kept for the second level. With any
number from two to six sixteen doors behind one relay had the same pairs to join."""


@dataclass(frozen=True, slots=True)
class Topology:
    """``linear`` and ``nonlinear`` hold the two nodes of each branch; ``apart``: which of the
    linear ones conduct in hardly any column, and do not count as neighbours."""

    nodes: int
    linear: tuple[tuple[int, int], ...]
    nonlinear: tuple[tuple[int, int], ...]
    apart: frozenset[int] = frozenset()


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
class Lean:
    """A step with the slots that hold anything. ``held``: the first of ``slots`` is to the
    reference, which is not among ``neighbours``; pairs: positions in ``neighbours`` and in
    ``slots``, the slot that grows, and whether it holds nothing yet."""

    node: int
    held: bool
    neighbours: tuple[int, ...]
    slots: tuple[int, ...]
    pairs: tuple[tuple[int, int, int, bool], ...]


@dataclass(frozen=True, slots=True)
class Order:
    """The elimination of one topology. A slot is the conductance between one pair of nodes.

    ``linear_slot`` and ``nonlinear_slot`` give each branch's slot, -1 where both its ends are one
    node. ``first`` are linear nodes, ``second`` the rest, the reference not among them;
    ``second_slots`` all that the second level reads.
    """

    slots: int
    linear_slot: tuple[int, ...]
    nonlinear_slot: tuple[int, ...]
    first: tuple[Step, ...]
    second: tuple[Step, ...]
    second_slots: tuple[int, ...]
    leaner: dict[tuple[bool, tuple[bool, ...]], tuple[Lean, ...]] = field(
        default_factory=dict, compare=False, repr=False
    )

    def lean(self, present: tuple[bool, ...], *, second: bool) -> tuple[Lean, ...]:
        """The steps of one level where only these slots hold anything as it begins."""
        key = second, present
        if key not in self.leaner:
            self.leaner[key] = _lean(self.second if second else self.first, present)
        return self.leaner[key]


def _lean(steps: Sequence[Step], present: tuple[bool, ...]) -> tuple[Lean, ...]:
    there = list(present)
    out = []
    for step in steps:
        its = [n for n, slot in enumerate(step.slots) if there[slot]]
        held = bool(its) and step.neighbours[its[0]] == 0
        pairs = []
        for i, j, slot in step.pairs:
            if i in its and j in its:
                pairs.append((its.index(i) - held, its.index(j), slot, not there[slot]))
                there[slot] = True
        neighbours = tuple(step.neighbours[n] for n in its[held:])
        slots = tuple(step.slots[n] for n in its)
        out.append(Lean(step.node, held, neighbours, slots, tuple(pairs)))
    return tuple(out)


@lru_cache(maxsize=4096)
def order(topology: Topology) -> Order:
    """The elimination order of ``topology`` by least degree."""
    slots: dict[tuple[int, int], int] = {}
    around: list[set[int]] = [set() for _ in range(topology.nodes)]
    usual: list[set[int]] = [set() for _ in range(topology.nodes)]

    def slot(a: int, b: int) -> int:
        if a == b:
            return -1
        around[a].add(b)
        around[b].add(a)
        return slots.setdefault((min(a, b), max(a, b)), len(slots))

    linear_slot = tuple(slot(a, b) for a, b in topology.linear)
    nonlinear_slot = tuple(slot(a, b) for a, b in topology.nonlinear)
    there = [ends for n, ends in enumerate(topology.linear) if n not in topology.apart]
    for a, b in (*there, *topology.nonlinear):
        if a != b:
            usual[a].add(b)
            usual[b].add(a)

    def eliminate(waiting: set[int], most: int) -> tuple[Step, ...]:
        """Those of the ``waiting`` that have no more than so many neighbours when they go; others
        are left there."""
        steps = []
        while waiting:
            node = min(waiting, key=lambda n: (len(usual[n]), len(around[n]), n))
            if len(usual[node] - {0}) > most:
                break
            waiting.remove(node)
            neighbours = tuple(sorted(around[node]))
            own = tuple(slots[min(node, m), max(node, m)] for m in neighbours)
            for m in neighbours:
                around[m].remove(node)
            for m in usual[node]:
                usual[m] = (usual[m] | usual[node]) - {node, m}
            pairs = tuple(
                (j, i, slot(neighbours[i], neighbours[j]))
                for i in range(len(neighbours))
                for j in range(i + 1, len(neighbours))
            )
            steps.append(Step(node, neighbours, own, pairs))
        return tuple(steps)

    kept = {n for branch in topology.nonlinear for n in branch} - {0}
    linear_nodes = set(range(1, topology.nodes)) - kept
    first = eliminate(linear_nodes, MOST_NEIGHBOURS)
    second = eliminate(kept | linear_nodes, topology.nodes)
    read = tuple(sorted({s for step in second for s in step.slots}))
    return Order(len(slots), linear_slot, nonlinear_slot, first, second, read)
