"""The iteration on the few nodes that carry non-linear branches, over the columns that move."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from latchwork.circuit.bank import Bank
from latchwork.circuit.devices import GIVING, OFF, Bools, Region
from latchwork.circuit.eliminate import ZERO, Eliminated, Row, columns_of, eliminate, holding, some
from latchwork.circuit.topology import Lean, Order

REST_V = 1e-8
"""A column rests when no device's volts move by more than this in a step,"""
NEWTON_REST_V = 1e-6
"""or this in a step of Newton's, after which they are within about the square of it,"""
NEWTON_STEPS = 12
"""Newton is there by then, or two of its answers take turns: as many steps by secants follow,
which come closer, and so on."""
PATIENT_STEPS = 24
"""From then on one source changes its region at a time, and only once all else is at rest."""
WEARY_STEPS = 100
WEARY_V = 1e-5
"""or after so many steps by more than this: nodes that hang on an off diode or a reversed load
alone move for ever by what rounding leaves of the currents of a stiff source."""


_RESTS_V = np.array([REST_V, NEWTON_REST_V])
"""By whether a column goes Newton's way."""


@dataclass(frozen=True, slots=True)
class Start:
    """Where the iteration begins: volts across each device and, for sources, the region
    (devices x columns)."""

    volts: NDArray[np.float64]
    regions: Region

    def take(self, chosen: NDArray[np.intp]) -> Start:
        """The same for the chosen columns, which may repeat."""
        return Start(columns_of(self.volts, chosen), columns_of(self.regions, chosen))


class Walk:
    """The columns that still move: the second level of the circuit and its branches.

    ``at``: which columns they are; ``across`` and ``regions``: volts across each branch and the
    sources' regions, as the bank's rows stand; ``second``: the second level as the last step left
    it.
    """

    def __init__(
        self,
        order: Order,
        branches: Sequence[tuple[int, int]],
        slots: list[Row | None],
        injected: list[Row],
        rows: Bank,
        begin: Start | None,
        columns: int,
    ) -> None:
        self.bank = rows
        self.at = np.arange(columns)
        self._order = order
        self._slots = slots
        self._injected = injected
        self._ends = [branches[n] for n in rows.places]
        self._into = [order.nonlinear_slot[n] for n in rows.places]
        self._high = rows.high_v()
        self._lifted = np.zeros(columns, dtype=bool)
        self._fed = np.full(columns, True)
        if rows.first_diode:
            self._fed &= self._high > 0.0
        self._keen = self._fed
        self.second: Eliminated | None = None
        self._steps: tuple[Lean, ...] | None = None
        self.across = np.zeros((len(rows.places), columns))
        regions = np.full((rows.first_diode, columns), GIVING, dtype=np.int8)
        if begin is None:
            self.across[rows.first_load :] = self._high
        else:
            for n, place in enumerate(rows.places):
                self.across[n] = begin.volts[place]
                if n < rows.first_diode:
                    regions[n] = begin.regions[place]
        self.regions = np.where(rows.sources.on > 0.0, regions, OFF).astype(np.int8)

    def step(self, nodes: int, count: int) -> tuple[NDArray[np.float64], Bools]:
        """Step ``count`` of the iteration: the volts of the second level, and what still moves.

        A step of Newton's holds only where every pivot is positive and no tangent led out of its
        stretch of the law: elsewhere a load may not be fed where it stands. Such a column stays
        where it is and goes by secants from then on. Where no source is on, tangents lead to volts
        below nothing, secants to none at once.

        Where a source comes in, loads begin at the high side again, once: they are to walk down
        to where they rest, not to be caught low by the moment in which nothing gave. Sources that
        take turns are then changed one at a time, the loads walking down from the high side each
        time.
        """
        if (count - 1) % NEWTON_STEPS == 0:
            self._keen = self._fed & ((count - 1) // NEWTON_STEPS % 2 == 0)
        a = self.bank.first_load
        siemens, amps = self.bank.laws(self.across, self.regions, self._keen)
        volts, fresh, least_s = self._solve(nodes, siemens, amps)
        lost = self._keen & ((least_s < 0.0) | self.bank.strayed(fresh, self.across, self.regions))
        rest_v: Row | float = WEARY_V
        if count <= WEARY_STEPS:
            rest_v = _RESTS_V.take(self._keen)
        across, regions, moving = self.bank.follow(
            fresh, self.across, self.regions, siemens, amps, rest_v
        )
        if some(lost):
            across = np.where(lost, self.across, across)
            regions = np.where(lost, self.regions, regions)
            moving = moving | lost
            self._keen = self._keen & ~lost
        changing = regions != self.regions
        if count > PATIENT_STEPS:
            first = changing & (np.cumsum(changing, axis=0) == 1) & ~moving
            regions = np.where(first, regions, self.regions)
            lifted = first.any(axis=0)
        else:
            across, regions = self._off_first(across, regions)
            came = ((self.regions == OFF) & (regions == GIVING)).any(axis=0)
            lifted = came & ~self._lifted
            self._lifted |= came
        moving = moving | changing.any(axis=0)
        if some(lifted):
            across[a:] = np.where(lifted, np.maximum(across[a:], self._high), across[a:])
            self._keen = self._keen | lifted
        self.across, self.regions = across, regions
        return volts, moving

    def _off_first(
        self, across: NDArray[np.float64], regions: Region
    ) -> tuple[NDArray[np.float64], Region]:
        """Where a source takes current in, it goes off before anything else moves: what its
        neighbours and the loads see until then cannot be."""
        sinking = (regions == OFF) & (self.regions != OFF)
        where = sinking.any(axis=0)
        if not some(where):
            return across, regions
        return (
            np.where(where, self.across, across),
            np.where(where & ~sinking, self.regions, regions),
        )

    def _solve(
        self, nodes: int, siemens: NDArray[np.float64], amps: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64], Row]:
        """Volts by node and across each branch with these laws, and the least pivot."""
        slots = list(self._slots)
        for slot, row in zip(self._into, siemens, strict=True):
            if slot >= 0:
                before = slots[slot]
                slots[slot] = row if before is None else before + row
        injected = list(self._injected)
        for (plus, minus), row in zip(self._ends, amps, strict=True):
            if plus:
                injected[plus] = injected[plus] + row
            if minus:
                injected[minus] = injected[minus] - row
        volts = np.empty((nodes, len(self.at)))
        volts[0] = 0.0
        if self._steps is None:
            self._steps = self._order.lean(holding(slots), second=True)
        second = eliminate(self._steps, slots, injected, tangents=True)
        second.substitute(volts)
        self.second = second
        fresh = np.empty_like(self.across)
        for n, (plus, minus) in enumerate(self._ends):
            np.subtract(volts[plus], volts[minus], out=fresh[n])
        return volts, fresh, second.least_s

    def take(self, chosen: NDArray[np.intp]) -> None:
        """Go on with the chosen columns only."""

        def taken(row: Row) -> Row:
            return row[chosen] if len(row) > 1 else row

        for slot in self._order.second_slots:
            row = self._slots[slot]
            if row is not None:
                self._slots[slot] = taken(row)
        for step in self._order.second:
            current = self._injected[step.node]
            self._injected[step.node] = current if current is ZERO else taken(current)
        self.bank = self.bank.take(chosen)
        self.at = self.at[chosen]
        self._high = taken(self._high)
        self._fed = self._fed[chosen]
        self._lifted = self._lifted[chosen]
        self._keen = self._keen[chosen]
        self.across = self.across.take(chosen, axis=1)
        self.regions = self.regions.take(chosen, axis=1)
