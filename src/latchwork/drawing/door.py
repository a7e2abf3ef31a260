"""The wiring drawing of one door."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from latchwork.drawing.blocks import Column, block
from latchwork.drawing.bundles import jackets
from latchwork.drawing.index import Index, ends
from latchwork.drawing.notes import Head, head, thing_key
from latchwork.drawing.place import Spec, Strip, place
from latchwork.drawing.route import spread
from latchwork.drawing.sheet import Block, Form, Ink, Path, Role, Sheet, Title, Wire, Zone
from latchwork.drawing.subject import Subject, subject
from latchwork.drawing.table import MARGIN, cable_table, footing
from latchwork.drawing.tags import Wording, tag
from latchwork.drawing.text import clean, label
from latchwork.drawing.texts import counted, known, say
from latchwork.drawing.wires import EDGE, nets_of, plan_tracks, tag_widths, wires_of
from latchwork.quantities import System

WIDTH = {Form.WIDE: 720.0, Form.NARROW: 390.0}
BLOCK = {Form.WIDE: 170.0, Form.NARROW: 148.0}
LEAST_TAGS = {Form.WIDE: 90.0, Form.NARROW: 84.0}
"""Texts at the terminals get this much even where uprights need the room."""
HEADING = 34.0
_AT_LOCK = ("diode", "varistor")
"""Slots of what is fitted right at the lock's terminals."""


def door_sheet(
    index: Index, door_id: str, form: Form = Form.WIDE, title: Title | None = None
) -> Sheet:
    """Lay out the wiring of a door. Raises KeyError for a door that is not there."""
    about = subject(index, door_id)
    heads = {thing_key(t.owner): head(index, about, t, BLOCK[form] - 16) for t in about.things}
    specs = _specs(index, about, heads)
    strips = place(list(specs.values()), [ends(w) for w in about.wires], form, HEADING)
    wording = _wording(index, about, heads, form)
    tagged = [tag(index, wire, wording) for wire in about.wires]
    by_pin = {node: spec for spec in specs.values() for node in spec.pins}
    nets = nets_of(tagged, by_pin)
    order, likes = plan_tracks(nets)
    total, tags = _widths(form, tag_widths(tagged, nets), likes)
    columns = _columns(form, total, tags)
    tracks_x = columns[0].pin_x + tags[0] + EDGE
    tracks_end = columns[1].pin_x - tags[1] - EDGE if form is Form.WIDE else total - MARGIN
    routed = spread(order, nets, tracks_end - tracks_x)
    wires = wires_of(tagged, nets, routed, tracks_x, columns)
    blocks = [
        block(index, t, heads[key], specs[key], columns[specs[key].right])
        for t in about.things
        if (key := thing_key(t.owner))
    ]
    bottom = strips[-1].bottom if strips else HEADING
    table, table_shapes, bottom = cable_table(index, about, wires, total, bottom + 2, form)
    foot, foot_shapes, bottom = footing(index, title, door_id, total, bottom, form)
    zones, rules = _zones(strips, total)
    name = heading_of(index, door_id)
    heading = label(name, (MARGIN, 22.0), Role.SHEET, total - 2 * MARGIN)
    return Sheet(
        door_id,
        form,
        total,
        bottom,
        name,
        _description(door_id, blocks, wires),
        zones,
        tuple(blocks),
        tuple(wires),
        tuple(jackets(wires)),
        (heading, *table, *foot),
        (*rules, *table_shapes, *foot_shapes),
    )


def heading_of(index: Index, door_id: str) -> str:
    """A door's id, with its name where it has one."""
    name = clean(index.plan.doors[door_id].door.name)
    if not name or name == door_id:
        return door_id
    return say("sheet.door", door=door_id, name=name)


def _specs(index: Index, about: Subject, heads: Mapping[str, Head]) -> dict[str, Spec]:
    """A block to place for every thing, with the wires counted at each of its pins."""
    counts: dict[str, int] = {}
    held: set[str] = set()
    for wire in about.wires:
        for node in ends(wire):
            counts[node] = counts.get(node, 0) + 1
        if not index.is_absent(wire):
            held.update(ends(wire))
    return {
        (key := thing_key(thing.owner)): Spec(
            key,
            thing.place,
            {node: counts.get(node, 0) for node, _ in thing.pins},
            1 + len(heads[key].notes),
            empty=frozenset(counts.keys() - held),
            beside=f"{about.door}.lock" if key.rpartition(".")[2] in _AT_LOCK else "",
        )
        for thing in about.things
    }


def _wording(index: Index, about: Subject, heads: Mapping[str, Head], form: Form) -> Wording:
    short, pin, owner = {}, {}, {}
    for thing in about.things:
        key = thing_key(thing.owner)
        for node, name in thing.pins:
            short[node], pin[node], owner[node] = heads[key].short, name, key
    changed = frozenset(core for row in index.wiring.rows if not row.planned for core in row.cores)
    system = System(index.plan.job.site.units)
    return Wording(about.door, form, system, short, pin, owner, changed)


def _widths(
    form: Form, wanted: tuple[float, float], tracks: float
) -> tuple[float, tuple[float, float]]:
    """The sheet's width, and the room for texts beside the left and right terminals.

    Texts are shortened only where the uprights leave too little, and the sheet is made wider only
    where shortened texts are still too much.
    """
    sides = 2 if form is Form.WIDE else 1
    fixed = 2 * MARGIN + sides * (BLOCK[form] + EDGE) + (0 if sides == 2 else 4)
    room = WIDTH[form] - fixed - tracks
    asked = wanted[0] + wanted[1]
    if asked <= room:
        return WIDTH[form], wanted
    least = [min(w, LEAST_TAGS[form]) for w in wanted]
    share = max(room - sum(least), 0.0) / (asked - sum(least)) if asked > sum(least) else 0.0
    left, right = (low + share * (w - low) for low, w in zip(least, wanted, strict=True))
    return max(WIDTH[form], fixed + tracks + left + right), (left, right)


def _columns(form: Form, total: float, tags: tuple[float, float]) -> tuple[Column, Column]:
    wide = BLOCK[form]
    left = Column(MARGIN, MARGIN + wide, False, tags[0])
    return left, Column(total - MARGIN - wide, total - MARGIN, True, tags[1])


def _zones(strips: Iterable[Strip], total: float) -> tuple[tuple[Zone, ...], tuple[Path, ...]]:
    zones, rules = [], []
    for strip in strips:
        code = f"place.{strip.place}"
        text = say(code) if known(code) else strip.place[:1].upper() + strip.place[1:]
        name = label(text, (MARGIN, strip.top + 17), Role.ZONE, BLOCK[Form.NARROW])
        zones.append(Zone(strip.place, name, strip.top, strip.bottom))
        rules.append(Path(((MARGIN, strip.top + 3), (total - MARGIN, strip.top + 3)), Ink.RULE))
    return tuple(zones), tuple(rules)


def _description(door: str, blocks: Sequence[Block], wires: Sequence[Wire]) -> str:
    return say(
        "about.door",
        door=door,
        devices=counted("devices", len(blocks)),
        wires=counted("wires", len(wires)),
        list="; ".join(wire.means for wire in wires),
    )
