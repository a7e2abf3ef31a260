"""What faults do to a door: its 28 situations with the fault, against the same without."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.network import Network
from latchwork.behaviour.outcomes import LOCK_SLOTS, LockState
from latchwork.behaviour.run import Solved
from latchwork.behaviour.situations import Event, Mode, Power, Situation
from latchwork.behaviour.state import MARGINAL, PICKED
from latchwork.faults.model import Effect
from latchwork.job.model import OutBy
from latchwork.plan import Plan

Bools = NDArray[np.bool_]
States = NDArray[np.int8]
"""Locks x members x situations x moments."""
Seen = NDArray[np.bool_]
"""Flags that people see x members x situations."""

FREE, RELEASE_ONLY, NOTHING = 0, 1, 2
DAILY = (Event.NOBODY, Event.CREDENTIAL, Event.EXIT)


@dataclass(frozen=True, slots=True)
class DoorFacts:
    """What judging a door needs: for each lock its bolt's row, the flag that remembers its bolt
    (-1: none), whether current unlocks it, whether lever or bar frees it; the flags people see."""

    bolts: tuple[int, ...]
    bolt_flags: tuple[int, ...]
    drawn: tuple[int, ...]
    unlocks: tuple[bool, ...]
    lever_frees: tuple[bool, ...]
    mechanical: bool
    latch_stays: bool
    seen_flags: tuple[int, ...]
    lock_nodes: tuple[tuple[int, int], ...]


def door_facts(plan: Plan, door: str, network: Network) -> DoorFacts:
    """The facts of ``door`` in its network."""
    planned = plan.doors[door]
    locks = [planned.devices[s] for s in LOCK_SLOTS if s in planned.devices]
    rows = [
        (n, name.rsplit(".", 1)[0])
        for n, name in enumerate(network.bolts)
        if name.rsplit(".", 1)[0] in locks
    ]
    parts = [plan.devices[device].part for _, device in rows]
    bolts = network.shape.bolts
    return DoorFacts(
        tuple(n for n, _ in rows),
        tuple(bolts[n].flag for n, _ in rows),
        tuple(network.flags.get(f"{device}.drawn", -1) for _, device in rows),
        tuple(p.facts.get("energised") == "unlocks" for p in parts),
        tuple(bool(p.facts.get("lever_frees", p.kind in ("strike", "motor"))) for p in parts),
        planned.door.out_by is not OutBy.NOTHING,
        bool(planned.door.fire_alarm.latch_stays),
        tuple(n for name, n in network.flags.items() if name.endswith((".powered", ".sounds"))),
        tuple((bolts[n].a, bolts[n].b) for n, _ in rows),
    )


def lock_states(solved: Solved, facts: DoorFacts) -> States:
    """The state of every lock, as outcomes judge it."""
    out = []
    for bolt, flag, drawn, unlocks in zip(
        facts.bolts, facts.bolt_flags, facts.drawn, facts.unlocks, strict=True
    ):
        energised = LockState.UNLOCKED if unlocks else LockState.LOCKED
        rest = LockState.LOCKED if unlocks else LockState.UNLOCKED
        moments = []
        for held in (False, True):
            position = solved.rows("bolts", bolt, held=held)
            state = np.where(position == PICKED, energised, rest)
            if drawn >= 0:
                back = solved.rows("flags", drawn, held=held)
                state = np.where(back, LockState.UNLOCKED, LockState.LOCKED)
            state = np.where(position == MARGINAL, LockState.MARGINAL, state)
            flips = solved.rows("flips", flag, held=held)
            moments.append(np.where(flips, LockState.CHATTER, state).astype(np.int8))
        out.append(np.stack(moments, axis=2))
    return np.stack(out)


class Cases:
    """The situations of a run by stage: where each event's columns are."""

    def __init__(self, situations: Sequence[Situation]) -> None:
        self.situations = situations
        self.stages: dict[tuple[Power, Mode], dict[Event, list[int]]] = {}
        for n, s in enumerate(situations):
            self.stages.setdefault((s.power, s.mode), {}).setdefault(s.event, []).append(n)
        usual = self.stages[Power.MAINS, Mode.NORMAL]
        self.daily = sorted(n for event in DAILY for n in usual.get(event, []))
        self.release = usual.get(Event.RELEASE, [])

    def events(self) -> Iterator[tuple[tuple[Power, Mode], Mapping[Event, list[int]]]]:
        """Each stage in which somebody may want to leave."""
        for stage, events in self.stages.items():
            if Event.NOBODY in events and Event.EXIT in events:
                yield stage, events


def _frees(states: States, facts: DoorFacts, column: int, moment: int, mechanical: bool) -> Bools:
    free = np.ones(states.shape[1], dtype=bool)
    for n, lever in enumerate(facts.lever_frees):
        if not (mechanical and lever):
            free &= states[n, :, column, moment] == LockState.UNLOCKED
    return free


