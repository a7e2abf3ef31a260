"""The pack: which sheets there are, in which order, and all of them as one PDF."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from latchwork.drawing.text import clean, fit
from latchwork.papers.content.drawings import door_drawings, site_drawings
from latchwork.papers.content.front import cautions, cover, findings_sheet
from latchwork.papers.content.lists import (
    cables_sheet,
    connections_sheet,
    doors_sheet,
    order_sheet,
)
from latchwork.papers.content.people import emergency, guides
from latchwork.papers.content.power import lid_sheets, power_sheets
from latchwork.papers.content.service import service_sheets
from latchwork.papers.content.source import Sheet, Source, words
from latchwork.papers.content.tests import test_sheets
from latchwork.papers.typeset import typeset
from latchwork.words import say


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


Maker = Callable[[Source, Paper], Iterable[Sheet]]

SERVICE = "service"
"""The part that needs a run of every single fault."""
SECTIONS: Mapping[str, Maker] = {
    "doors": lambda s, _: [doors_sheet(s)],
    "site": site_drawings,
    "drawings": door_drawings,
    "connections": lambda s, _: [connections_sheet(s)],
    "cables": lambda s, _: [cables_sheet(s)],
    "order": lambda s, _: [order_sheet(s)],
    "power": lambda s, _: power_sheets(s),
    "findings": lambda s, _: [findings_sheet(s)],
    "tests": lambda s, _: test_sheets(s),
    SERVICE: lambda s, _: service_sheets(s),
    "guides": lambda s, _: guides(s),
    "lids": lambda s, _: lid_sheets(s),
    "emergency": lambda s, _: [emergency(s)],
    "cautions": lambda s, _: [cautions(s)],
}
"""Every part of the pack after its cover, in order."""
COVER = "cover"
STRIP_PT, STRIP_ROOM_PT = 7.4, 150.0
"""Size of a name in the title strip, and the room it has beside the rest."""


def pack_sheets(source: Source, paper: Paper, only: Collection[str] = ()) -> list[Sheet]:
    """The content of every sheet wanted; all of them where ``only`` is empty."""
    sheets: list[Sheet] = []
    contents = []
    for name, make in SECTIONS.items():
        if only and name not in only:
            continue
        made = list(make(source, paper))
        for number, sheet in enumerate(made):
            sheet["id"] = f"{name}-{number}"
        if made:
            contents.append({"id": made[0]["id"], "title": words(f"section.{name}")})
        sheets += made
    if not only or COVER in only:
        first = cover(source, contents)
        first["id"] = COVER
        sheets.insert(0, first)
    for sheet in sheets:
        sheet["short"] = shortened(str(sheet["title"]))
    return sheets


def shortened(text: str) -> str:
    """As much as has room in the title strip, on one line."""
    return fit(clean(text), STRIP_PT, STRIP_ROOM_PT)


def pack_pdf(source: Source, paper: Paper, stamp: Stamp, only: Collection[str] = ()) -> bytes:
    """The pack as a PDF."""
    sheets = pack_sheets(source, paper, only)
    return typeset("pack.typ", {**strip(source, paper, stamp), "sheets": sheets}, stamp.date)


def strip(source: Source, paper: Paper, stamp: Stamp) -> dict[str, object]:
    """What every sheet of a document shares."""
    site = source.index.plan.job.site
    return {
        "paper": paper.typst,
        "lang": "en",
        "title": words("document", {"job": source.job_name}),
        "about": words("document about"),
        "job": source.job_name,
        "short_job": shortened(source.job_name),
        "reference": site.reference,
        "date": stamp.date.isoformat(),
        "version": stamp.version,
        "w": {
            **{f"strip_{k}": words(f"strip.{k}") for k in
               ("job", "sheet", "date", "version", "page", "of")},
            "severity": {k: say(f"severity.{k}") for k in
                         ("danger", "insecure", "fails", "weak", "note")},
        },
    }  # fmt: skip
