"""A drawing laid out: where everything stands, in units of which 720 make the width of an A4 page.

Layout fills a Sheet, painters put it on paper. Nothing here knows SVG or DXF. x goes right, y goes
down, angles in degrees clockwise from the right.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

Point = tuple[float, float]
Box = tuple[float, float, float, float]
"""Left, top, right, bottom."""

UNIT_MM = 190.0 / 720.0
"""One unit on A4 paper, in millimetres: 190 mm lie between the margins."""


class Form(StrEnum):
    """What the sheet is laid out for."""

    WIDE = "wide"
    """A page or a desk: devices on both sides."""
    NARROW = "narrow"
    """A phone, 390 units: places below each other."""


class Ink(StrEnum):
    """How a line of a device or a frame is drawn."""

    RULE = "rule"
    """Quiet, between parts of the sheet."""
    HAIR = "hair"
    LINE = "line"
    HEAVY = "heavy"
    DASHED = "dashed"


@dataclass(frozen=True, slots=True)
class Path:
    """Straight lines from point to point."""

    points: tuple[Point, ...]
    ink: Ink = Ink.LINE
    closed: bool = False
    filled: bool = False


@dataclass(frozen=True, slots=True)
class Arc:
    """A piece of a circle, clockwise from ``start`` to ``end``; 0 to 360 is the whole circle."""

    centre: Point
    radius: float
    start: float = 0.0
    end: float = 360.0
    ink: Ink = Ink.LINE
    filled: bool = False


Shape = Path | Arc


class Role(StrEnum):
    """What a text is."""

    SHEET = "sheet"
    ZONE = "zone"
    DEVICE = "device"
    IDENT = "ident"
    PART = "part"
    NOTE = "note"
    TERMINAL = "terminal"
    CORE = "core"
    TABLE = "table"


class Anchor(StrEnum):
    """Which end of a text stands at its point."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


@dataclass(frozen=True, slots=True)
class Label:
    """One line of text; ``at`` is on its baseline.

    ``strong`` is a piece set bold, before the text or, with the anchor at its end, after it.
    ``full`` is what was shortened to fit, "" where nothing was.
    """

    text: str
    at: Point
    role: Role
    size: float
    box: Box
    anchor: Anchor = Anchor.START
    strong: str = ""
    mono: bool = False
    full: str = ""


@dataclass(frozen=True, slots=True)
class Symbol:
    """What a device holds between its terminals, drawn at rest.

    ``element``: "D3.controller.contact NO", or "" for what no state changes. ``moved``: drawn
    instead of ``rest`` where that contact is not as at rest.
    """

    element: str
    means: str
    rest: tuple[Shape, ...]
    moved: tuple[Shape, ...] = ()
    at_rest: str = ""
    """"open" or "closed" for a contact."""


@dataclass(frozen=True, slots=True)
class Pin:
    """A terminal on a device's edge: every wire on it ends on the line ``x``, ``top`` to
    ``bottom``. ``volts_at``: where a figure for it may stand."""

    id: str
    name: str
    x: float
    top: float
    bottom: float
    label: Label
    wires: int
    volts_at: Point
    inward: int
    """1 where the device lies to the right of its pin, else -1."""


@dataclass(frozen=True, slots=True)
class Block:
    """A device, joint, tap or other place where wires end, with all that is drawn of it."""

    id: str
    kind: str
    place: str
    box: Box
    pins: tuple[Pin, ...]
    labels: tuple[Label, ...]
    symbols: tuple[Symbol, ...] = ()
    leads: tuple[Path, ...] = ()
    """Lines inside from a pin to its symbol."""
    missing: bool = False
    framed: bool = True


class WireKind(StrEnum):
    """What joins two terminals."""

    CORE = "core"
    LEAD = "lead"
    BRIDGE = "bridge"
    CABLE = "cable"
    """A whole cable, on the site's drawing."""


@dataclass(frozen=True, slots=True)
class Hop:
    """Where a level piece of a wire jumps over others: the piece, and from x to x."""

    piece: int
    from_x: float
    to_x: float


@dataclass(frozen=True, slots=True)
class Wire:
    """A core, lead or bridge: its route from ``start`` to ``end``, right angles only."""

    id: str
    kind: WireKind
    start: str
    end: str
    cable: str
    core: str
    letters: str
    """IEC 60757, "" where the core's colour has none."""
    colours: tuple[str, ...]
    """One or two colours by name; none for a lead."""
    points: tuple[Point, ...]
    hops: tuple[Hop, ...]
    labels: tuple[Label, ...]
    means: str
    planned: bool = True
    absent: bool = False
    """Planned, and not there."""


@dataclass(frozen=True, slots=True)
class Jacket:
    """The sheath drawn behind the cores of one cable."""

    cable: str
    box: Box


@dataclass(frozen=True, slots=True)
class Title:
    """What the strip at the foot of a drawing says; date and version as they are to be shown.

    ``job`` "": the site's own name.
    """

    job: str = ""
    date: str = ""
    version: str = ""


@dataclass(frozen=True, slots=True)
class Zone:
    """One place: a strip of the sheet."""

    place: str
    label: Label
    top: float
    bottom: float


@dataclass(frozen=True, slots=True)
class Sheet:
    """A whole drawing. ``id`` starts the ids of its elements, so that several stand in one page."""

    id: str
    form: Form
    width: float
    height: float
    title: str
    description: str
    zones: tuple[Zone, ...] = ()
    blocks: tuple[Block, ...] = ()
    wires: tuple[Wire, ...] = ()
    jackets: tuple[Jacket, ...] = ()
    labels: tuple[Label, ...] = ()
    shapes: tuple[Shape, ...] = ()
