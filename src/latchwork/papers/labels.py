"""Labels for doors and cables, on sheets described by their size, with a code to be read back."""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import quote

from latchwork.papers.asked import Paper, Stamp
from latchwork.papers.content.source import Source, words
from latchwork.papers.pack import strip
from latchwork.papers.typeset import typeset


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """A sheet of labels: size of one, how many across and down, where the first starts, and how
    far it is to the next, all in millimetres (common sizes, no source)."""

    paper: Paper
    width: float
    height: float
    across: int
    down: int
    left: float
    top: float
    step_x: float
    step_y: float
    code: float
    """Side of the printed code."""
    text: float
    """Size of its text, in points."""
    inset: float = 1.6


LABEL_SHEETS: Mapping[str, LabelSheet] = {
    "38x21": LabelSheet(Paper.A4, 38.1, 21.2, 5, 13, 4.7, 10.7, 40.6, 21.2, 16.5, 6.0),
    "64x38": LabelSheet(Paper.A4, 63.5, 38.1, 3, 7, 7.2, 15.2, 66.0, 38.1, 27.0, 9.5),
    "70x37": LabelSheet(Paper.A4, 70.0, 37.0, 3, 8, 0.0, 0.5, 70.0, 37.0, 26.0, 9.5),
    "67x25": LabelSheet(Paper.LETTER, 66.7, 25.4, 3, 10, 4.8, 12.7, 69.9, 25.4, 20.0, 8.5),
    "102x51": LabelSheet(Paper.LETTER, 101.6, 50.8, 2, 5, 4.0, 12.7, 106.4, 50.8, 38.0, 13.0),
}
"""By width and height of a label."""
KINDS = ("doors", "cables")


def label_text(reference: str, door: str) -> str:
    """What a code holds: the job's reference and the door, "" for what serves none."""
    tail = f"/{quote(door, safe='')}" if door else ""
    return f"latchwork:{quote(reference, safe='')}{tail}"


def code_svg(text: str) -> str:
    """A QR code as a drawing, with the quiet zone around it."""
    import segno

    out = io.BytesIO()
    segno.make(text, error="m", micro=False).save(
        out, kind="svg", border=4, xmldecl=False, svgns=True, unit=None, scale=4
    )
    return out.getvalue().decode("utf-8")


def labels_pdf(source: Source, size: LabelSheet, stamp: Stamp, kinds: tuple[str, ...]) -> bytes:
    """Labels of those kinds, one after another, as a PDF."""
    reference = source.schedules.reference or source.job_name
    found: list[dict[str, object]] = []
    if "doors" in kinds:
        for row in source.schedules.doors:
            found.append(_label(reference, row.id, row.id, [row.name], source.job_name))
    if "cables" in kinds:
        for cable in source.schedules.cables:
            for here, there in ((cable.start, cable.end), (cable.end, cable.start)):
                ends = words("label.ends", {"here": here or "–", "there": there or "–"})
                found.append(_label(reference, cable.door, cable.id, [ends], cable.type))
    data = {
        **strip(source.index, size.paper, stamp),
        "title": words("label.title", {"job": source.job_name}),
        "size": {name: getattr(size, name) for name in LabelSheet.__slots__ if name != "paper"},
        "labels": found,
    }
    return typeset("labels.typ", data, stamp.date)


def _label(reference: str, door: str, head: str, lines: list[str], small: str) -> dict[str, object]:
    text = label_text(reference, door)
    alt = words("label.alt", {"text": text})
    return {"svg": code_svg(text), "alt": alt, "head": head, "lines": lines, "small": small}
