"""The answer of ``check --door``: one door whole in one situation, step by step."""

from __future__ import annotations

import re
from collections.abc import Mapping

import msgspec

from latchwork.behaviour import (
    Case,
    Event,
    Mode,
    Power,
    Situation,
    Step,
    close_up,
    groups,
    one_door,
)
from latchwork.job import one_of
from latchwork.wiring import Wiring
from latchwork.words import say

VERSION = 1


class UnknownName(Exception):
    """A door, situation or case that does not exist. ``what``: which of them."""

    def __init__(self, what: str, found: str, expected: str) -> None:
        super().__init__(f"{what}: {found}")
        self.what = what
        self.found = found
        self.expected = expected


class StepLine(msgspec.Struct, frozen=True):
    """One step. Volts None: floating. Amperes of a core from its start to its end."""

    step: str
    situation: str
    volts_v: dict[str, float | None]
    against: dict[str, str]
    """Terminals whose volts are not against the usual minus, and what they are against."""
    cores_a: dict[str, float]
    contacts: dict[str, str]
    """open, closed, or flips where it never comes to rest."""
    drawn_a: dict[str, float]
    """Through coils and fuses, out of sources, into loads."""
    locks: dict[str, str]
    locks_v: dict[str, float]
    solved: bool
    chatter: bool


class DetailAnswer(msgspec.Struct, frozen=True):
    """One door in one situation. ``latchwork_door`` is the version of this form."""

    latchwork_door: int
    door: str
    name: str
    arrangement: str
    situation: str
    case: str
    minus: str
    """What volts are against where nothing else is said."""
    steps: tuple[StepLine, ...]
    cores: dict[str, tuple[str, str]]
    """The ends of each core."""
    caution: str

    @property
    def solved(self) -> bool:
        """Whether every step was."""
        return all(step.solved for step in self.steps)


def situations_of(wiring: Wiring, door: str) -> tuple[str, ...]:
    """The keys of every situation of a door. Raises UnknownName."""
    _moving(wiring, door)
    return tuple(s.key for s in one_door(wiring, door).situations)


def detail(wiring: Wiring, door: str, situation: str = "", case: str = "nominal") -> DetailAnswer:
    """One door whole. ``situation`` is "power/mode/event"; what is left out is mains, normal and
    nobody. Raises UnknownName for a door, situation or case that does not exist."""
    _moving(wiring, door)
    _known("figures", case, [c.value for c in Case])
    every = one_door(wiring, door).situations
    wanted = read_situation(situation, every)
    target = one_door(wiring, door, Case(case))
    steps = close_up(wiring, target, wanted)
    shown = _own(wiring, door)
    against = [v.against for v in steps[0].terminals.values() if v.against]
    minus = max(dict.fromkeys(against), key=against.count, default="")
    return DetailAnswer(
        VERSION,
        door,
        wiring.plan.doors[door].door.name,
        wiring.arrangement.get(door, ""),
        wanted.key,
        case,
        minus,
        tuple(_line(step, shown, minus) for step in steps),
        {c.id: (c.start, c.end) for c in wiring.conductors if c.id in steps[0].cores_a},
        say("caution"),
    )


def _moving(wiring: Wiring, door: str) -> None:
    """Raises UnknownName for a door that does not exist, or has nothing in any circuit."""
    plan = wiring.plan
    if door not in plan.doors:
        raise UnknownName("door", door, one_of(door, plan.doors, plan.door_called))
    if not any(door in group.doors for group in groups(wiring)):
        raise UnknownName("door", door, say("detail.nothing wired"))


def _known(what: str, found: str, names: Mapping[str, object] | list[str]) -> None:
    if found not in names:
        raise UnknownName(what, found, one_of(found, names))


def read_situation(text: str, every: tuple[Situation, ...]) -> Situation:
    """The situation people mean: its key, or some of power, mode and event with "/" between.

    Raises UnknownName.
    """
    by_key = {s.key: s for s in every}
    if text in by_key:
        return by_key[text]
    match = re.fullmatch(r"(.*?)(?:\s*\((.*)\))?", text.strip())
    assert match is not None  # it takes any one line; what is left over is a part
    said, tail = match[1], match[2] or ""
    power, mode, event = Power.MAINS, Mode.NORMAL, Event.NOBODY
    for part in filter(None, (each.strip() for each in said.split("/"))):
        if part in list(Power):
            power = Power(part)
        elif part in list(Mode):
            mode = Mode(part)
        elif part in list(Event):
            event = Event(part)
        else:
            words = [*Power, *Mode, *Event]
            raise UnknownName("situation", part, one_of(part, [w.value for w in words]))
    meant = Situation(power, mode, event, tail)
    if meant.key not in by_key:
        like = [s.key for s in every if (s.power, s.event) == (power, event)]
        raise UnknownName("situation", meant.key, one_of(meant.key, like or list(by_key)))
    return by_key[meant.key]


def _own(wiring: Wiring, door: str) -> tuple[str, ...]:
    """Beginnings of the names that are this door's: itself, devices it shares, its supplies."""
    plan = wiring.plan
    own = [f"{door}.", *(f"{d}." for d in plan.doors[door].devices.values())]
    own += [f"{s}." for s in plan.supplies]
    own += [f"{j}" for j in (*plan.job.joints, *plan.job.taps, *plan.job.cables)]
    return tuple(own)


def _line(step: Step, own: tuple[str, ...], minus: str) -> StepLine:
    def mine(name: str) -> bool:
        return name.startswith(own)

    terminals = {name: v for name, v in step.terminals.items() if mine(name)}
    return StepLine(
        step.name,
        step.situation.key,
        {name: v.volts for name, v in terminals.items()},
        {name: v.against for name, v in terminals.items() if v.against not in ("", minus)},
        {name: amps for name, amps in step.cores_a.items() if mine(name)},
        {name: p.value for name, p in step.contacts.items() if mine(name)},
        {name: amps for name, amps in step.drawn_a.items() if mine(name)},
        {name: lock.state.name.lower() for name, lock in step.locks.items()},
        {name: lock.volts for name, lock in step.locks.items()},
        step.solved,
        step.chatter,
    )
