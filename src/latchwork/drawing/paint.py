"""Colours, weights and faces of a drawing, in one place for every painter."""

from __future__ import annotations

import math

from latchwork.drawing.colours import DARK, LIGHT, PAINT
from latchwork.drawing.sheet import Ink, Wire, WireKind

INK = "#17222f"
MUTED = "#586472"
PAPER = "#fffdf8"
RULE = "#c3c9cf"
SHEATH = "#e6e8e6"

THEMES = {
    "light": {
        "ink": INK,
        "muted": MUTED,
        "paper": PAPER,
        "rule": RULE,
        "sheath": SHEATH,
        "case": INK,
        "glow": "none",
    },
    "dark": {
        "ink": "#dfe8f1",
        "muted": "#97a7b8",
        "paper": "#10202f",
        "rule": "#33485c",
        "sheath": "#1c3145",
        "case": "#10202f",
        "glow": "#9fb0c2",
    },
}
"""CSS variables of a themed drawing. ``case``: round light cores; ``glow``: round dark ones."""

WEIGHT = {Ink.RULE: 0.8, Ink.HAIR: 0.7, Ink.LINE: 1.0, Ink.HEAVY: 2.0, Ink.DASHED: 0.8}
CORE_WEIGHT = 2.4
LEAD_WEIGHT = 1.4
SHEATH_WEIGHT = 2.6
CASING = 1.4
"""How much wider a casing is than its core."""
ABSENT_WEIGHT = 1.0
"""What is not there has no colour and is drawn thin and dashed: no copier makes a wire of it."""
DEAD_SHARE = 0.4

ABSENT_DASH = (7.0, 5.0)
BRIDGE_DASH = (2.0, 2.5)
FRAME_DASH = (4.0, 3.0)
"""Round what is missing, and what is no device."""
SHAPE_DASH = (2.5, 2.0)
"""What moves together in a symbol, and the swing of a leaf."""

WORDS = (
    "'Atkinson Hyperlegible Next','Noto Sans','Noto Sans Arabic','Noto Sans Hebrew',"
    "'Noto Sans Devanagari','Noto Sans Thai','Noto Sans JP','Noto Emoji','DejaVu Sans',sans-serif"
)
FIGURES = "'Atkinson Hyperlegible Mono','Noto Sans Mono','DejaVu Sans Mono',monospace"


def wire_paint(wire: Wire) -> str:
    """The colour a wire is painted in."""
    return PAINT[wire.colours[0]] if wire.colours and not wire.absent else INK


def casing(wire: Wire) -> str:
    """On which ground the wire needs a casing: "light", "dark" or, "", on none."""
    colour = wire.colours[0] if wire.colours else ""
    return "light" if colour in LIGHT else "dark" if colour in DARK else ""


def wire_weight(wire: Wire, amps: float | None, dead_a: float) -> float:
    """A heavier line for more current, a thin one for a dead wire."""
    if wire.absent:
        return ABSENT_WEIGHT
    weight = CORE_WEIGHT if wire.kind is WireKind.CORE else LEAD_WEIGHT
    if amps is None:
        return weight
    if abs(amps) < dead_a:
        return weight * DEAD_SHARE
    # Three steps to the decade between 1 mA and 10 A, so that signal and lock currents differ.
    step = min(max((abs(amps) / 0.001), 1.0), 10_000.0)
    return weight + 0.45 * math.log10(step)
