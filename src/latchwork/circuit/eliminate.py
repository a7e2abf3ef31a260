"""Star-mesh elimination without subtraction, over columns of what-ifs.

Eliminating node k with conductances g_j to its neighbours, s = sum of g_j, injected current I_k:

    g_ij += g_i * g_j / s        I_j += I_k * g_j / s        V_k = I_k / s + sum of V_j * g_j / s

Every sum has positive terms only, so an open conductor is exactly 0 and a node that nothing holds
shows as s == 0. Rows are NumPy vectors over columns; a row of length 1 stands for a value that is
the same in every column. The order of operations is fixed, so that results can be repeated bit
for bit.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from latchwork.circuit.topology import Step

Row = NDArray[np.float64]
ZERO: Row = np.zeros(1)


class Work:
    """Counts of the work done, so that a slow-down shows without a clock."""

    __slots__ = ("eliminations", "newton_steps", "reductions")

    def __init__(self) -> None:
        self.eliminations = 0
        self.newton_steps = 0
        self.reductions = 0


class Eliminated:
    """What back-substitution needs: for each step the ratios g_j/s and I_k/s."""

    __slots__ = ("own", "ratios", "steps")

    def __init__(self, steps: Sequence[Step], ratios: list[list[Row]], own: list[Row]) -> None:
        self.steps = steps
        self.ratios = ratios
        self.own = own

    def substitute(self, volts: list[Row]) -> None:
        """Fill in the volts of the eliminated nodes, last eliminated first."""
        for index in range(len(self.steps) - 1, -1, -1):
            step = self.steps[index]
            value = self.own[index]
            for neighbour, ratio in zip(step.neighbours, self.ratios[index], strict=True):
                value = value + ratio * volts[neighbour]
            volts[step.node] = value


def eliminate(
    steps: Sequence[Step], conductance: list[Row | None], injected: list[Row]
) -> Eliminated:
    """Eliminate the nodes of ``steps``; ``conductance`` (by slot) and ``injected`` (by node) are
    changed in place, their rows are not. A node with s == 0 floats: its ratios are 0.
    """
    ratios: list[list[Row]] = []
    own: list[Row] = []
    for step in steps:
        slots = [(n, conductance[slot]) for n, slot in enumerate(step.slots)]
        present = [(n, row) for n, row in slots if row is not None]
        if not present:
            ratios.append([ZERO] * len(step.slots))
            own.append(ZERO)
            continue
        total = present[0][1]
        for _, row in present[1:]:
            total = total + row
        total = total + (total == 0.0)
        share: list[Row] = [ZERO] * len(step.slots)
        for n, row in present:
            share[n] = row / total
        current = injected[step.node]
        live = current is not ZERO
        for i, j, slot in step.pairs:
            other = conductance[step.slots[j]]
            if conductance[step.slots[i]] is None or other is None:
                continue
            extra = share[i] * other
            before = conductance[slot]
            conductance[slot] = extra if before is None else before + extra
        if live:
            for n, _ in present:
                node = step.neighbours[n]
                injected[node] = injected[node] + current * share[n]
        own.append(current / total if live else ZERO)
        ratios.append(share)
    return Eliminated(steps, ratios, own)
