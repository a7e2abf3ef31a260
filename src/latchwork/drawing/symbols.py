"""Which symbols a device holds, and where they stand between its terminals."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from latchwork.drawing import glyphs
from latchwork.drawing.glyphs import Inner
from latchwork.drawing.index import contacts
from latchwork.drawing.sheet import Ink, Path, Shape, Symbol
from latchwork.elements import Contact, Diode, Fuse, Load, Resistor, ResistorRole, Source
from latchwork.parts.model import Part

_BOLTS = ("strike", "magnet", "bolt", "motor")

LANE = 24.0
"""How far apart symbols stand that share rows."""

Body = Callable[[Inner, float, float, float], tuple[Shape, ...]]


@dataclass(frozen=True, slots=True)
class Drawn:
    """The symbols of a device and the lines that lead to them from its pins."""

    symbols: tuple[Symbol, ...]
    leads: tuple[Path, ...]


@dataclass(frozen=True, slots=True)
class _Wanted:
    """A symbol to be placed: the pins it stands between, the first two being its ends."""

    element: str
    means: str
    pins: tuple[str, ...]
    body: Body | None = None
    contacts: tuple[Contact, ...] = ()


def draw(
    device: str,
    part: Part,
    rows: Mapping[str, float],
    inner: Inner,
    from_u: float,
    past: Callable[[str], float],
) -> Drawn:
    """The symbols of a part whose shown terminals stand at ``rows``, from ``from_u`` inward.

    ``past``: how far inward a terminal's name reaches, where its line may start.
    """
    if part.kind in ("supply", "timed supply"):
        return _supply(device, part, rows, inner, from_u, past)
    placed: list[Symbol] = []
    leads: list[Path] = []
    lanes: list[list[tuple[float, float]]] = []
    blades: list[tuple[_Wanted, float, float]] = []
    wanted = [w for w in _wanted(part) if all(pin in rows for pin in w.pins)]
    for want in sorted(wanted, key=lambda w: _span(w, rows)):
        heights = [rows[pin] for pin in want.pins]
        u = from_u + LANE * _lane(lanes, min(heights), max(heights))
        leads += [
            inner.line((past(pin), rows[pin]), (u, rows[pin]), ink=Ink.HAIR) for pin in want.pins
        ]
        if want.contacts:
            symbol, blade = _contact(device, want, heights, inner, u)
            blades.append((want, *blade))
        else:
            assert want.body is not None
            shapes = want.body(inner, u, heights[0], heights[1])
            symbol = Symbol(f"{device}.{want.element}", want.means, shapes)
        placed.append(symbol)
    if blades:
        movers = _movers(part, blades, inner, from_u + LANE * len(lanes))
        placed.append(Symbol("", "what moves the contact", movers))
    return Drawn(tuple(placed), tuple(dict.fromkeys(leads)))


def _span(want: _Wanted, rows: Mapping[str, float]) -> float:
    heights = [rows[pin] for pin in want.pins]
    return max(heights) - min(heights)


def _lane(lanes: list[list[tuple[float, float]]], top: float, bottom: float) -> int:
    """The first lane whose symbols leave these rows free; it is taken."""
    for number, lane in enumerate(lanes):
        if all(bottom < start or end < top for start, end in lane):
            lane.append((top, bottom))
            return number
    lanes.append([(top, bottom)])
    return len(lanes) - 1


def _wanted(part: Part) -> Iterable[_Wanted]:
    """Every symbol of a part but a supply's."""
    if part.kind == "varistor":
        yield _Wanted("varistor", "varistor", ("1", "2"), glyphs.varistor)
    if part.kind == "transformer":
        yield _Wanted("transformer", "transformer", ("A1", "A2"), glyphs.transformer)
    if part.kind == "poe port":
        yield _Wanted("port", "network port", ("+", "-"), glyphs.rectifier)
    for element in part.elements:
        match element:
            case Resistor(name, a, b, role=ResistorRole.COIL) if name == "coil":
                yield _Wanted(name, "coil", (a, b), glyphs.coil)
            case Load(name, a, b) if name == "coil":
                yield _Wanted(name, "coil", (a, b), glyphs.coil)
            case Load(name, a, b) if name == "motor":
                yield _Wanted(name, "motor", (a, b), glyphs.motor)
            case Resistor(name, a, b) | Load(name, a, b) if part.kind in ("bell", "sounder"):
                yield _Wanted(name, part.kind, (a, b), glyphs.bell)
            case Diode(name, anode, cathode):
                yield _Wanted(name, "diode", (anode, cathode), glyphs.diode)
            case Fuse(name, a, b, resets=resets):
                body = _resetting if resets else glyphs.fuse
                yield _Wanted(name, "fuse", (a, b), body)
    if part.kind != "reader":  # its data lines are pulled down by electronics
        yield from _contacts(part)


def _resetting(inner: Inner, u: float, top: float, bottom: float) -> tuple[Shape, ...]:
    return glyphs.fuse(inner, u, top, bottom, resets=True)


def _contacts(part: Part) -> Iterable[_Wanted]:
    """Single contacts, and pairs that share a common as one changeover."""
    by_common: dict[str, list[Contact]] = {}
    for contact in contacts(part):
        by_common.setdefault(contact.a, []).append(contact)
    for common, group in by_common.items():
        opened = [c for c in group if c.at_rest == "open"]
        closed = [c for c in group if c.at_rest == "closed"]
        if len(opened) == len(closed) == 1:
            pair = (opened[0], closed[0])
            yield _Wanted(
                opened[0].name, "changeover contact", (common, pair[0].b, pair[1].b), None, pair
            )
            continue
        for contact in group:
            means = f"contact {contact.at_rest} at rest"
            yield _Wanted(contact.name, means, (contact.a, contact.b), None, (contact,))


