"""What stands below a drawing: its cables, how to read it, and the title strip."""

from __future__ import annotations

from collections.abc import Sequence

from latchwork.drawing.colours import core_colour
from latchwork.drawing.cores import Cores, cores
from latchwork.drawing.index import Index
from latchwork.drawing.notes import broken
from latchwork.drawing.sheet import (
    Anchor,
    Form,
    Ink,
    Label,
    Path,
    Role,
    Shape,
    Title,
    Wire,
    WireKind,
)
from latchwork.drawing.subject import Subject
from latchwork.drawing.tags import length
from latchwork.drawing.text import clean, label
from latchwork.drawing.texts import say
from latchwork.parts.model import CableType
from latchwork.quantities import GUESSES, System

MARGIN = 10.0
ROW = 15.0
_COLUMNS = {
    Form.WIDE: (0.0, 0.14, 0.22, 0.42, 0.74),
    Form.NARROW: (0.0, 0.20, 0.34, 0.58, 0.82),
}
_CORES = 3
"""From this column on, cells are lists of cores."""


def cable_table(
    index: Index, about: Subject, wires: Sequence[Wire], total: float, top: float, form: Form
) -> tuple[tuple[Label, ...], tuple[Shape, ...], float]:
    """A row for every cable on the drawing; texts, rules, and where it ends."""
    drawn: dict[str, set[str]] = {}
    for wire in wires:
        if wire.cable:
            drawn.setdefault(wire.cable, set()).add(wire.core)
    shapes: list[Shape] = [Path(((MARGIN, top), (total - MARGIN, top)), Ink.LINE)]
    found: list[Label] = []
    y = top + ROW
    if drawn:
        codes = ("below.cable", "below.length", "below.type", "below.used", "below.spare")
        heads, y = _row([say(code) for code in codes], y, total, form, Role.NOTE)
        found += heads
    lists = cores(index) if drawn else {}
    for name, shown in drawn.items():
        cable, its = index.plan.cables[name], lists[name]
        used = [core for core in its.used if core in shown]
        row, y = _row(
            [
                name.removeprefix(f"{about.door}."),
                length(cable.length_m, System(index.plan.job.site.units)),
                cable.type.name,
                _named(cable.type, used) or say("below.none"),
                _spare(cable.type, its) or say("below.none"),
            ],
            y,
            total,
            form,
            Role.TABLE,
        )
        found += row
    notes = [say("below.rest" if about.things else "below.nothing")]
    if any(wire.kind is WireKind.LEAD for wire in wires):
        notes.append(say("below.leads"))
    if any(not wire.planned and wire.kind is not WireKind.BRIDGE for wire in wires):
        notes.append(say("below.changed"))
    if any(wire.absent for wire in wires):
        notes.append(say("below.absent"))
    if any(index.plan.cables[name].length_m.certainty in GUESSES for name in drawn):
        notes.append(say("below.guessed"))
    lines = broken([" ".join(notes)], total - 2 * MARGIN)
    told, y = remarks(lines, total, y - ROW)
    return (*found, *told), tuple(shapes), y


def remarks(notes: Sequence[str], total: float, top: float) -> tuple[tuple[Label, ...], float]:
    """Lines that say how to read a drawing, and the last one's height."""
    found = []
    for note in notes:
        top += ROW
        found.append(label(note, (MARGIN, top), Role.NOTE, total - 2 * MARGIN))
    return tuple(found), top


def _spare(kind: CableType, its: Cores) -> str:
    """The cores that can be put to use, and those that cannot."""
    faulty = _named(kind, its.faulty)
    told = [_named(kind, its.spare), say("below.faulty", cores=faulty) if faulty else ""]
    return ", ".join(filter(None, told))


def _named(kind: CableType, names: Sequence[str]) -> str:
    return " ".join(_short(kind, name) for name in names)


def _short(kind: CableType, name: str) -> str:
    colour = next((c.colour for c in kind.cores if c.name == name), name)
    return core_colour(colour).letters or name


def _row(
    texts: Sequence[str], y: float, total: float, form: Form, role: Role
) -> tuple[list[Label], float]:
    """A row's texts, and where the next begins. Lists of cores take lines enough to be whole."""
    usable = total - 2 * MARGIN
    starts = [MARGIN + share * usable for share in _COLUMNS[form]]
    ends = [*starts[1:], total - MARGIN + 6]
    found, high = [], 1
    for column, (text, x, end) in enumerate(zip(texts, starts, ends, strict=True)):
        room = end - x - 6
        lines = (text,) if column < _CORES else broken([text], room, len(text) + 1)
        found += [label(line, (x, y + n * ROW), role, room) for n, line in enumerate(lines)]
        high = max(high, len(lines))
    return found, y + high * ROW


def footing(
    index: Index, title: Title | None, sheet: str, total: float, top: float, form: Form
) -> tuple[tuple[Label, ...], tuple[Shape, ...], float]:
    """The title strip, where one is wanted."""
    if title is None:
        return (), (), top + 10
    y = top + 8
    shape = Path(((MARGIN, y), (total - MARGIN, y)), Ink.LINE)
    job = clean(title.job or index.plan.job.site.name)
    right = [
        text
        for text in (
            say("below.sheet", sheet=sheet),
            title.date,
            say("below.version", version=title.version) if title.version else "",
        )
        if text
    ]
    if form is Form.NARROW:
        found = [label(job, (MARGIN, y + ROW), Role.PART, total - 2 * MARGIN)]
        found.append(label(" · ".join(right), (MARGIN, y + 2 * ROW), Role.NOTE, total - 2 * MARGIN))
        return tuple(found), (shape,), y + 2 * ROW + 10
    strip = label(
        " · ".join(right), (total - MARGIN, y + ROW), Role.NOTE, 0.5 * total, anchor=Anchor.END
    )
    found = [label(job, (MARGIN, y + ROW), Role.PART, 0.45 * total), strip]
    return tuple(found), (shape,), y + ROW + 10
