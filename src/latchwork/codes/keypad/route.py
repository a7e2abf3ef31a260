"""The order of steps, and the way between them, with the fewest keys."""

from __future__ import annotations

import heapq
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from latchwork.codes.keypad.choice import Item, presses_of
from latchwork.codes.keypad.grammar import Edge, Grammar

_EXACT = 9
"""Up to this many groups of steps the order is the best there is; beyond, a good one."""
_DELETES = frozenset(
    {"delete place", "delete places", "delete card", "delete PIN", "delete all users"}
)
_ADDS = frozenset({"add PIN", "add card", "add card range", "add finger"})
_USER_SETS = frozenset({"set relay", "set times", "set until", "set kind"})
_READ_BY = frozenset(
    {"set PIN length", "set reader format", "set reader parity", "set facility code"}
)
"""What decides which PINs and cards the controller takes at all."""
FAR = 10**6


@dataclass(slots=True)
class Ways:
    """Moving about in a grammar: the fewest keys from state to state, by steps that do nothing."""

    grammar: Grammar
    codes: Mapping[str, str]
    _from: dict[str, dict[str, tuple[int, Edge | None]]] = field(default_factory=dict)

    def _moves(self, state: str) -> list[tuple[int, Edge]]:
        found = []
        for edge in self.grammar.states[state].edges:
            if not edge.does and edge.to != state:
                presses = presses_of(self.grammar, edge, {}, self.codes)
                if presses is not None:
                    found.append((len(presses), edge))
        return found

    def _reach(self, start: str) -> dict[str, tuple[int, Edge | None]]:
        if start in self._from:
            return self._from[start]
        found: dict[str, tuple[int, Edge | None]] = {start: (0, None)}
        queue = [(0, start)]
        while queue:
            cost, state = heapq.heappop(queue)
            if cost > found[state][0]:
                continue
            for step, edge in self._moves(state):
                total = cost + step
                if total < found.get(edge.to, (FAR, None))[0]:
                    found[edge.to] = (total, edge)
                    heapq.heappush(queue, (total, edge.to))
        self._from[start] = found
        return found

    def cost(self, start: str, end: str) -> int:
        """Keys from state to state; ``FAR`` where there is no way."""
        return self._reach(start).get(end, (FAR, None))[0]

    def path(self, start: str, end: str) -> list[Edge]:
        """The steps from state to state."""
        reach, path = self._reach(start), []
        while end != start:
            edge = reach[end][1]
            assert edge is not None
            path.append(edge)
            end = edge.state
        return path[::-1]


@dataclass(frozen=True, slots=True)
class _Group:
    """Steps of one edge, done one after another."""

    edge: Edge
    items: tuple[Item, ...]

    @property
    def does(self) -> frozenset[str]:
        return frozenset(self.edge.does)


def _before(a: _Group, b: _Group) -> bool:
    """Whether ``a`` must come before ``b``."""
    if a.does & _DELETES and b.does & _ADDS:
        return True
    if a.does & _READ_BY and b.does & _ADDS:
        return True
    if a.does & _ADDS and b.does & _USER_SETS and not b.does & _ADDS:
        return True
    if "clear times" in a.does and "add times" in b.does:
        return True
    return "clear holidays" in a.does and "add holiday" in b.does


def in_order(ways: Ways, items: Sequence[Item], start: str) -> tuple[list[Item], int]:
    """The items in a good order, and the keys the whole takes, the way back to ``start`` included.

    Steps of one kind stay together. Up to nine kinds the order is the shortest there is.
    """
    by_edge: dict[str, list[Item]] = {}
    for item in items:
        by_edge.setdefault(item.edge.id, []).append(item)
    groups = [_Group(v[0].edge, tuple(v)) for v in by_edge.values()]
    order = _exact(ways, groups, start) if len(groups) <= _EXACT else _near(ways, groups, start)
    if order is None:
        return [], FAR
    total = _length(ways, [groups[i] for i in order], start)
    for group in groups:
        again = ways.cost(group.edge.to, group.edge.state) * (len(group.items) - 1)
        total += again + sum(item.cost for item in group.items)
    return _person_by_person([groups[i] for i in order]), total


def _person_by_person(order: Sequence[_Group]) -> list[Item]:
    """Steps about users that are keyed in one and the same state, place by place: as short, and
    easier to follow."""
    done: list[Item] = []
    run: list[Item] = []
    for group in order:
        edge = group.edge
        stays = edge.state == edge.to and group.does <= _ADDS | _USER_SETS
        if run and (not stays or run[-1].edge.state != edge.state):
            done += sorted(run, key=lambda item: item.place)
            run = []
        if stays:
            run += group.items
        else:
            done += group.items
    return done + sorted(run, key=lambda item: item.place)


def _length(ways: Ways, order: Sequence[_Group], start: str) -> int:
    total, state = 0, start
    for group in order:
        total += ways.cost(state, group.edge.state)
        state = group.edge.to
    return total + ways.cost(state, start)


def _exact(ways: Ways, groups: list[_Group], start: str) -> list[int] | None:
    """Dynamic programming over which groups are done and which was last."""
    count = len(groups)
    if count == 0:
        return []
    first = [
        sum(1 << i for i in range(count) if i != j and _before(groups[i], groups[j]))
        for j in range(count)
    ]
    best: dict[tuple[int, int], tuple[int, int]] = {}
    for j in range(count):
        if not first[j]:
            best[1 << j, j] = (ways.cost(start, groups[j].edge.state), -1)
    for done in range(1, 1 << count):
        for last in range(count):
            if (done, last) not in best:
                continue
            cost = best[done, last][0]
            for j in range(count):
                if done >> j & 1 or first[j] & ~done:
                    continue
                key = (done | 1 << j, j)
                total = cost + ways.cost(groups[last].edge.to, groups[j].edge.state)
                if total < best.get(key, (FAR * 99, 0))[0]:
                    best[key] = (total, last)
    full = (1 << count) - 1
    ends = [
        (best[full, j][0] + ways.cost(groups[j].edge.to, start), j)
        for j in range(count)
        if (full, j) in best
    ]
    total, last = min(ends)
    if total >= FAR:
        return None
    order, done = [], full
    while last >= 0:
        order.append(last)
        previous = best[done, last][1]
        done &= ~(1 << last)
        last = previous
    return order[::-1]


def _near(ways: Ways, groups: list[_Group], start: str) -> list[int] | None:
    """Always the nearest step that may come next; then single groups moved as it gets shorter."""
    order: list[int] = []
    left = set(range(len(groups)))
    state = start
    while left:
        ready = [j for j in left if not any(_before(groups[i], groups[j]) for i in left if i != j)]
        nearest = min(ready, key=lambda j: (ways.cost(state, groups[j].edge.state), j))
        order.append(nearest)
        left.remove(nearest)
        state = groups[nearest].edge.to
    length = _length(ways, [groups[i] for i in order], start)
    improved = True
    while improved:
        improved = False
        for i in range(len(order)):
            for j in range(len(order)):
                moved = order[:i] + order[i + 1 :]
                moved.insert(j, order[i])
                if not _allowed(groups, moved):
                    continue
                shorter = _length(ways, [groups[k] for k in moved], start)
                if shorter < length:
                    order, length, improved = moved, shorter, True
    return order if length < FAR else None


def _allowed(groups: list[_Group], order: list[int]) -> bool:
    return not any(
        _before(groups[later], groups[earlier])
        for at, earlier in enumerate(order)
        for later in order[at + 1 :]
    )
