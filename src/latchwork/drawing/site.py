"""The drawing of a whole site: supplies and shared devices, cables, a picture of every door."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from latchwork.drawing.blocks import PAD, Column, title_label
from latchwork.drawing.elevation import HIGH, WIDE, elevation, fitted
from latchwork.drawing.index import Index, Sort
from latchwork.drawing.notes import broken
from latchwork.drawing.place import STEP, Spec, place
from latchwork.drawing.route import spread
from latchwork.drawing.sheet import (
    Anchor,
    Block,
    Form,
    Ink,
    Label,
    Path,
    Pin,
    Role,
    Sheet,
    Symbol,
    Title,
    WireKind,
)
from latchwork.drawing.site_texts import Texts, door_texts, shared_texts
from latchwork.drawing.sitemap import Line, SiteMap, part_of, site_map
from latchwork.drawing.subject import SOURCES
from latchwork.drawing.table import MARGIN, footing, remarks
from latchwork.drawing.tags import MINUS, Tagged, length
from latchwork.drawing.text import SIZES, clean, label, width
from latchwork.drawing.texts import counted, say
from latchwork.drawing.wires import EDGE, nets_of, plan_tracks, tag_widths, wires_of
from latchwork.quantities import System
from latchwork.wiring.union import Union

TOTAL = {Form.WIDE: 720.0, Form.NARROW: 390.0}
LEFT = {Form.WIDE: 136.0, Form.NARROW: 184.0}
CELL = {Form.WIDE: 264.0, Form.NARROW: 184.0}
TAGS = {Form.WIDE: 96.0, Form.NARROW: 84.0}
TEXT_X = 16.0
"""Between a door's terminals and its texts."""
TEXT_TOP, TEXT_STEP = 16.0, 14.0
"""Down to where a door's texts begin, and from line to line."""
HEADING = 40.0
SITE = "site"


def site_sheet(
    index: Index,
    form: Form = Form.WIDE,
    title: Title | None = None,
    doors: Sequence[str] | None = None,
) -> Sheet:
    """Lay out a site, or some of its doors with all that they hang on."""
    whole = site_map(index)
    drawn = whole if doors is None else part_of(index, whole, doors)
    lines = drawn.lines
    room = LEFT[form] - 2 * PAD
    texts = {owner.id: shared_texts(index, drawn, owner, room) for owner in drawn.shared}
    texts.update({door: door_texts(index, drawn, door, _text_room(form)) for door in drawn.doors})
    specs = _specs(drawn, texts, form)
    links = [_link(drawn, n, line) for n, line in enumerate(lines)]
    strips = place(list(specs.values()), links, form, HEADING, arranged=True)
    tagged = [_tagged(index, line, link) for line, link in zip(lines, links, strict=True)]
    by_pin = {node: spec for spec in specs.values() for node in spec.pins}
    nets = nets_of(tagged, by_pin)
    order, likes = plan_tracks(nets)
    wanted = [min(w, TAGS[form]) for w in tag_widths(tagged, nets)]
    sides = LEFT[form] + (CELL[form] if form is Form.WIDE else 0.0)
    fixed = 2 * MARGIN + sides + EDGE * (2 if form is Form.WIDE else 1)
    total = max(TOTAL[form], fixed + sum(wanted) + likes)
    left = Column(MARGIN, MARGIN + LEFT[form], False, wanted[0])
    right = Column(total - MARGIN - CELL[form], total - MARGIN, True, wanted[1])
    tracks_x = left.right_x + wanted[0] + EDGE
    routed = spread(order, nets, total - MARGIN - (fixed - MARGIN - EDGE) - sum(wanted))
    wires = wires_of(tagged, nets, routed, tracks_x, (left, right))
    blocks = [
        _block(index, spec, texts[spec.id], right if spec.right else left, form)
        for spec in specs.values()
    ]
    bottom = strips[-1].bottom + STEP if strips else HEADING
    notes, bottom = remarks(broken([say("below.site")], total - 2 * MARGIN), total, bottom)
    foot, foot_shapes, bottom = footing(index, title, SITE, total, bottom, form)
    name = clean(index.plan.job.site.name)
    heading = name or say("sheet.site")
    rule = Path(((MARGIN, 34.0), (total - MARGIN, 34.0)), Ink.RULE)
    return Sheet(
        SITE,
        form,
        total,
        bottom,
        heading,
        _description(index, drawn, tagged),
        (),
        tuple(blocks),
        tuple(wires),
        (),
        (label(heading, (MARGIN, 22.0), Role.SHEET, total - 2 * MARGIN), *notes, *foot),
        (rule, *foot_shapes),
    )


