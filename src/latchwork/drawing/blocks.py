"""A block drawn: its frame, texts, terminals on the edge, symbols between them."""

from __future__ import annotations

from dataclasses import dataclass

from latchwork.drawing.glyphs import Inner
from latchwork.drawing.index import Index, Sort
from latchwork.drawing.notes import Head
from latchwork.drawing.place import STEP, Spec
from latchwork.drawing.sheet import Anchor, Block, Label, Pin, Point, Role
from latchwork.drawing.subject import Thing
from latchwork.drawing.symbols import Drawn, draw
from latchwork.drawing.text import SIZES, label, width

VOLTS_WIDE = 44.0
"""Room beside a terminal's name for the volts at it."""
SYMBOL_PIN = 60.0
"""Room for a terminal's name that symbols stand beside."""
PAD = 8.0
MINUS = "\N{MINUS SIGN}"


@dataclass(frozen=True, slots=True)
class Column:
    """A column of blocks: from x to x; right of the wires or left; room for tags beside it."""

    left_x: float
    right_x: float
    right: bool
    tags: float

    @property
    def pin_x(self) -> float:
        """Where terminals stand."""
        return self.left_x if self.right else self.right_x


def block(index: Index, thing: Thing, texts: Head, spec: Spec, column: Column) -> Block:
    """Draw a placed block."""
    inner = Inner(column.pin_x, 1 if column.right else -1)
    symbols = thing.owner.sort is Sort.DEVICE
    room = SYMBOL_PIN if symbols else column.right_x - column.left_x - 2 * PAD
    pins = tuple(_pin(node, name, spec, inner, room) for node, name in thing.pins)
    kind = thing.owner.sort.value
    drawn = Drawn((), ())
    if symbols:
        part = index.plan.devices[thing.owner.id].part
        kind = part.kind
        rows = {pin.name: (pin.top + pin.bottom) / 2 for pin in pins}
        names = max(width(p.name, SIZES[Role.TERMINAL], mono=True) for p in pins) if pins else 0
        drawn = draw(spec.id, part, rows, inner, PAD + names + VOLTS_WIDE, _past_name)
    bottom = spec.top + (spec.steps - 1) * STEP
    return Block(
        spec.id,
        kind,
        spec.place,
        (column.left_x, spec.top, column.right_x, bottom),
        pins,
        _labels(texts, spec, column),
        drawn.symbols,
        drawn.leads,
        texts.missing,
        thing.owner.sort is not Sort.OPEN,
    )


def _past_name(name: str) -> float:
    """How far inward a terminal's name reaches."""
    return PAD + width(name, SIZES[Role.TERMINAL], mono=True) + 4


def _pin(node: str, name: str, spec: Spec, inner: Inner, room: float) -> Pin:
    top, bottom = spec.rows[node]
    y = (top + bottom) / 2
    size = SIZES[Role.TERMINAL]
    anchor = Anchor.START if inner.inward > 0 else Anchor.END
    shown = name.replace("-", MINUS)
    text = label(shown, inner.at(PAD, y + 0.36 * size), Role.TERMINAL, room, anchor=anchor)
    volts_at = inner.at(_past_name(name), y + 0.36 * size)
    wires = 0 if node in spec.empty else spec.pins[node]
    return Pin(node, name, inner.edge_x, top, bottom, text, wires, volts_at, inner.inward)


def _labels(texts: Head, spec: Spec, column: Column) -> tuple[Label, ...]:
    """Title and id on the first line, the notes below."""
    room = column.right_x - column.left_x - 2 * PAD
    x, end_x, y = column.left_x + PAD, column.right_x - PAD, spec.top + 13.5
    found = [title_label(texts.title, (x, y), room)]
    left = end_x - found[0].box[2] - 6
    if texts.ident and left > 12:
        found.append(label(texts.ident, (end_x, y), Role.IDENT, left, anchor=Anchor.END))
    for number, note in enumerate(texts.notes, 1):
        found.append(label(note, (x, y + number * STEP), Role.NOTE, room))
    return tuple(found)


def title_label(text: str, at: Point, room: float) -> Label:
    """A block's title, a little smaller where it would not fit."""
    sizes = (SIZES[Role.DEVICE], SIZES[Role.DEVICE] - 1, SIZES[Role.DEVICE] - 2)
    tries = [label(text, at, Role.DEVICE, room, size=size) for size in sizes]
    return next((each for each in tries if not each.full), tries[0])
