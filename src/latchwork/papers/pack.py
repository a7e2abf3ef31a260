"""The pack: which sheets there are, in which order, and all of them as one PDF."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from itertools import chain

from latchwork.drawing.index import Index
from latchwork.drawing.text import clean, fit
from latchwork.papers.asked import COVER, FAULTS, SECTIONS, SERVICE, Paper, Stamp
from latchwork.papers.content.drawings import door_drawings, site_drawings
from latchwork.papers.content.faults import faults_sheets
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
from latchwork.papers.content.source import Sheet, Source, job_name, words
from latchwork.papers.content.tests import test_sheets
from latchwork.papers.content.wired import Wired, wired
from latchwork.papers.typeset import AHEAD, Press, typeset
from latchwork.words import say

WIRED: Mapping[str, Callable[[Wired, Paper], Iterable[Sheet]]] = {
    "site": site_drawings,
    "drawings": door_drawings,
    "connections": lambda w, _: [connections_sheet(w)],
    "cables": lambda w, _: [cables_sheet(w)],
    "order": lambda w, _: [order_sheet(w)],
}
"""The parts that parts and wires alone tell: they are known before anything has been run."""
RUN: Mapping[str, Callable[[Source], Iterable[Sheet]]] = {
    "doors": lambda s: [doors_sheet(s)],
    "power": power_sheets,
    "findings": lambda s: [findings_sheet(s)],
    "tests": test_sheets,
    FAULTS: faults_sheets,
    SERVICE: service_sheets,
    "guides": guides,
    "lids": lid_sheets,
    "emergency": lambda s: [emergency(s)],
    "cautions": lambda s: [cautions(s)],
}
"""All others."""
STRIP_PT, STRIP_ROOM_PT = 7.4, 150.0
"""Size of a name in the title strip, and the room it has beside the rest."""


def wired_sheets(wired: Wired, paper: Paper, only: Collection[str] = ()) -> dict[str, list[Sheet]]:
    """The sheets wanted of the parts in ``WIRED``; of all of them where ``only`` is empty."""
    return {
        name: _named(name, make(wired, paper))
        for name, make in WIRED.items()
        if not only or name in only
    }


def pack_sheets(
    source: Source,
    paper: Paper,
    only: Collection[str] = (),
    ahead: Mapping[str, Sequence[Sheet]] | None = None,
) -> list[Sheet]:
    """The content of every sheet wanted; all of them where ``only`` is empty.

    ``ahead``: what stands for the sheets of ``wired_sheets``, where those are there already.
    """
    sheets: list[Sheet] = []
    contents = []
    if ahead is None:
        ahead = wired_sheets(wired(source.index), paper, only)
    for name in SECTIONS:
        if only and name not in only:
            continue
        made = _named(name, RUN[name](source)) if name in RUN else ahead[name]
        if made:
            contents.append({"id": made[0]["id"], "title": words(f"section.{name}")})
        sheets += made
    if not only or COVER in only:
        first = cover(source, contents)
        sheets.insert(0, {**first, "id": COVER, "short": shortened(str(first["title"]))})
    return sheets


def _named(section: str, sheets: Iterable[Sheet]) -> list[Sheet]:
    return [
        {**sheet, "id": f"{section}-{number}", "short": shortened(str(sheet["title"]))}
        for number, sheet in enumerate(sheets)
    ]


def shortened(text: str) -> str:
    """As much as has room in the title strip, on one line."""
    return fit(clean(text), STRIP_PT, STRIP_ROOM_PT)


def pack_pdf(source: Source, paper: Paper, stamp: Stamp, only: Collection[str] = ()) -> bytes:
    """The pack as a PDF."""
    sheets = pack_sheets(source, paper, only)
    return typeset("pack.typ", {**strip(source.index, paper, stamp), "sheets": sheets}, stamp.date)


class PackAhead:
    """A pack of which the sheets that parts and wires tell are laid out ahead of the others."""

    def __init__(
        self, found: Wired, paper: Paper, stamp: Stamp, only: Collection[str] = ()
    ) -> None:
        made = wired_sheets(found, paper, only)
        numbers = iter(range(sum(map(len, made.values()))))
        self._ahead: dict[str, list[Sheet]] = {
            name: [{"id": sheet["id"], AHEAD: next(numbers)} for sheet in sheets]
            for name, sheets in made.items()
        }
        self._press = Press("pack.typ", list(chain.from_iterable(made.values())))
        self._strip = strip(found.index, paper, stamp)
        self._paper = paper
        self._date = stamp.date
        self._only = only

    def lay_out(self) -> None:
        """Lay out what is there."""
        later = {"kind": "later", "short": ""}
        before = SECTIONS[: SECTIONS.index(next(iter(WIRED)))]
        # What has been laid out serves again only where as many sheets come before it.
        some = [later for name in (COVER, *before) if not self._only or name in self._only]
        sheets = [*some, *chain.from_iterable(self._ahead.values())]
        self._press.lay_out({**self._strip, "sheets": sheets})

    def pdf(self, source: Source) -> bytes:
        """The pack as a PDF, with the sheets that ``source`` tells."""
        sheets = pack_sheets(source, self._paper, self._only, self._ahead)
        return self._press.pdf({**self._strip, "sheets": sheets}, self._date)


def strip(index: Index, paper: Paper, stamp: Stamp) -> dict[str, object]:
    """What every sheet of a document shares."""
    site, job = index.plan.job.site, job_name(index)
    return {
        "paper": paper.typst,
        "lang": "en",
        "title": words("document", {"job": job}),
        "about": words("document about"),
        "job": job,
        "short_job": shortened(job),
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
