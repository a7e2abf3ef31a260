"""A sheet as SVG: text stays text, wires carry what they join, colours follow the page's."""

from __future__ import annotations

import re
from collections.abc import Iterable
from html import escape as escaped

from latchwork.drawing import paint
from latchwork.drawing.colours import PAINT
from latchwork.drawing.overlay import DEAD_A, Overlay
from latchwork.drawing.sheet import (
    Anchor,
    Block,
    Ink,
    Jacket,
    Label,
    Path,
    Pin,
    Point,
    Role,
    Shape,
    Sheet,
    Wire,
    WireKind,
)
from latchwork.drawing.svgpath import arc_path, line_path, number, ticks, wire_path
from latchwork.drawing.text import clean
from latchwork.drawing.texts import say
from latchwork.quantities import show

SPACE = "\N{NO-BREAK SPACE}"


def stylesheet() -> str:
    """The style sheet of themed drawings, for a page that holds many of them.

    Dark where the reader's system is, unless an element around says data-theme="light" or "dark".
    """
    light, dark = (
        ";".join(f"--lw-{name}:{colour}" for name, colour in paint.THEMES[theme].items())
        for theme in ("light", "dark")
    )
    classes = "".join(f".lw .{name}{{{what}}}" for name, what in _CLASSES.items())
    rules = [
        f".lw{{{light}}}",
        f"@media(prefers-color-scheme:dark){{.lw{{{dark}}}[data-theme=light] .lw{{{light}}}}}",
        f"[data-theme=dark] .lw{{{dark}}}",
        # A program that reads style sheets but no variables paints all of it black without this.
        f"@supports(fill:var(--lw-ink)){{{classes}}}",
    ]
    return "".join(rules)


_CLASSES = {
    "i": "stroke:var(--lw-ink)",
    "f": "fill:var(--lw-ink)",
    "m": "fill:var(--lw-muted)",
    "p": "fill:var(--lw-paper)",
    "r": "stroke:var(--lw-rule)",
    "s": "fill:var(--lw-sheath);stroke:var(--lw-rule)",
    "h": "stroke:var(--lw-sheath)",
    "c": "stroke:var(--lw-case)",
    "g": "stroke:var(--lw-glow)",
}
"""Attributes hold the light colours for readers without style sheets, or whose style sheets know
no variables; classes follow the theme."""


def svg(sheet: Sheet, overlay: Overlay | None = None, *, themed: bool = True) -> str:
    """The sheet as an SVG document, ready to stand alone or inside a page.

    ``themed`` adds a style sheet with CSS variables for light and dark; without it the drawing
    has its light colours only, for programs that read no style sheets.
    """
    over = overlay or Overlay()
    name = _id(sheet.id)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="lw lw-{sheet.form.value}" '
        f'viewBox="0 0 {number(sheet.width)} {number(sheet.height)}" width="{number(sheet.width)}" '
        f'height="{number(sheet.height)}" role="img" aria-labelledby="{name}-t {name}-d" '
        f'font-family="{paint.WORDS}">',
        f'<title id="{name}-t">{escape(clean(sheet.title))}</title>',
        f'<desc id="{name}-d">{escape(clean(sheet.description))}</desc>',
    ]
    if themed:
        parts.append(f"<style>{stylesheet()}</style>")
    parts.append(f'<rect class="p" width="100%" height="100%" fill="{paint.PAPER}"/>')
    parts += (_shape(shape) for shape in sheet.shapes)
    parts += (_zone_label(zone.label, zone.place) for zone in sheet.zones)
    parts += (_jacket(jacket) for jacket in sheet.jackets)
    parts += (_wire(wire, over) for wire in sheet.wires)
    for block in sheet.blocks:
        parts += _block(block, over)
    parts += (_text(label) for label in sheet.labels)
    parts.append("</svg>")
    return "\n".join(parts)


def escape(text: str) -> str:
    """As the text of an element."""
    return escaped(text, quote=False)


def quoteattr(text: str) -> str:
    """As an attribute's value, with its quotes."""
    return f'"{escaped(text)}"'


def _at(point: Point) -> str:
    return f'x="{number(point[0])}" y="{number(point[1])}"'