def ways_out(states: States, facts: DoorFacts, cases: Cases) -> NDArray[np.int8]:
    """For each member and stage: free, only the emergency release, or nothing."""
    out = []
    for stage, events in cases.events():
        nobody = events[Event.NOBODY][0]
        free = _frees(states, facts, nobody, 1, False)
        if facts.mechanical:
            free |= _frees(states, facts, nobody, 1, True)
        for column in events.get(Event.EXIT, []):
            free |= _frees(states, facts, column, 0, facts.mechanical)
        dead = np.ones_like(free)
        if stage == (Power.MAINS, Mode.NORMAL) and Event.DEAD in events:
            dead = free & False
            for column in events[Event.DEAD]:
                dead |= _frees(states, facts, column, 0, facts.mechanical)
        released = np.zeros_like(free)
        for column in events.get(Event.RELEASE, cases.release):
            released |= _frees(states, facts, column, 0, facts.mechanical)
        left = np.where(released, RELEASE_ONLY, NOTHING)
        out.append(np.where(free, FREE, left))
        if stage == (Power.MAINS, Mode.NORMAL):
            out.append(np.where(dead, FREE, left))
    return np.stack(out, axis=1).astype(np.int8)


def stage_names(cases: Cases) -> list[str]:
    """The situation that each row of ``ways_out`` speaks of."""
    names = []
    for (power, mode), _ in cases.events():
        names.append(f"{power}/{mode}/{Event.EXIT}")
        if (power, mode) == (Power.MAINS, Mode.NORMAL):
            names.append(f"{power}/{mode}/{Event.DEAD}")
    return names


@dataclass(frozen=True, slots=True)
class Judged:
    """For each member its worst effect, the situation, and every effect (members x effects)."""

    worst: list[Effect]
    situation: list[str]
    effects: Bools
    daily: Bools
    """Whether daily use differs."""

    def also(self, member: int) -> tuple[Effect, ...]:
        """A member's effects besides its worst."""
        return tuple(
            e
            for n, e in enumerate(EFFECTS)
            if self.effects[member, n] and e is not self.worst[member]
        )


EFFECTS = tuple(Effect)


def judge(
    states: States,
    seen: Seen,
    sound: States,
    sound_seen: Seen,
    facts: DoorFacts,
    cases: Cases,
) -> Judged:
    """Members with faults against the sound door (one member)."""
    members = states.shape[1]
    ways, sound_ways = ways_out(states, facts, cases), ways_out(sound, facts, cases)
    traps = (ways == NOTHING) & (sound_ways != NOTHING)
    blocks = (ways == RELEASE_ONLY) & (sound_ways == FREE)
    locked = (sound == LockState.LOCKED).any(axis=0)
    open_ = (states != LockState.LOCKED).all(axis=0) & locked
    nobody = [n for n, s in enumerate(cases.situations) if s.event is Event.NOBODY]
    opens = open_[:, nobody].any(axis=2)
    card = [
        n
        for n, s in enumerate(cases.situations)
        if s.event is Event.CREDENTIAL and s.power is not Power.ALL_LOST
    ]
    unlocked = (states[:, :, card, 0] == LockState.UNLOCKED).all(axis=0)
    works = (sound[:, :, card, 0] == LockState.UNLOCKED).all(axis=0)
    stops = works & ~unlocked
    alarm = [
        n for n, s in enumerate(cases.situations)
        if s.mode in (Mode.FIRE_ALARM, Mode.PANEL_LOST) and s.event is Event.NOBODY
    ]  # fmt: skip
    latch = np.zeros((members, len(alarm)), dtype=bool)
    if facts.latch_stays:
        for n, lever in enumerate(facts.lever_frees):
            if lever:
                was = sound[n, :, alarm, 1].T == LockState.LOCKED
                latch |= was & (states[n][:, alarm, 1] != LockState.LOCKED)
    differs = (states != sound).any(axis=(0, 3))
    daily = differs[:, cases.daily].any(axis=1)
    daily |= (seen != sound_seen)[:, :, cases.daily].any(axis=(0, 2))
    anywhere = differs.any(axis=1)
    found = {
        Effect.TRAPS: traps.any(axis=1),
        Effect.BLOCKS: blocks.any(axis=1),
        Effect.LATCH: latch.any(axis=1),
        Effect.OPENS: opens.any(axis=1),
        Effect.STOPS: stops.any(axis=1),
        Effect.SILENT: anywhere & ~daily,
        Effect.SHOWS: daily,
    }
    where = {
        Effect.TRAPS: (traps, stage_names(cases)),
        Effect.BLOCKS: (blocks, stage_names(cases)),
        Effect.LATCH: (latch, [cases.situations[n].key for n in alarm]),
        Effect.OPENS: (opens, [cases.situations[n].key for n in nobody]),
        Effect.STOPS: (stops, [cases.situations[n].key for n in card]),
        Effect.SILENT: (differs, [s.key for s in cases.situations]),
        Effect.SHOWS: (differs, [s.key for s in cases.situations]),
    }
    effects = np.stack([found.get(e, np.zeros(members, dtype=bool)) for e in EFFECTS], axis=1)
    worst, situation = [], []
    for m in range(members):
        effect = next((e for n, e in enumerate(EFFECTS) if effects[m, n]), Effect.NOTHING)
        worst.append(effect)
        rows = where.get(effect)
        key = ""
        if rows is not None and rows[0][m].any():
            key = rows[1][int(np.argmax(rows[0][m]))]
        situation.append(key)
    return Judged(worst, situation, effects, daily)