def _link(drawn: SiteMap, number: int, line: Line) -> tuple[str, str]:
    """The pins of a line: a terminal of a shared block, a place of its own on a door."""
    found = []
    for end in (line.start, line.end):
        if end[0] in drawn.doors:
            found.append(f"{end[0]}/{number}")
        else:
            found.append(f"{end[0]}.{end[1]}" if end[1] else end[0])
    return found[0], found[1]


def _specs(drawn: SiteMap, texts: dict[str, Texts], form: Form) -> dict[str, Spec]:
    """Shared blocks by the doors they serve, then doors in the order of the file."""
    pins: dict[str, dict[str, int]] = {}
    rank: dict[str, list[int]] = {}
    number_of = {door: n for n, door in enumerate(drawn.doors)}
    for number, line in enumerate(drawn.lines):
        for end, pin in zip((line.start, line.end), _link(drawn, number, line), strict=True):
            here = pins.setdefault(end[0], {})
            here[pin] = here.get(pin, 0) + 1
        for a, b in ((line.start[0], line.end[0]), (line.end[0], line.start[0])):
            if b in number_of:
                rank.setdefault(a, []).append(number_of[b])
    specs = {
        owner.id: Spec(
            owner.id,
            "",
            dict(sorted(pins.get(owner.id, {}).items())),
            1 + len(texts[owner.id].lines),
        )
        for owner in sorted(drawn.shared, key=lambda o: _rank(drawn, rank, o.id))
    }
    for door in drawn.doors:
        text_high = TEXT_TOP + len(texts[door].lines) * TEXT_STEP + PAD
        least = max(round(HIGH / STEP) + 2, math.ceil(text_high / STEP))
        spec = Spec(door, "", pins.get(door, {}), 0, least=least)
        spec.right = form is Form.WIDE
        specs[door] = spec
    return specs if form is Form.WIDE else _side_by_side(drawn, specs)


def _side_by_side(drawn: SiteMap, specs: Mapping[str, Spec]) -> dict[str, Spec]:
    """In one column, what is joined stands together: uprights are short, and few are abreast."""
    joined = Union()
    for line in drawn.lines:
        joined.join(line.start[0], line.end[0])
    sets: dict[str, list[str]] = {}
    for name in specs:
        sets.setdefault(joined.find(name), []).append(name)
    return {name: specs[name] for names in sets.values() for name in names}


def _text_room(form: Form) -> float:
    """Room beside a door's picture."""
    return CELL[form] - WIDE - TEXT_X - 32


def _rank(drawn: SiteMap, rank: Mapping[str, Sequence[int]], block: str) -> float:
    """Where a shared block would stand beside its doors, or just below what it hangs on."""
    if block in rank:
        return sum(rank[block]) / len(rank[block])
    pairs = ((line.start[0], line.end[0]) for line in drawn.lines)
    beside = {b if a == block else a for a, b in pairs if block in (a, b)} & rank.keys()
    return min((_rank(drawn, rank, b) + 0.01 for b in sorted(beside)), default=0.0)


