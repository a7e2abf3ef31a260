"""A door's rows while they are being drawn up: cores taken in order, places without a screw."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from latchwork.plan.model import PlannedCable
from latchwork.wiring.model import Trouble

OPEN = "open"
"""A core's end that is joined to nothing, as files write it."""


@dataclass(frozen=True, slots=True)
class Draft:
    """A row: from, core ids (none: a lead), to. ``path`` is where the file says it, if it does."""

    door: str
    leg: str
    start: str
    cores: tuple[str, ...]
    end: str
    path: str = ""


class Sketch:
    """Collects one door's rows.

    A ``place`` is where rows meet before it is known on which screw. ``finish`` lays each place on
    a terminal that a lead joins to it; two cores that meet at no terminal get a joint, X1, X2 …
    """

    def __init__(
        self,
        door: str,
        cables: Mapping[str, PlannedCable],
        written: Iterable[Draft],
        written_legs: Collection[str],
        names: Collection[str],
    ) -> None:
        self.door = door
        self.rows: list[Draft] = []
        self.troubles: list[Trouble] = []
        self.joints: list[str] = []
        self._cables = cables
        self._written_legs = written_legs
        self._names = names
        self._places = 0
        self._kept: set[str] = set()
        self._short: dict[str, int] = {}
        self._free: dict[str, list[str]] = {}
        used: set[str] = set()
        self._touched: set[str] = set()
        for row in written:
            used.update(row.cores)
            self._touched.update((row.start, row.end))
        for leg, cable in cables.items():
            ids = (f"{cable.id}.{core.name}" for core in cable.type.cores)
            self._free[leg] = [core for core in ids if core not in used]

    def written(self, leg: str) -> bool:
        """Whether the file says this leg row by row."""
        return leg in self._written_legs

    def has_run(self, leg: str) -> bool:
        """Whether the leg has a cable."""
        return leg in self._cables

    def free(self, leg: str) -> int:
        """How many cores of the leg's cable are still free."""
        return len(self._free.get(leg, ()))

    def place(self) -> str:
        """A new place without a screw."""
        self._places += 1
        return f"?{self._places}"

    def joint(self) -> str:
        """A new place that stays a joint even where a lead would lay it on a screw."""
        place = self.place()
        self._kept.add(place)
        return place

    def lead(self, leg: str, start: str, end: str) -> None:
        """Join two nodes by a short wire."""
        if not self.written(leg):
            self.rows.append(Draft(self.door, leg, start, (), end))

    def link(self, leg: str, near: str, far: str, over: str = "") -> None:
        """Join two nodes by the next core of the leg's cable (or of the leg ``over``'s).

        ``near`` is at the end the cable starts from. Without a cable it is a lead; with none of
        its cores left nothing is joined, and that is noted.
        """
        if self.written(leg):
            return
        via = over or leg
        free = self._free.get(via)
        if free is None:
            self.lead(leg, near, far)
            return
        if free:
            self.rows.append(Draft(self.door, leg, near, (free.pop(0),), far))
        else:
            self._short[via] = self._short.get(via, 0) + 1

    def feed(self, leg: str, near: str, far: str) -> None:
        """``link``, unless a row that the file writes already feeds ``far``."""
        if far not in self._touched:
            self.link(leg, near, far)

    def lead_feed(self, leg: str, near: str, far: str) -> None:
        """``lead``, unless a row that the file writes already feeds ``far``."""
        if far not in self._touched:
            self.lead(leg, near, far)

    def trouble(self, code: str, leg: str, **figures: str | int) -> None:
        """Note what could not be done; nothing of a leg that the file says row by row."""
        if not self.written(leg):
            self.troubles.append(Trouble(code, self.door, leg, figures))

    def finish(self) -> tuple[Draft, ...]:
        """The rows with every place laid on a terminal or named as a joint."""
        for leg, short in self._short.items():
            cable = self._cables[leg]
            cores = len(cable.type.cores)
            self.trouble(
                "too few cores", leg, cable=cable.id, needed=cores + short, available=cores
            )
        rows = self.rows
        while lead := next((r for r in rows if not r.cores and self._loose(r)), None):
            gone = self._loose(lead)
            stays = lead.end if gone == lead.start else lead.start
            rows = [_moved(r, gone, stays) for r in rows if r is not lead]
        self._left_open(rows)
        return tuple(self._named(rows))

    def _loose(self, row: Draft) -> str:
        """An end of the row that is to be laid on its other end; "" where it has none."""
        ends = (end for end in (row.start, row.end) if end[0] == "?" and end not in self._kept)
        return next(ends, "")

    def _left_open(self, rows: Sequence[Draft]) -> None:
        """Note rows with an end that nothing was joined to, where nothing else tells of the leg;
        where cores are missing, any end may have waited for one of those."""
        if self._short:
            return
        met = Counter(end for row in rows for end in (row.start, row.end) if end[0] == "?")
        told = {trouble.leg for trouble in self.troubles}
        for row in rows:
            loose = [end for end in (row.start, row.end) if met[end] == 1]
            if loose and row.leg not in told:
                told.add(row.leg)
                held = row.end if row.start in loose else row.start
                self.trouble("left open", row.leg, terminal=held)

    def _named(self, rows: list[Draft]) -> Iterable[Draft]:
        met = Counter(end for row in rows for end in (row.start, row.end) if end[0] == "?")
        names: dict[str, str] = {}
        number = 1
        for place, times in met.items():
            if times == 1:
                names[place] = OPEN
                continue
            while f"{self.door}.X{number}" in self._names:
                number += 1
            names[place] = f"{self.door}.X{number}"
            self.joints.append(names[place])
            number += 1
        for row in rows:
            yield replace(
                row, start=names.get(row.start, row.start), end=names.get(row.end, row.end)
            )


def _moved(row: Draft, gone: str, stays: str) -> Draft:
    if gone not in (row.start, row.end):
        return row
    start = stays if row.start == gone else row.start
    end = stays if row.end == gone else row.end
    return replace(row, start=start, end=end)
