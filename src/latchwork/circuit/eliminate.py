"""Star-mesh elimination, over columns of what-ifs.

Eliminating node k with conductances g_j to its neighbours, s = sum of g_j, injected current I_k:

    g_ij += g_i * g_j / s        I_j += I_k * g_j / s        V_k = I_k / s + sum of V_j * g_j / s

With conductances that are not negative every sum has positive terms only, so an open conductor is
exactly 0 and a node that nothing holds shows as s == 0. Rows are NumPy vectors over columns; a row
of length 1 stands for a value that is the same in every column. The order of operations is fixed,
so that results can be repeated bit for bit. The reference (node 0) has 0 V and needs no share.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

from latchwork.circuit.topology import Lean

Row = NDArray[np.float64]
Kind = TypeVar("Kind", bound=np.generic)
Island = NDArray[np.int16]
ZERO: Row = np.zeros(1)
EVERYWHERE: NDArray[np.bool_] = np.ones(1, dtype=bool)


def columns_of(table: NDArray[Kind], chosen: NDArray[np.intp]) -> NDArray[Kind]:
    """The chosen columns of a table, laid out in memory as it is: row by row, or, as compiled code
    leaves it, column by column."""
    if table.flags.c_contiguous:
        return table.take(chosen, axis=1)  # by an index it would turn column by column
    return table.T[chosen].T


def some(row: NDArray[Any]) -> bool:
    """Whether any is; ``any`` takes ten times as long over a short row."""
    return bool(np.count_nonzero(row))


class Work:
    """Counts of the work done, so that a slow-down shows without a clock; and how it is done: by
    compiled code where ``compiled``, to the same bits.

    ``solves``: contact positions whose volts were worked out; ``known``: those whose volts were
    known already; ``reductions``: how many had to be reduced anew to the nodes of their devices.
    """

    __slots__ = ("compiled", "eliminations", "known", "newton_steps", "reductions", "solves")

    def __init__(self, *, compiled: bool = False) -> None:
        self.compiled = compiled
        self.solves = 0
        self.known = 0
        self.eliminations = 0
        self.newton_steps = 0
        self.reductions = 0


class Eliminated:
    """What back-substitution needs: for each step I_k/s, and g_j/s by neighbour.

    ``least_s``: the least s of any step. Below 0 the circuit, with tangents in it, does not stand
    on the stable side. ``floats``: for each step where its node floats; None: nowhere.
    """

    __slots__ = ("floats", "least_s", "own", "ratios", "steps")

    def __init__(
        self,
        steps: Sequence[Lean],
        ratios: list[list[Row]],
        own: list[Row],
        least_s: Row,
        floats: list[NDArray[np.bool_] | None],
    ) -> None:
        self.floats = floats
        self.steps = steps
        self.ratios = ratios
        self.own = own
        self.least_s = least_s

    def substitute(self, volts: NDArray[np.float64]) -> None:
        """Fill in the volts of the eliminated nodes (nodes x columns), last eliminated first."""
        more = np.empty(volts.shape[1])
        for step, ratios, own in zip(
            reversed(self.steps), reversed(self.ratios), reversed(self.own), strict=True
        ):
            value = volts[step.node]
            value[:] = own
            for neighbour, ratio in zip(step.neighbours, ratios, strict=True):
                np.multiply(ratio, volts[neighbour], out=more)
                value += more

    def any_floats(self, columns: NDArray[np.bool_]) -> bool:
        """Whether a node floats in any of these columns."""
        return any(its is not None and some(its & columns) for its in self.floats)

    def part(self, islands: list[Island | None]) -> None:
        """Fill in to which island each of the eliminated nodes belongs: what hangs together and is
        not tied to the reference has the number of the node that floats; None: tied to it."""
        for index in range(len(self.steps) - 1, -1, -1):
            node, floats = self.steps[index].node, self.floats[index]
            own = None if floats is None else floats * np.int16(node)
            for neighbour, ratio in zip(
                self.steps[index].neighbours, self.ratios[index], strict=True
            ):
                its = islands[neighbour]
                if its is not None:
                    its = its * (ratio != 0.0)
                    own = its if own is None else np.maximum(own, its)
            islands[node] = own


def eliminate(
    steps: Sequence[Lean],
    conductance: list[Row | None],
    injected: list[Row],
    *,
    tangents: bool = False,
) -> Eliminated:
    """Eliminate the nodes of ``steps``; ``conductance`` (by slot) and ``injected`` (by node) are
    changed in place, their rows are not. A node with s == 0 floats: its ratios are 0. Only where
    there are ``tangents`` may a sum be negative.
    """
    table = cast(list[Row], conductance)  # the steps name no slot that holds nothing
    ratios: list[list[Row]] = []
    own: list[Row] = []
    floating: list[NDArray[np.bool_] | None] = []
    least_s = ZERO
    for step in steps:
        rows = [table[slot] for slot in step.slots]
        if not rows:
            ratios.append([])
            own.append(ZERO)
            floating.append(EVERYWHERE)
            continue
        total = rows[0]
        for row in rows[1:]:
            total = total + row
        if tangents:
            least_s = np.minimum(least_s, total)
        floats: NDArray[np.bool_] | None = None
        if np.count_nonzero(total) < len(total):
            floats = total == 0.0
            total = total + floats
        floating.append(floats)
        shares = [row / total for row in (rows[1:] if step.held else rows)]
        ratios.append(shares)
        for i, j, slot, fresh in step.pairs:
            extra = shares[i] * rows[j]
            if fresh:
                table[slot] = extra
                continue
            before = table[slot]
            table[slot] = np.add(before, extra, extra if len(extra) >= len(before) else None)
        current = injected[step.node]
        if current is ZERO:
            own.append(ZERO)
            continue
        for node, share in zip(step.neighbours, shares, strict=True):
            injected[node] = injected[node] + current * share
        amps = current / total
        own.append(amps if floats is None else amps * ~floats)
    return Eliminated(steps, ratios, own, least_s, floating)


def holding(conductance: Sequence[Row | None]) -> tuple[bool, ...]:
    """Which slots hold anything."""
    return tuple([row is not None for row in conductance])
