"""Drawings as painted for paper: plain texts in the picture, all others to be set over it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from latchwork.drawing.door import door_sheet
from latchwork.drawing.index import Index
from latchwork.drawing.paint import PAPER as GROUND
from latchwork.drawing.sheet import Block, Label, Role, Wire
from latchwork.drawing.sheet import Sheet as Drawing
from latchwork.drawing.site import site_sheet
from latchwork.drawing.svg import svg

SITE_DOORS = 8
"""Doors on one site drawing: with more its smallest type would be under 6 pt."""
_QUIET = {Role.IDENT, Role.PART, Role.NOTE, Role.ZONE}
_BOLD = {Role.SHEET, Role.DEVICE}
_PLAIN = frozenset("–—…·×Ω′″“”‘’−")


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing as painted, and the texts that are set over it."""

    svg: str
    alt: str
    width: float
    height: float
    labels: tuple[dict[str, object], ...]


@dataclass(frozen=True, slots=True)
class Pictures:
    """Every drawing of a site: of each door by its id, and of the site, some doors at a time."""

    doors: Mapping[str, Picture]
    site: tuple[tuple[tuple[str, ...], Picture], ...]


def pictures(index: Index) -> Pictures:
    """Draw a site and its doors."""
    doors = tuple(index.plan.doors)
    parts = [doors[n : n + SITE_DOORS] for n in range(0, len(doors), SITE_DOORS)]
    return Pictures(
        {door: _picture(door_sheet(index, door)) for door in doors},
        tuple((some, _picture(site_sheet(index, doors=some))) for some in parts),
    )


def on_white(drawn: Drawing) -> str:
    """The painting. Paper is white already; a tinted ground costs ink and greys a copy."""
    return svg(drawn, themed=False).replace(GROUND, "#ffffff")


def _picture(drawn: Drawing) -> Picture:
    plain, others = _apart(drawn)
    return Picture(
        on_white(plain),
        drawn.description,
        drawn.width,
        drawn.height,
        tuple(_label(label) for label in others),
    )


def _apart(drawn: Drawing) -> tuple[Drawing, list[Label]]:
    """The drawing without the texts that need more than plain letters, and those texts.

    Drawings are set with one face after another only letter by letter; scripts that join or turn
    their letters, and pictures, are set over them as text.
    """
    others: list[Label] = []

    def kept(label: Label) -> Label:
        if _is_plain(label.text) and _is_plain(label.strong):
            return label
        others.append(label)
        return replace(label, text="", strong="", full="")

    def block(found: Block) -> Block:
        pins = tuple(replace(pin, label=kept(pin.label)) for pin in found.pins)
        return replace(found, pins=pins, labels=tuple(map(kept, found.labels)))

    def wire(found: Wire) -> Wire:
        return replace(found, labels=tuple(map(kept, found.labels)))

    plain = replace(
        drawn,
        zones=tuple(replace(zone, label=kept(zone.label)) for zone in drawn.zones),
        blocks=tuple(map(block, drawn.blocks)),
        wires=tuple(map(wire, drawn.wires)),
        labels=tuple(map(kept, drawn.labels)),
    )
    return (plain, others) if others else (drawn, others)


def _is_plain(text: str) -> bool:
    """Latin, Greek and Cyrillic without combining marks, and the signs that drawings use."""
    return text.isascii() or all(
        ord(c) < 0x300 or 0x370 <= ord(c) < 0x530 or c in _PLAIN for c in text
    )


def _label(label: Label) -> dict[str, object]:
    return {
        "text": label.text,
        "strong": label.strong,
        "x": label.at[0],
        "y": label.at[1],
        "size": label.size,
        "anchor": label.anchor.value,
        "mono": label.mono,
        "bold": label.role in _BOLD,
        "quiet": label.role in _QUIET,
    }
