"""What a job file says, typed. Nothing here is computed; figures still missing are filled by plan.

Every fact keeps where it was written: ``Job.origins`` maps a path ("doors.D3.lock") to a place.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from latchwork.quantities import Quantity


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a fact stands. Lines and columns count from 1."""

    file: str
    line: int
    column: int


Fact = Quantity
"""A number in SI units, its range, how it is known, and the text as written."""


@dataclass(frozen=True, slots=True)
class PartUse:
    """A part put to use: its name as written, and what people say differs from the catalogue.

    ``figures`` are numbers with units ("holds down to": 20.4 V), ``settings`` are words and plain
    numbers ("relay": "energised when idle", "users": 40). ``place``: inside, outside, weather,
    door, frame, supply or a free text; "" where nothing was said.
    """

    part: str
    figures: Mapping[str, Fact] = field(default_factory=dict)
    settings: Mapping[str, str | int | bool] = field(default_factory=dict)
    place: str = ""


@dataclass(frozen=True, slots=True)
class Run:
    """A length of cable: "18 m of 2 x 1.0 mm²". ``cable`` names the catalogue's type
    ("2 x 1.0 mm²", "category cable", "4 x 18 AWG"). ``length_m`` None: not known yet."""

    cable: str
    length_m: Fact | None
    figures: Mapping[str, Fact] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Tap:
    """A joint part-way along a cable, ``at_m`` from the end ``from_end`` ("" the first)."""

    on: str
    at_m: Fact
    from_end: str = ""
    place: str = ""


@dataclass(frozen=True, slots=True)
class Joint:
    """Where cores are joined. ``made``: crimp, screw block, solder, twist …"""

    place: str = ""
    made: str = ""
    ohm: Fact | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """One row of wiring: from, the cores used as one conductor, to.

    ``start`` and ``end`` are references as written ("controller.NO", "S1.1", "J1", "K1.brown",
    "open"). ``cores`` is empty for a lead (a short wire with no length worth counting).
    """

    start: str
    cores: tuple[tuple[str, str], ...]
    """(cable, core) pairs."""
    end: str
    path: str
    """Key into ``Job.origins``."""


class DeviationKind(StrEnum):
    """How the site differs from what was planned."""

    MOVED = "moved"
    SWAPPED = "swapped"
    MISSING = "missing"
    ADDED = "added"
    PART = "part"
    """A part's state or a measured resistance."""
    SHORT = "short"
    LEAK = "leak"
    BREAK = "break"


@dataclass(frozen=True, slots=True)
class Deviation:
    """One difference between the site and the plan.

    ``subjects``: what it is about, as full ids where they can be resolved ("D3.exit.brown",
    "D3.controller"): the core that was moved, the two that were swapped or shorted, the part.
    ``start``/``end``: terminals a core was moved from and to. ``state``: a part state by name
    ("contact welded", "diode reversed", "coil open", "battery weak", "relay stuck on").
    ``at_m`` from the end named by ``from_end``. ``when``: holds only under that condition.
    """

    kind: DeviationKind
    subjects: tuple[str, ...]
    start: str = ""
    end: str = ""
    state: str = ""
    ohm: Fact | None = None
    at_m: Fact | None = None
    from_end: str = ""
    when: str = ""
    measured: str = ""
    path: str = ""


class Locking(StrEnum):
    """What a side of a door must do."""

    LOCKED = "locked"
    UNLOCKED = "unlocked"


@dataclass(frozen=True, slots=True)
class Duty:
    """What a door must do in one case: for the one entering, the one leaving, and the latch.

    None: nothing was asked. ``leave`` UNLOCKED means one ordinary action gets people out.
    ``latch_stays`` True: the latch must stay thrown (fire-rated doors).
    """

    enter: Locking | None = None
    leave: Locking | None = None
    latch_stays: bool | None = None


class OutBy(StrEnum):
    """What frees the door from inside without electricity."""

    LEVER = "lever"
    PANIC_BAR = "panic bar"
    NOTHING = "nothing mechanical"


BEYOND_MODEL = ("delayed egress", "interlock", "anti-passback")
"""Facts of a door that are told, and that nothing here works out."""


def fire_rated(facts: Mapping[str, Fact | str | int | bool]) -> bool:
    """Whether a door is to hold back fire: minutes are written, or a label was seen on it."""
    return isinstance(facts.get("fire rating"), Fact) or facts.get("fire label") is True


