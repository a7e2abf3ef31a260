"""What ``schedules`` answers: frozen, plain, SI units in every name."""

from __future__ import annotations

import msgspec

from latchwork.answers.beyond import Beyond


class DoorRow(msgspec.Struct, frozen=True):
    """One door. Devices by what the catalogue calls them, "" where there is none."""

    id: str
    name: str
    beyond: Beyond | None
    """What of it is beyond the model: ``enter`` or ``leave`` and what follows say no more then."""
    outside: str
    out_by: str
    lock: str
    controller: str
    reader: str
    exit: str
    release: str
    fire: str
    contact: str
    supply: str
    power_lost: str
    fire_alarm: str
    fire_rating_s: float | None
    enter: str
    """By what one enters with right, on mains; a word key as in ``Pass.by``, "" where nothing
    electrical is fitted."""
    leave: str
    """By what one leaves, on mains."""
    leave_power_lost: str
    open_power_lost: bool
    """Whether it is unlocked from outside with all power lost."""
    open_fire: bool
    leave_fire: str
    """By what one leaves in a fire alarm."""
    leave_panel_lost: str
    """By what one leaves with the fire panel lost."""
    people_leave: bool
    """Whether people leave by it at all: the job may say that nobody does."""
    worst: str


class ConnectionRow(msgspec.Struct, frozen=True):
    """One end of one wire, where one stands to make it."""

    stand: str
    """"supply", "outside", "door", "inside", "between" or a place by its name."""
    at: str
    """The door or supply one stands at; "" for a place by its own name."""
    device: str
    part: str
    terminal: str
    wire: str
    """"core", "lead", "bridge", or "missing": a core that the plan has and that is not there."""
    cable: str
    core: str
    letters: str
    """IEC 60757, "" where there are none."""
    to: str
    far: str
    """What stands for ``to`` where that is no terminal: "open", "broken", "on the way", else ""."""
    changed: bool
    """Differs from the plan."""
    planned: tuple[str, str]
    """Of a core that differs: its two ends in the plan, "" twice where it has none."""


class CableRow(msgspec.Struct, frozen=True):
    """One cable. ``cut_m``: length, +10 % and 2 m at each end (common practice, no source)."""

    id: str
    door: str
    start: str
    end: str
    type: str
    used: tuple[str, ...]
    spare: tuple[str, ...]
    faulty: tuple[str, ...]
    """Spare cores with a short, a leak or a break in them: not to be put to use."""
    missing: tuple[str, ...]
    """Cores of the plan that are not there."""
    length_m: float
    length_known: str
    """How the length is known: "measured", "guessed" …"""
    cut_m: float
    loop_ohm: float
    """Two cores in series at 20 °C."""
    loop_low_ohm: float
    loop_high_ohm: float


class OrderRow(msgspec.Struct, frozen=True):
    """Something to order: how many, or how many metres."""

    what: str
    figures: str
    """What one orders it by, in short: "24 V, 0.125 A"; "" where its name says it all."""
    kind: str
    """"part", "battery", "fuse" or "cable"."""
    count: int
    """Pieces; of a cable, lengths to cut."""
    length_m: float | None
    places: tuple[str, ...]


class LoadRow(msgspec.Struct, frozen=True):
    """What one device draws from its supply, amperes, at nominal figures."""

    device: str
    part: str
    idle_a: float
    most_a: float
    battery_a: float


class LossRow(msgspec.Struct, frozen=True):
    """What is lost on the way down."""

    hours: float
    device: str
    what: str
    """"lets go", "dies" or "cut off"."""
    volts_v: float


class BatteryRow(msgspec.Struct, frozen=True):
    """A supply on its battery, with the working of the amp-hour method."""

    blocks: int
    capacity_ah: float
    usable_ah: float
    mean_a: float
    asked_h: float | None
    base_ah: float | None
    ageing: float
    margin: float
    cold: float
    cold_c: float
    needed_ah: float | None
    losses: tuple[LossRow, ...]
    new_holds_h: float
    """Hours until the first loss with a new battery at 25 °C."""
    charge_a: float
    recover_h: float | None
    returns_by_itself: bool
    alone: bool
    """Whether its doors hang on it alone; else the losses are its cut-off only."""
    worn_ah: float | None
    """What is left of one that was found weak."""


class LockVoltsRow(msgspec.Struct, frozen=True):
    """A lock's volts at the worst case against its need."""

    device: str
    part: str
    least_v: float | None
    when: str
    need_v: float
    does: str


class SupplyRow(msgspec.Struct, frozen=True):
    """One supply and everything on it."""

    id: str
    part: str
    doors: tuple[str, ...]
    volts_v: float
    limit_a: float | None
    loads_a: dict[str, float]
    most_a: float
    most_when: str
    charge_a: float
    margin: float | None
    outputs: dict[str, float | None]
    """Output terminal -> rating of its fuse."""
    devices: tuple[LoadRow, ...]
    locks: tuple[LockVoltsRow, ...]
    battery_blocks: int
    """Blocks fitted, 0 where there is no battery."""
    battery: BatteryRow | None
    """None without a battery, where it carries nothing on, and where its hours are not worked
    out."""
    battery_gone: str
    """As what a battery was found that carries nothing on: "battery dead"; else ""."""
    dead: bool
    """It was found dead, and gives nothing of its own: its limit is of no use."""


class Reading(msgspec.Struct, frozen=True):
    """What a meter should show, and the band that the worst cases give."""

    value: float
    low: float
    high: float


class TerminalReadings(msgspec.Struct, frozen=True):
    """A terminal with a reading for each situation."""

    terminal: str
    device: str
    part: str
    stand: str
    against: str
    volts_v: tuple[Reading, ...]


class LockReadings(msgspec.Struct, frozen=True):
    """A lock: volts across it, amperes through it, and its state, for each situation."""

    device: str
    part: str
    volts_v: tuple[Reading, ...]
    amps_a: tuple[Reading, ...]
    states: tuple[str, ...]


class DoorReadings(msgspec.Struct, frozen=True):
    """Expected readings of one door. ``situations``: word keys ("idle", "granted" …)."""

    door: str
    situations: tuple[str, ...]
    alternating: bool
    terminals: tuple[TerminalReadings, ...]
    locks: tuple[LockReadings, ...]
    solved: bool


NO_LOCK = "no lock"
"""State of a door that no lock holds, or none that is there."""


class TrialRow(msgspec.Struct, frozen=True):
    """Something to try at a door. ``which``: which of several exit devices; ``device``: its kind.
    ``state`` of the door, "opens" where a bar or lever frees what is locked; ``leave``: by what one
    leaves meanwhile, "" where that is not asked."""

    key: str
    """"at rest", "card", "exit", "release", "fire alarm", "fire panel off", "mains off" (or "mains
    alone off" where there is no battery), "all off" or "power back"; "beside": what is fitted
    besides, by its slot in ``device``, with what should come of it and is not worked out."""
    which: str
    device: str
    state: str
    leave: str


class SchedulesAnswer(msgspec.Struct, frozen=True):
    """Everything. ``latchwork_schedules`` is the version of this form."""

    latchwork_schedules: int
    site: str
    reference: str
    file: str
    us_units: bool
    doors: tuple[DoorRow, ...]
    connections: tuple[ConnectionRow, ...]
    cables: tuple[CableRow, ...]
    order: tuple[OrderRow, ...]
    supplies: tuple[SupplyRow, ...]
    readings: tuple[DoorReadings, ...]
    trials: dict[str, tuple[TrialRow, ...]]
    """By door."""
    caution: str