def _id(text: str) -> str:
    return "lw-" + re.sub(r"[^A-Za-z0-9_-]", "-", text)


def _zone_label(label: Label, place: str) -> str:
    return f"<g data-place={quoteattr(clean(place))}>{_text(label)}</g>"


def _jacket(jacket: Jacket) -> str:
    left, top, right, bottom = jacket.box
    radius = min((right - left) / 2, 5.0)
    drawn = (
        f'<rect class="s" x="{number(left)}" y="{number(top)}" width="{number(right - left)}" '
        f'height="{number(bottom - top)}" rx="{number(radius)}" fill="{paint.SHEATH}" '
        f'stroke="{paint.RULE}" stroke-width="0.8"/>'
    )
    return f"<g data-sheath={quoteattr(clean(jacket.cable))}>{drawn}</g>"


def _wire(wire: Wire, over: Overlay) -> str:
    """A wire: its casing, its colour or colours, what it is, its labels."""
    amps = over.amps.get(wire.id)
    weight = paint.wire_weight(wire, amps, DEAD_A)
    way = wire_path(wire.points, wire.hops)
    data = {
        "wire": wire.id,
        "kind": wire.kind.value,
        "from": wire.start,
        "to": wire.end,
        "cable": wire.cable,
        "core": wire.core,
        "letters": wire.letters,
        "planned": "" if wire.planned else "no",
        "absent": "yes" if wire.absent else "",
        "amps": "" if amps is None else f"{amps:.6g}",
    }
    said = " ".join(f"data-{key}={quoteattr(clean(v))}" for key, v in data.items() if v)
    inks = []
    if wire.kind is WireKind.CABLE:
        inks.append(_stroke(way, "i", paint.INK, paint.SHEATH_WEIGHT + paint.CASING))
        inks.append(_stroke(way, "h", paint.SHEATH, paint.SHEATH_WEIGHT))
    elif wire.absent:
        inks.append(_stroke(way, "i", paint.INK, weight, _dashed(paint.ABSENT_DASH)))
    elif wire.colours:
        match paint.casing(wire):
            case "light":
                inks.append(_stroke(way, "c", paint.INK, weight + paint.CASING))
            case "dark":
                inks.append(_stroke(way, "g", "none", weight + paint.CASING))
        inks.append(_stroke(way, "", paint.wire_paint(wire), weight))
        if len(wire.colours) == 2:
            inks.append(_stroke(way, "", PAINT[wire.colours[1]], weight, "5 5"))
    else:
        dash = _dashed(paint.BRIDGE_DASH) if wire.kind is WireKind.BRIDGE else ""
        inks.append(_stroke(way, "i", paint.INK, weight, dash))
    if amps is not None and abs(amps) >= DEAD_A:
        inks.append(_stroke(ticks(wire.points, amps < 0), "i", paint.INK, 1.1))
    texts = "".join(_text(label) for label in wire.labels)
    return (
        f'<g class="w" {said} fill="none"><title>{escape(clean(wire.means))}</title>'
        f"{''.join(inks)}{texts}</g>"
    )


def _stroke(way: str, kind: str, colour: str, weight: float, dash: str = "") -> str:
    named = f' class="{kind}"' if kind else ""
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<path{named} d="{way}" stroke="{colour}" stroke-width="{weight:.2g}"'
        f'{dashed} stroke-linejoin="round"/>'
    )


def _dashed(dash: tuple[float, float]) -> str:
    return " ".join(map(number, dash))


def _block(block: Block, over: Overlay) -> Iterable[str]:
    left, top, right, bottom = block.box
    yield f"<g data-device={quoteattr(clean(block.id))} data-sort={quoteattr(block.kind)}>"
    dash = ""
    if block.missing or not block.framed:
        dash = f' stroke-dasharray="{_dashed(paint.FRAME_DASH)}"'
    yield (
        f'<rect class="p i" x="{number(left)}" y="{number(top)}" width="{number(right - left)}" '
        f'height="{number(bottom - top)}" rx="2" fill="{paint.PAPER}" stroke="{paint.INK}" '
        f'stroke-width="{0.8 if dash else 1.2}"{dash}/>'
    )
    yield from (_shape(lead) for lead in block.leads)
    for symbol in block.symbols:
        shapes = symbol.moved if symbol.element in over.moved and symbol.moved else symbol.rest
        drawn = "".join(_shape(shape) for shape in shapes)
        named = f" data-element={quoteattr(clean(symbol.element))}" if symbol.element else ""
        rest = f' data-rest="{symbol.at_rest}"' if symbol.at_rest else ""
        yield f"<g{named}{rest}><title>{escape(symbol.means)}</title>{drawn}</g>"
    yield from (_pin(pin, over) for pin in block.pins)
    yield from (_text(label) for label in block.labels)
    yield "</g>"