@dataclass(frozen=True, slots=True)
class Door:
    """One door as written, usual values merged in.

    ``devices`` maps a slot to what is fitted: lock, second lock, controller, reader, exit, release,
    fire, bar, contact, latch contact, bell, bell button, radio, timer, diode … A slot that names a
    site device ("fire": "F1") stands in ``shared`` instead.
    """

    id: str
    name: str
    supply: str = ""
    """"S1 out 1" as id and output: "S1.1"; "S1" where the supply has no outputs; "" unsaid."""
    outside: str = "inside"
    """What the outer side is: inside, outside (under cover), weather."""
    power_lost: Duty = Duty()
    fire_alarm: Duty = Duty()
    out_by: OutBy = OutBy.NOTHING
    """Where nothing was said, the worst is taken and ``unknown`` holds the question."""
    devices: Mapping[str, PartUse] = field(default_factory=dict)
    shared: Mapping[str, str] = field(default_factory=dict)
    """slot -> id of a site device, with the way on it where it has several ("C1.2")."""
    controller_at: str = "door"
    """door, supply, outside, or a place."""
    runs: Mapping[str, Run] = field(default_factory=dict)
    """By leg: power lock exit release fire contact tamper reader bell radio."""
    cables: Mapping[str, Run] = field(default_factory=dict)
    joints: Mapping[str, Joint] = field(default_factory=dict)
    wiring: Mapping[str, tuple[Row, ...]] | tuple[Row, ...] | None = None
    """By leg where single legs are replaced; a plain tuple where the door is described whole."""
    found: tuple[Deviation, ...] = ()
    facts: Mapping[str, Fact | str | int | bool] = field(default_factory=dict)
    """fire rating, leaves, swing, hand, closer, escape direction, release height and distance,
    sign, users, grants an hour, installer code changed …"""
    waivers: tuple[Mapping[str, str], ...] = ()
    unknown: tuple[str, ...] = ()
    """Paths of facts written as unknown."""

    @property
    def beyond_model(self) -> tuple[str, ...]:
        """Which of its facts this model has no answer for."""
        return tuple(w for w in BEYOND_MODEL if self.facts.get(w) not in (None, False, "none"))

    @property
    def people_leave(self) -> bool:
        """Whether people leave through it at all: nobody is in a cabinet, and some doors are no way
        out."""
        return self.facts.get("escape direction") != "none"

    @property
    def escapes_inward(self) -> bool:
        """Whether people escape through it from outside, without card, code or key."""
        return self.facts.get("escape direction") in ("inward", "both")

    def leaf_each(self, kinds: Sequence[str]) -> bool:
        """Whether locks of these kinds hold a leaf each: the file says so, or there are two leaves
        and two locks of one kind (common practice, no source)."""
        said, leaves = (self.facts.get(fact) for fact in ("second lock on", "leaves"))
        if len(kinds) != 2 or leaves == 1:
            return False
        return said == "other leaf" if said is not None else leaves == 2 and kinds[0] == kinds[1]


@dataclass(frozen=True, slots=True)
class Supply:
    """A supply as written. ``battery``: blocks in series x volts and amp-hours."""

    id: str
    use: PartUse
    battery: PartUse | None = None
    battery_blocks: int = 0
    outputs: Mapping[str, PartUse] = field(default_factory=dict)
    """Output name -> its fuse (a part use "fuse" with the figure "rating")."""
    place: str = ""


@dataclass(frozen=True, slots=True)
class Site:
    """What holds for the whole site."""

    name: str = ""
    reference: str = ""
    mains_v: Fact | None = None
    mains_hz: Fact | None = None
    ambient_c: Fact | None = None
    standby_h: Fact | None = None
    rule_set: str = "general"
    time_zone: str = "UTC"
    units: str = "metric"
    language: str = "en"
    facts: Mapping[str, Fact | str | int | bool] = field(default_factory=dict)
    waivers: tuple[Mapping[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Job:
    """One job file, read whole."""

    version: int
    site: Site
    supplies: Mapping[str, Supply]
    doors: Mapping[str, Door]
    devices: Mapping[str, PartUse] = field(default_factory=dict)
    """Site devices that doors share, by id."""
    device_supplies: Mapping[str, str] = field(default_factory=dict)
    """Site device -> the supply and output that feed it ("S1.2"), where that was said."""
    cables: Mapping[str, Run] = field(default_factory=dict)
    taps: Mapping[str, Tap] = field(default_factory=dict)
    joints: Mapping[str, Joint] = field(default_factory=dict)
    wiring: tuple[Row, ...] = ()
    found: tuple[Deviation, ...] = ()
    unknown: tuple[str, ...] = ()
    """Paths of facts outside doors that were written as unknown."""
    origins: Mapping[str, Origin] = field(default_factory=dict, repr=False, compare=False)
    file: str = ""
