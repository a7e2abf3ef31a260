"""What a pack tells of parts and wires alone: it is known before anything has been run."""

from __future__ import annotations

from dataclasses import dataclass

from latchwork.answers.schedules.lists import cables, connections, order
from latchwork.answers.schedules.model import CableRow, ConnectionRow, OrderRow
from latchwork.answers.schedules.stands import Stands
from latchwork.drawing.index import Index
from latchwork.papers.content.pictures import Pictures, pictures


@dataclass(frozen=True, slots=True)
class Wired:
    """A site's wires, cables, what to order for it, and its drawings."""

    index: Index
    connections: tuple[ConnectionRow, ...]
    cables: tuple[CableRow, ...]
    order: tuple[OrderRow, ...]
    pictures: Pictures

    @property
    def us_units(self) -> bool:
        """Whether lengths are in feet."""
        return self.index.plan.job.site.units == "US"


def wired(index: Index) -> Wired:
    """The lists and drawings of a site."""
    stands = Stands(index)
    rows = cables(index, stands)
    return Wired(index, connections(index, stands), rows, order(index.plan, rows), pictures(index))
