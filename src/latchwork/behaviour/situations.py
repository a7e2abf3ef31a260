"""Situations: power x mode x event, as steps from healthy idle.

Before the event come two steps: ``before`` (what the situation starts from: all lost, before power
returns; a fire alarm, before its reset) and ``then`` (power and mode as named). The event has two
moments: as it begins, and held past the relay time.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

from latchwork.elements import Input
from latchwork.job.names import EXIT_SLOTS
from latchwork.plan import Plan
from latchwork.plan.places import OUTSIDE

LONG_S = 3600.0
"""Longer than any timer of a controller or release: what starts has ended."""
HELD_S = 90.0
"""Held past the relay time, and past the 30 s of a timed release (US model codes, from memory)."""


class Power(StrEnum):
    """What feeds the door's supplies."""

    MAINS = "mains"
    BATTERY = "battery"
    BATTERY_END = "battery at its end"
    NO_BATTERY = "mains lost, no battery"
    ALL_LOST = "all lost"
    RETURNS = "power returns"
    ONE_LOST = "one supply lost"


class Mode(StrEnum):
    """What the site or the door's controller is in."""

    NORMAL = "normal"
    TAMPER = "tamper open"
    LOCKED_OUT = "locked out"
    TIMED_UNLOCK = "timed unlock"
    FIRE_ALARM = "fire alarm"
    PANEL_LOST = "fire panel lost"
    FIRE_RESET = "fire reset"


class Event(StrEnum):
    """What somebody does at the door."""

    NOBODY = "nobody"
    CREDENTIAL = "card or code"
    EXIT = "exit request"
    RELEASE = "emergency release"
    HELD_OPEN = "door held open"
    DEAD = "outside unit dead"
    """and an exit request"""
    RELEASE_ALONE = "emergency release, controller frozen"
    """Nothing but the release's own contacts, locks and fuses move."""
    EXIT_ALONE = "exit request, controller frozen"
    """Nothing but the exit device's own contacts, locks and fuses move."""


ALONE = (Event.RELEASE_ALONE, Event.EXIT_ALONE)
"""Events with all electronics frozen: what copper and contacts alone do."""


RIGHTS = ("credential", "radio_sent")
"""Inputs by which somebody with a right asks to come in."""
KEY = "key switch"
"""The slot whose switch somebody with the key turns to come in."""


class Moment(StrEnum):
    """When one looks."""

    BEGINS = "as it begins"
    HELD = "held"


@dataclass(frozen=True, slots=True)
class Situation:
    """One case a door may be in. ``which`` tells which of several exit devices is used, or that a
    key is turned at a door with cards or codes; ``lost`` the one supply that is lost."""

    power: Power
    mode: Mode
    event: Event
    which: str = ""
    lost: str = ""

    @property
    def tail(self) -> str:
        """What stands in brackets behind it: "S1", "second exit", "S1, second exit"."""
        return ", ".join(filter(None, (self.lost, self.which)))

    @property
    def key(self) -> str:
        """As people type it: "mains/normal/exit request"."""
        tail = f" ({self.tail})" if self.tail else ""
        return f"{self.power}/{self.mode}/{self.event}{tail}"


def by_key(plan: Plan, door: str) -> bool:
    """Whether a key is how somebody with a right comes in."""
    return DoorInputs(plan, door, ()).units == (KEY,)


Inputs = Mapping[str, bool]