def _tagged(index: Index, line: Line, link: tuple[str, str]) -> Tagged:
    """A cable by its name and length at one end, its type at the other."""
    start, end = link
    if not line.cable:
        text = say("tag.lead from")
        means = say("about.lead", start=start, end=end)
        return Tagged(
            line.id, WireKind.LEAD, start, end, "", "", "", (), ((text,), (text,)), means, True
        )
    cable = index.plan.cables[line.cable]
    assert line.length_m is not None
    metres = length(line.length_m, System(index.plan.job.site.units))
    local = line.cable.removeprefix(f"{cable.door}.") if cable.door else line.cable
    texts = ((say("tag.length", cable=local, length=metres), local), (cable.type.name,))
    means = say(
        "about.cable",
        cable=line.cable,
        start=line.start[0],
        end=line.end[0],
        length=metres,
        type=cable.type.name,
    )
    return Tagged(line.id, WireKind.CABLE, start, end, line.cable, "", "", (), texts, means, True)


def _block(index: Index, spec: Spec, texts: Texts, column: Column, form: Form) -> Block:
    door = index.plan.doors.get(spec.id)
    bottom = spec.top + (spec.steps - 1) * STEP
    box = (column.left_x, spec.top, column.right_x, bottom)
    pins = tuple(_pin(node, spec, column, door is not None) for node in spec.pins)
    if door is None:
        return Block(spec.id, "shared", spec.place, box, pins, _heads(texts, spec, column))
    picture_x = column.right_x - WIDE - 16 if column.right else column.left_x + 16
    picture = elevation(door.door, fitted(index, spec.id), picture_x, spec.top + 22)
    symbol = Symbol("", say("about.elevation"), picture)
    x = column.left_x + (TEXT_X if column.right else PAD)
    across = column.right_x - column.left_x - TEXT_X - PAD
    labels = [title_label(texts.title, (x, spec.top + 14), across)]
    x = column.left_x + (TEXT_X if column.right else WIDE + 36)
    for number, line in enumerate(texts.lines, 1):
        at = (x, spec.top + TEXT_TOP + number * TEXT_STEP)
        labels.append(label(line, at, Role.NOTE, _text_room(form)))
    return Block(spec.id, "door", spec.place, box, pins, tuple(labels), (symbol,))


def _pin(node: str, spec: Spec, column: Column, of_door: bool) -> Pin:
    top, bottom = spec.rows[node]
    y = (top + bottom) / 2
    inward = 1 if column.right else -1
    size = SIZES[Role.TERMINAL]
    name = "" if of_door else node.removeprefix(spec.id).lstrip(".").replace("-", MINUS)
    anchor = Anchor.START if column.right else Anchor.END
    at = (column.pin_x + inward * PAD, y + 0.36 * size)
    text = label(name, at, Role.TERMINAL, 60.0, anchor=anchor)
    after = (at[0] + inward * (width(name, size, mono=True) + 6), at[1])
    return Pin(node, name, column.pin_x, top, bottom, text, spec.pins[node], after, inward)


def _heads(texts: Texts, spec: Spec, column: Column) -> tuple[Label, ...]:
    room = column.right_x - column.left_x - 2 * PAD
    x, y = column.left_x + PAD, spec.top + 13.5
    found = [title_label(texts.title, (x, y), room)]
    left = column.right_x - PAD - found[0].box[2] - 6
    if left > 12:
        at = (column.right_x - PAD, y)
        found.append(label(texts.ident, at, Role.IDENT, left, anchor=Anchor.END))
    for number, line in enumerate(texts.lines, 1):
        found.append(label(line, (x, y + number * STEP), Role.NOTE, room))
    return tuple(found)


def _description(index: Index, drawn: SiteMap, tagged: Sequence[Tagged]) -> str:
    supplies = sum(
        owner.sort is Sort.DEVICE and index.plan.devices[owner.id].part.kind in SOURCES
        for owner in drawn.shared
    )
    return say(
        "about.site",
        supplies=counted("supplies", supplies),
        doors=counted("doors", len(drawn.doors)),
        cables=counted("cables", len({line.cable for line in drawn.lines} - {""})),
        list="; ".join(wire.means for wire in tagged),
    )
