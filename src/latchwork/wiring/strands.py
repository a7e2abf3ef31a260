"""Rows taken apart core by core, so that one core of several can be moved; and put together again.

Every cable has a first and a second end. The first row that uses a cable runs from the first to
the second; the others are turned to agree by what stands together (joined by leads).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from latchwork.wiring.model import WiredRow
from latchwork.wiring.sketch import OPEN, Draft
from latchwork.wiring.union import Union


@dataclass(slots=True)
class Strand:
    """One core, or a lead (``core`` ""), of the row of that number; ``at`` are its two ends.

    A core's ends are in the order of its cable's ends.
    """

    row: int
    door: str
    leg: str
    core: str
    at: list[str]
    changed: bool = False
    turned: bool = False
    """Written from the cable's second end to its first."""


@dataclass(frozen=True, slots=True)
class Ends:
    """What stands at the two ends of a cable: groups of devices, joints and taps."""

    first: frozenset[str]
    second: frozenset[str]


class Layout:
    """Which things stand together, and what stands at the ends of each cable."""

    def __init__(self, rows: Sequence[Draft], joints: Collection[str]) -> None:
        self._joints = joints
        self._together = Union()
        for row in rows:
            if not row.cores:
                self._together.join(self.owner(row.start), self.owner(row.end))
        self.ends: dict[str, Ends] = {}
        self.turned: list[bool] = []
        for row in rows:
            self.turned.append(self._place(row) if row.cores else False)

    def stands_at(self, cable: str, name: str) -> int | None:
        """The end (0 or 1) of the cable where the device, joint or tap stands; None: at neither."""
        ends = self.ends.get(cable)
        group = self._together.find(name)
        if ends is None or (group not in ends.first and group not in ends.second):
            return None
        return 0 if group in ends.first else 1

    def owner(self, node: str) -> str:
        """The device, joint or tap a node belongs to: "D3.controller" of "D3.controller.NO"."""
        return node if node in self._joints else node.rpartition(".")[0] or node

    def _place(self, row: Draft) -> bool:
        start, end = ({self._together.find(self.owner(n))} for n in (row.start, row.end))
        start, end = start - {OPEN}, end - {OPEN}
        turned = False
        for cable in dict.fromkeys(core.rpartition(".")[0] for core in row.cores):
            ends = self.ends.get(cable, Ends(frozenset(), frozenset()))
            straight = bool(start & ends.first or end & ends.second)
            turned = not straight and bool(start & ends.second or end & ends.first)
            first, second = (end, start) if turned else (start, end)
            self.ends[cable] = Ends(ends.first | first, ends.second | second)
        return turned


def strands(rows: Sequence[Draft], layout: Layout) -> list[Strand]:
    """The rows core by core."""
    made = []
    for number, (row, turned) in enumerate(zip(rows, layout.turned, strict=True)):
        ends = [row.end, row.start] if turned else [row.start, row.end]
        for core in row.cores or ("",):
            made.append(Strand(number, row.door, row.leg, core, list(ends), turned=turned))
    return made


def rows_of(made: Iterable[Strand]) -> tuple[WiredRow, ...]:
    """The strands as rows: cores of one row that still run between the same ends together."""
    rows: dict[tuple[int, str, str], list[Strand]] = {}
    for strand in made:
        start, end = reversed(strand.at) if strand.turned else strand.at
        rows.setdefault((strand.row, start, end), []).append(strand)
    return tuple(
        WiredRow(
            group[0].door,
            group[0].leg,
            start,
            tuple(strand.core for strand in group if strand.core),
            end,
            planned=not any(strand.changed for strand in group),
        )
        for (_, start, end), group in rows.items()
    )