def _pin(pin: Pin, over: Overlay) -> str:
    """A terminal: a clamp on the edge, as tall as the wires on it need, filled where used."""
    high = pin.bottom - pin.top + 7
    fill = f'class="f i" fill="{paint.INK}"' if pin.wires else f'class="p i" fill="{paint.PAPER}"'
    drawn = (
        f'<rect {fill} x="{number(pin.x - 2.5)}" y="{number(pin.top - 3.5)}" width="5" '
        f'height="{number(high)}" rx="2.2" stroke="{paint.INK}" stroke-width="0.9"/>'
    )
    figure = ""
    if pin.id in over.volts:
        volts = over.volts[pin.id]
        text = say("note.floats") if volts is None else show(volts, "V")
        x, y = pin.volts_at
        anchor = "start" if pin.inward > 0 else "end"
        figure = (
            f'<rect class="p" x="{number(x if pin.inward > 0 else x - 34)}" y="{number(y - 8)}" '
            f'width="34" height="10" fill="{paint.PAPER}"/>'
            f'<text class="f" {_at(pin.volts_at)} font-size="8.5" text-anchor="{anchor}" '
            f'font-family="{paint.FIGURES}" fill="{paint.INK}" data-volts="">{text}</text>'
        )
    name = quoteattr(clean(pin.id))
    return f"<g data-terminal={name}>{drawn}{_text(pin.label)}{figure}</g>"


def _shape(shape: Shape) -> str:
    ink = shape.ink
    weight = paint.WEIGHT[ink]
    dash = f' stroke-dasharray="{_dashed(paint.SHAPE_DASH)}"' if ink is Ink.DASHED else ""
    if isinstance(shape, Path):
        way = line_path(shape.points, shape.closed)
    else:
        way = arc_path(shape.centre, shape.radius, shape.start, shape.end)
    named, colour = ("r", paint.RULE) if ink is Ink.RULE else ("i", paint.INK)
    fill = f'class="i f" fill="{paint.INK}"' if shape.filled else f'class="{named}" fill="none"'
    return f'<path {fill} d="{way}" stroke="{colour}" stroke-width="{weight}"{dash}/>'


_MUTED = {Role.IDENT, Role.PART, Role.NOTE, Role.ZONE}


def _text(label: Label) -> str:
    """One line of text; what was shortened is whole in its title."""
    if not label.text and not label.strong:
        return ""
    muted = label.role in _MUTED
    about = [
        f'class="{"m" if muted else "f"}" {_at(label.at)} font-size="{number(label.size)}"',
        f'fill="{paint.MUTED if muted else paint.INK}" data-role="{label.role.value}"',
    ]
    if label.anchor is not Anchor.START:
        about.append(f'text-anchor="{label.anchor.value}"')
    if label.mono:
        about.append(f'font-family="{paint.FIGURES}"')
    if label.role in (Role.SHEET, Role.DEVICE):
        about.append('font-weight="700"')
    title = f"<title>{escape(label.full)}</title>" if label.full else ""
    return f"<text {' '.join(about)}>{title}{_spans(label)}</text>"


def _spans(label: Label) -> str:
    """A text and its bold piece, which stands at the end that the text is anchored at."""
    text, strong = escape(label.text), escape(label.strong)
    if not strong:
        return text
    bold = '<tspan font-weight="700"'
    if not text:
        return f"{bold}>{strong}</tspan>"
    # A space that is no mark-up: not every program counts shifted text when it anchors.
    if label.anchor is Anchor.END:
        return f"{text}{SPACE}{bold}>{strong}</tspan>"
    return f"{bold}>{strong}</tspan>{SPACE}{text}"