def _contact(
    device: str, want: _Wanted, heights: list[float], inner: Inner, u: float
) -> tuple[Symbol, tuple[float, float]]:
    """A contact's symbol, and where its link to what moves it starts."""
    first = want.contacts[0]
    if len(want.contacts) == 2:
        com, no, nc = heights
        still, rest, moved = glyphs.changeover(inner, u, com, no, nc)
        blade = (u + 8, (no + nc) / 2 + (2 if nc > no else -2))
    else:
        top, bottom = min(heights), max(heights)
        glyph = glyphs.make if first.at_rest == "open" else glyphs.rest_closed
        still, rest, moved = glyph(inner, u, top, bottom)
        blade = (u + 3, (top + bottom) / 2)
    symbol = Symbol(
        f"{device}.{first.name}", want.means, (*still, rest), (*still, moved), first.at_rest
    )
    return symbol, blade


def _movers(
    part: Part, blades: list[tuple[_Wanted, float, float]], inner: Inner, edge_u: float
) -> tuple[Shape, ...]:
    """What moves the contacts, joined to the blades by dashed lines.

    All contacts of a switch or relay move together; a controller has a relay for each changeover,
    and, like a lock, single contacts that follow a case or a bolt.
    """
    u = edge_u + 4
    shapes: list[Shape] = []
    apart = part.kind == "controller" or part.kind in _BOLTS
    for want, blade_u, y in blades:
        shapes.append(inner.line((blade_u, y), (u, y), ink=Ink.DASHED))
        if apart:
            shapes.append(
                inner.box(u + 4, y, 8, 12) if len(want.pins) == 3 else inner.ring(u + 3, y, 3)
            )
    if apart:
        return tuple(shapes)
    y = blades[0][2]
    if len(blades) > 1:
        shapes.append(inner.line((u, y), (u, blades[-1][2]), ink=Ink.DASHED))
    match part.kind:
        case "exit button" | "bell button":
            shapes.append(inner.line((u, y - 4), (u + 4, y - 4), (u + 4, y + 4), (u, y + 4)))
        case "release":
            shapes += [inner.line((u, y - 6), (u, y + 6)), inner.bow(u, y, 6)]
        case "key switch":
            shapes += [inner.ring(u + 4, y, 4), inner.line((u + 4, y), (u + 4, y + 6))]
        case "bar" | "lever":
            shapes.append(inner.line((u, y - 7), (u, y + 7), ink=Ink.HEAVY))
        case "door contact" | "latch contact":
            shapes.append(inner.ring(u + 3, y, 3))
        case _:
            shapes.append(inner.box(u + 4, y, 8, 12))
    return tuple(shapes)


def _supply(
    device: str,
    part: Part,
    rows: Mapping[str, float],
    inner: Inner,
    from_u: float,
    past: Callable[[str], float],
) -> Drawn:
    """A supply: outputs behind their fuses on a bus; mains and battery between bus and minus."""
    minus = rows.get("-")
    switched = {e.at_rest: e for e in part.elements if isinstance(e, Contact) and e.b in rows}
    fuses = {e.b: e for e in part.elements if isinstance(e, Fuse) and e.b in rows}
    plus = [pin for pin in rows if pin in fuses or pin == "+"]
    if minus is None or not plus:
        return Drawn((), ())
    bus_u = from_u + 16
    symbols: list[Symbol] = []
    leads = [inner.line((past("-"), minus), (bus_u, minus), ink=Ink.HAIR)]
    for pin in plus:
        y = rows[pin]
        if pin not in fuses:
            leads.append(inner.line((past(pin), y), (bus_u, y), ink=Ink.HAIR))
            continue
        resets = fuses[pin].resets
        shapes = glyphs.level_fuse(inner, from_u, bus_u, y, resets=resets)
        leads.append(inner.line((past(pin), y), (from_u, y), ink=Ink.HAIR))
        symbols.append(Symbol(f"{device}.{fuses[pin].name}", "fuse", shapes))
    heights = [rows[pin] for pin in plus]
    low = max(heights)
    if len(heights) > 1:
        bus = inner.line((bus_u, min(heights)), (bus_u, low))
        symbols.append(Symbol("", "bus", (bus,)))
    sources = [e for e in part.elements if isinstance(e, Source)]
    u = bus_u
    for source in sources:
        u += LANE
        body = glyphs.rectifier if source.name == "mains supply" else glyphs.battery
        symbols.append(Symbol(f"{device}.{source.name}", source.name, body(inner, u, low, minus)))
    if u > bus_u:
        rails = (inner.line((bus_u, low), (u, low)), inner.line((bus_u, minus), (u, minus)))
        symbols.append(Symbol("", "rails", rails))
    if len(switched) == 2:
        no, nc = (rows[switched[rest].b] for rest in ("open", "closed"))
        riser = inner.line(
            (u, low), (u + 12, low), (u + 12, (no + nc) / 2), (from_u + 18, (no + nc) / 2)
        )
        still, rest, moved = glyphs.changeover(inner, from_u, (no + nc) / 2, no, nc)
        leads += [
            inner.line(
                (past(switched[rest].b), rows[switched[rest].b]),
                (from_u, rows[switched[rest].b]),
                ink=Ink.HAIR,
            )
            for rest in ("open", "closed")
        ]
        symbols.append(Symbol("", "what the contact switches", (riser,)))
        symbols.append(
            Symbol(
                f"{device}.{switched['open'].name}",
                "changeover contact",
                (*still[1:], rest),
                (*still[1:], moved),
                "open",
            )
        )
    return Drawn(tuple(symbols), tuple(leads))
