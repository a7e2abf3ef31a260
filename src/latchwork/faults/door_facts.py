"""What judging a door needs: its locks, the flags that people see, the situations by stage."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.network import Network
from latchwork.behaviour.outcomes import LOCK_SLOTS
from latchwork.behaviour.passing import leaf_each, way_locks, within_reach
from latchwork.behaviour.situations import KEY, Event, Mode, Power, Situation
from latchwork.job.model import OutBy
from latchwork.job.names import EXIT_SLOTS
from latchwork.parts import lever_frees
from latchwork.plan import Plan
from latchwork.plan.places import out_of_reach

DAILY = (Event.NOBODY, Event.CREDENTIAL, Event.EXIT)
SEEN = (".powered", ".sounds")
"""Endings of flags that people notice: a unit is lit or dark, something sounds."""


@dataclass(frozen=True, slots=True)
class DoorFacts:
    """What judging a door needs.

    For each lock: its device, its bolt's row, the flag that remembers its bolt, the flag of a
    bolt that stays drawn (-1: none), whether current unlocks it, whether lever or bar frees it,
    its two nodes. ``seen_flags`` are those that people see; ``leaf_each``: each lock holds a leaf
    of its own; ``ways``: the locks that must be free for people to leave. ``inward``: people escape
    from outside; ``reached``: what of the exit devices and the release is within their reach, ""
    for an only exit device; ``beyond``: the same of what those inside do not reach.
    """

    locks: tuple[str, ...]
    bolts: tuple[int, ...]
    bolt_flags: tuple[int, ...]
    drawn: tuple[int, ...]
    unlocks: tuple[bool, ...]
    lever_frees: tuple[bool, ...]
    nodes: tuple[tuple[int, int], ...]
    mechanical: bool
    people_leave: bool
    latch_stays: bool
    seen_flags: tuple[int, ...]
    leaf_each: bool
    ways: tuple[bool, ...]
    inward: bool = False
    reached: tuple[str, ...] = ()
    beyond: tuple[str, ...] = ()


def door_facts(plan: Plan, door: str, network: Network) -> DoorFacts:
    """The facts of ``door`` in its network."""
    planned = plan.doors[door]
    slots = [planned.devices[s] for s in LOCK_SLOTS if s in planned.devices]
    rows = [
        (n, name.rpartition(".")[0])
        for n, name in enumerate(network.bolts)
        if name.rpartition(".")[0] in slots
    ]
    parts = [plan.devices[device].part for _, device in rows]
    bolts = network.shape.bolts
    return DoorFacts(
        tuple(device for _, device in rows),
        tuple(n for n, _ in rows),
        tuple(bolts[n].flag for n, _ in rows),
        tuple(network.flags.get(f"{device}.drawn", -1) for _, device in rows),
        tuple(p.facts.get("energised") == "unlocks" for p in parts),
        tuple(lever_frees(p) for p in parts),
        tuple((bolts[n].a, bolts[n].b) for n, _ in rows),
        planned.door.out_by is not OutBy.NOTHING,
        planned.door.people_leave,
        bool(planned.door.fire_alarm.latch_stays),
        tuple(n for name, n in network.flags.items() if name.endswith(SEEN)),
        leaf_each(plan, door),
        tuple(device in way_locks(plan, door) for _, device in rows),
        planned.door.escapes_inward,
        _in_cases(plan, door, within_reach(plan, door)) if planned.door.escapes_inward else (),
        _in_cases(plan, door, out_of_reach(plan, door)),
    )


def _in_cases(plan: Plan, door: str, near: tuple[str, ...]) -> tuple[str, ...]:
    """Slots as situations name them: they do not name the exit device where there is only one."""
    only = [s for s in EXIT_SLOTS if s in plan.doors[door].devices]
    return (*near, "") if only[:1] and only[0] in near else near


class Cases:
    """The situations of a run by stage: where each event's columns are."""

    def __init__(self, situations: Sequence[Situation]) -> None:
        self.situations = situations
        self.keys = tuple(s.key for s in situations)
        """Made once: one string that many name is sent to another process once."""
        self.stages: dict[tuple[Power, Mode], dict[Event, list[int]]] = {}
        for n, s in enumerate(situations):
            self.stages.setdefault((s.power, s.mode), {}).setdefault(s.event, []).append(n)
        usual = self.stages.get((Power.MAINS, Mode.NORMAL), {})
        # A key beside cards or codes is kept for when they fail: nobody turns it daily.
        self.daily = sorted(
            n for event in DAILY for n in usual.get(event, []) if situations[n].which != KEY
        )
        self.release = usual.get(Event.RELEASE, [])
        self.nobody = [n for n, s in enumerate(situations) if s.event is Event.NOBODY]
        self.idle = np.array([s.event is Event.NOBODY for s in situations], dtype=bool)
        self.soon = np.array([s.power is not Power.BATTERY_END for s in situations], dtype=bool)
        """What a visit can bring about: a battery takes hours to its end."""
        asked = [
            n
            for n, s in enumerate(situations)
            if s.event in (Event.CREDENTIAL, Event.EXIT) and s.power is not Power.ALL_LOST
        ]
        # What stops the exit request as well is told of that, not of the key on the same input.
        self.asked = sorted(asked, key=lambda n: situations[n].which == KEY)
        self.alarm = [
            n for n in self.nobody if situations[n].mode in (Mode.FIRE_ALARM, Mode.PANEL_LOST)
        ]

    def leaving(self) -> Iterator[tuple[tuple[Power, Mode], Mapping[Event, list[int]]]]:
        """Each stage in which somebody may want to leave."""
        for stage, events in self.stages.items():
            if Event.NOBODY in events and Event.EXIT in events:
                yield stage, events

    def inward(self, reached: Collection[str]) -> Iterator[tuple[int, list[int]]]:
        """Each stage in which somebody may have to escape inward: the column with nobody about, and
        those in which they use what they reach."""
        for (_, mode), events in self.stages.items():
            if mode in (Mode.NORMAL, Mode.FIRE_ALARM, Mode.PANEL_LOST) and Event.NOBODY in events:
                exits = events.get(Event.EXIT, [])
                asks = [n for n in exits if self.situations[n].which in reached]
                if "release" in reached:
                    asks += events.get(Event.RELEASE, self.release)
                yield events[Event.NOBODY][0], asks

    def reached(self, columns: Sequence[int], beyond: Collection[str]) -> list[int]:
        """Those in which what asks to leave is not ``beyond`` the reach of those inside."""
        return [n for n in columns if self.situations[n].which not in beyond]

    def ways(self, beyond: Collection[str]) -> NDArray[np.intp]:
        """The column that each row of ``ways_out`` speaks of: of those who cannot ask, with nobody
        about."""
        columns = []
        for stage, events in self.leaving():
            asked, nobody = events[Event.EXIT], events[Event.NOBODY]
            columns.append((self.reached(asked, beyond) or nobody)[0])
            if stage == (Power.MAINS, Mode.NORMAL):
                dead = self.reached(events.get(Event.DEAD, asked), beyond)
                columns.append((dead or nobody)[0])
        return np.array(columns, dtype=np.intp)
