"""What may be asked of a pack: its parts, its paper and what is stamped on it."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from enum import StrEnum

from latchwork.drawing.index import Index


class Paper(StrEnum):
    """What it is printed on."""

    A4 = "A4"
    LETTER = "Letter"

    @property
    def typst(self) -> str:
        """As the typesetter calls it."""
        return "a4" if self is Paper.A4 else "us-letter"


@dataclass(frozen=True, slots=True)
class Stamp:
    """What the title strip of every sheet says besides the job: date and version."""

    date: datetime.date
    version: str


def paper_of(index: Index, size: str | None) -> Paper:
    """The paper asked for; where nothing is said what is usual with the site's units."""
    return Paper(size or (Paper.LETTER if index.plan.job.site.units == "US" else Paper.A4))


COVER = "cover"
FAULTS, SERVICE = "faults", "service"
"""The parts that need a run of every single fault."""
SECTIONS = (
    *("doors", "site", "drawings", "connections", "cables", "order", "power", "findings", "tests"),
    *(FAULTS, SERVICE, "guides", "lids", "emergency", "cautions"),
)
"""Every part of the pack after its cover, in order."""