class DoorInputs:
    """Which inputs of the site each part of a situation sets, for one door."""

    def __init__(self, plan: Plan, door: str, supplies: Iterable[str]) -> None:
        self._plan = plan
        self._door = door
        self.supplies = tuple(supplies)
        self._slots = plan.doors[door].devices

    def _has(self, device: str, flag: str) -> bool:
        placed = self._plan.devices.get(device)
        return placed is not None and any(
            isinstance(r, Input) and r.flag == flag for r in placed.part.rules
        )

    def _set(self, slot: str, *flags: str) -> dict[str, bool]:
        """The first of ``flags`` that the device in ``slot`` has, set."""
        reference = self._slots.get(slot, "")
        device, way = self._way(reference)
        for flag in flags:
            if way and self._has(device, flag + way):
                return {f"{device}.{flag}{way}": True}
            if self._has(device, flag):
                return {f"{device}.{flag}": True}
        return {}

    def _way(self, device: str) -> tuple[str, str]:
        """A device's id, and the way on it ("2") where the door uses its second one."""
        way = str(self._plan.doors[self._door].door.shared.get("controller", ""))
        if way.startswith(device + ".") and way.endswith(".2"):
            return device, "2"
        return device, ""

    @cached_property
    def units(self) -> tuple[str, ...]:
        """The slots of units where one shows a right: card, code, or a hand transmitter or a key
        where there is nothing else."""
        readers = [s for s in self._slots if s.startswith("reader")]
        others = [s for s in ("controller", "radio") if self._set(s, *RIGHTS)]
        others += [KEY] if self._set(KEY, "pressed") else []
        return tuple(readers) or tuple(others[:1])

    @cached_property
    def spare_key(self) -> bool:
        """Whether a key opens besides cards, codes or hand transmitters."""
        return bool(self._set(KEY, "pressed")) and self.units not in ((), (KEY,))

    @cached_property
    def exits(self) -> tuple[str, ...]:
        """The slots with which one asks to leave, in the order they are tried."""
        return tuple(s for s in EXIT_SLOTS if self._set(s, "pressed", "triggered", "pushed"))

    def before(self, power: Power, mode: Mode) -> Inputs:
        """What holds before power and mode come as named.

        A timed unlock stands for hours, and power goes or comes in the midst of it: a bolt that is
        drawn and stays put stays drawn, and a controller that forgets in an outage has forgotten.
        """
        inputs: dict[str, bool] = {}
        if power is Power.RETURNS:
            inputs |= self.power(Power.ALL_LOST)
        if mode is Mode.TIMED_UNLOCK and power is not Power.MAINS:
            inputs |= self.mode(mode)
        if mode is Mode.FIRE_RESET:
            inputs["site:fire_alarm"] = True
        return inputs

    def mode(self, mode: Mode) -> Inputs:
        """The mode as named."""
        match mode:
            case Mode.NORMAL:
                return {}
            case Mode.TAMPER:
                inputs: dict[str, bool] = dict(self._set("controller", "case_open"))
                for slot in self._slots:
                    if slot.startswith("reader"):
                        inputs |= self._set(slot, "case_open")
                return inputs
            case Mode.LOCKED_OUT:
                return self._set("controller", "locked_out")
            case Mode.TIMED_UNLOCK:
                return self._set("controller", "timed_unlock")
            case Mode.FIRE_ALARM:
                return {"site:fire_alarm": True}
            case Mode.PANEL_LOST:
                return {"site:panel_lost": True}
            case Mode.FIRE_RESET:
                return {"site:fire_alarm": False}

    def power(self, power: Power, which: str = "") -> Inputs:
        """The power as named; ``which`` supply is lost where only one is."""
        out: dict[str, bool] = {}
        if power is Power.MAINS:
            return out
        gone = power in (Power.ALL_LOST, Power.NO_BATTERY, Power.ONE_LOST)
        for supply in [which] if power is Power.ONE_LOST else self.supplies:
            out[f"{supply}.mains"] = power is Power.RETURNS
            out[f"{supply}.network"] = power is Power.RETURNS
            out[f"{supply}.battery_present"] = not gone
            out[f"{supply}.battery_end"] = power is Power.BATTERY_END
        return out

    def event(self, event: Event, which: str = "") -> Inputs:
        """What somebody does."""
        match event:
            case Event.NOBODY:
                return {}
            case Event.CREDENTIAL:
                inputs: dict[str, bool] = {}
                for unit in (KEY,) if which == KEY else self.units:
                    inputs |= self._set(unit, *(("pressed",) if unit == KEY else RIGHTS))
                return inputs
            case Event.EXIT | Event.EXIT_ALONE:
                return self._exit(which)
            case Event.RELEASE | Event.RELEASE_ALONE:
                return self._set("release", "pulled")
            case Event.HELD_OPEN:
                return {f"{self._door}:open": True, f"{self._door}:latch_out": False}
            case Event.DEAD:
                inputs = dict(self._exit(which))
                for slot, device in self._slots.items():
                    if self.is_outside(slot) and self._has(device, "dead"):
                        inputs[f"{device}.dead"] = True
                return inputs

    def _exit(self, which: str) -> dict[str, bool]:
        slot = which or (self.exits[0] if self.exits else "")
        return self._set(slot, "pressed", "triggered", "pushed") if slot else {}

    def is_outside(self, slot: str) -> bool:
        """Whether the device in ``slot`` is on the unsecure side."""
        device = self._plan.devices.get(self._slots[slot])
        return device is not None and device.place in OUTSIDE

    def powers(self) -> list[tuple[Power, str]]:
        """The powers this door can be in; which supply is lost where there are several."""
        powers: list[tuple[Power, str]] = [(p, "") for p in Power if p is not Power.ONE_LOST]
        if len(self.supplies) > 1:
            powers += [(Power.ONE_LOST, s) for s in self.supplies]
        return powers

    def events(self) -> list[tuple[Event, str]]:
        """The events of this door; each exit device on its own where there are several, and a key
        beside cards or codes."""
        events: list[tuple[Event, str]] = []
        for event in Event:
            if event in (Event.EXIT, Event.EXIT_ALONE, Event.DEAD) and len(self.exits) > 1:
                events += [(event, slot) for slot in self.exits]
            else:
                events.append((event, ""))
            if event is Event.CREDENTIAL and self.spare_key:
                events.append((event, KEY))
        return events
