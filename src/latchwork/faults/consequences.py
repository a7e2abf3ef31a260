"""What faults do to a door: its 28 situations with the fault, against the same without."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.outcomes import LockState
from latchwork.behaviour.situations import Event, Mode, Power
from latchwork.faults.door_facts import Cases, DoorFacts
from latchwork.faults.model import Effect

Bools = NDArray[np.bool_]
States = NDArray[np.int8]
"""Locks x members x situations x moments."""
Seen = NDArray[np.bool_]
"""Flags that people see x members x situations."""

FREE, RELEASE_ONLY, NOTHING = 0, 1, 2
EFFECTS = tuple(Effect)


def _frees(states: States, facts: DoorFacts, column: int, moment: int, mechanical: bool) -> Bools:
    free = np.ones(states.shape[1], dtype=bool)
    for n, lever in enumerate(facts.lever_frees):
        if facts.ways[n] and not (mechanical and lever):
            free &= states[n, :, column, moment] == LockState.UNLOCKED
    return free


def ways_out(states: States, facts: DoorFacts, cases: Cases) -> NDArray[np.int8]:
    """For each member and stage: free, only the emergency release, or nothing. What those inside do
    not reach is no way out.

    On mains a second row asks the same with the outside unit dead. A unit that dies may lock a
    door that stood unlocked: then what was free before does not count.
    """
    out = []
    for stage, events in cases.leaving():
        before = _frees(states, facts, events[Event.NOBODY][0], 1, facts.mechanical)
        free = before.copy()
        for column in cases.reached(events[Event.EXIT], facts.beyond):
            free |= _frees(states, facts, column, 0, facts.mechanical)
        released = np.zeros_like(free)
        for column in events.get(Event.RELEASE, cases.release):
            if "release" not in facts.beyond:
                released |= _frees(states, facts, column, 0, facts.mechanical)
        left = np.where(released, RELEASE_ONLY, NOTHING)
        out.append(np.where(free, FREE, left))
        if stage == (Power.MAINS, Mode.NORMAL):
            dead = events.get(Event.DEAD, events[Event.EXIT])
            stays = before.copy()
            asked = np.zeros_like(free)
            for column in dead:
                stays &= _frees(states, facts, column, 1, facts.mechanical)
            for column in cases.reached(dead, facts.beyond):
                asked |= _frees(states, facts, column, 0, facts.mechanical)
            out.append(np.where(stays | asked, FREE, left))
    return np.stack(out, axis=1).astype(np.int8)


@dataclass(frozen=True, slots=True)
class Judged:
    """For each member its effects (members x ``EFFECTS``) with the column that each shows in, its
    worst, and the column and moment that shows in; whether daily use differs."""

    effects: Bools
    columns: NDArray[np.intp]
    worst: NDArray[np.intp]
    column: NDArray[np.intp]
    moment: NDArray[np.intp]
    daily: Bools
    differs: Bools
    """Members x situations: whether a lock does otherwise that is surely locked or unlocked without
    the fault."""

    def part(self, some: slice) -> Judged:
        """The same of some members."""
        return Judged(*(getattr(self, item.name)[some] for item in fields(self)))

    def effect(self, member: int) -> Effect:
        """A member's worst effect."""
        return EFFECTS[int(self.worst[member])]

    def also(self, member: int) -> tuple[Effect, ...]:
        """A member's effects besides its worst."""
        worst = self.worst[member]
        return tuple(e for n, e in enumerate(EFFECTS) if self.effects[member, n] and n != worst)


Shown = tuple[Bools, NDArray[np.intp], int]
"""Members x rows: where an effect shows; the column of each row; the moment."""


def judge(
    states: States,
    seen: Seen,
    sound: States,
    sound_seen: Seen,
    whose: NDArray[np.intp],
    facts: DoorFacts,
    cases: Cases,
) -> Judged:
    """Members with faults against sound doors; ``whose``: for each member which of them it is."""
    members = states.shape[1]
    changed = states != sound[:, whose]
    told = [_noticed(each[:, :, cases.daily]) for each in (states, sound)]
    daily = _apart(told[0], told[1][whose], cases).any(axis=(1, 2))
    differs = (changed & certain(sound)[:, whose]).any(axis=0)
    daily |= (seen[:, :, cases.daily] != sound_seen[:, whose][:, :, cases.daily]).any(axis=(0, 2))
    stops = _stops(states, sound, whose, facts, cases)
    if facts.leaf_each:
        # Whoever asks for a leaf that opens no more notices, be the other one always held.
        daily |= stops[0][:, np.isin(stops[1], cases.daily)].any(axis=1)
    every = np.arange(differs.shape[1])
    anywhere = [(differs[:, :, moment], every, moment) for moment in (1, 0)]
    shown: dict[Effect, list[Shown]] = {
        **_leaving(states, sound, whose, facts, cases),
        Effect.INWARD: _inward(states, sound, whose, facts, cases),
        Effect.HOLDS: _holds(states, sound, whose, facts, cases),
        Effect.RELEASE: _no_release(states, sound, whose, facts, cases),
        Effect.LATCH: [_latch(states, sound, whose, facts, cases)],
        Effect.OPENS: _opens(states, sound, whose, facts, cases),
        Effect.STOPS: [stops],
        Effect.SILENT: [(where & ~daily[:, np.newaxis], at, m) for where, at, m in anywhere],
        Effect.SHOWS: [(where & daily[:, np.newaxis], at, m) for where, at, m in anywhere],
    }
    effects = np.zeros((members, len(EFFECTS)), dtype=bool)
    for n, effect in enumerate(EFFECTS):
        for where, _, _ in shown.get(effect, ()):
            effects[:, n] |= where.any(axis=1)
    effects[:, EFFECTS.index(Effect.SHOWS)] |= daily
    effects[:, -1] = ~effects[:, :-1].any(axis=1)
    worst, each = effects.argmax(axis=1), np.arange(members)
    columns, moments = np.zeros(effects.shape, dtype=np.intp), np.ones(effects.shape, dtype=np.intp)
    for n, effect in enumerate(EFFECTS):
        for where, at, when in reversed(shown.get(effect, ())):
            hit = where.any(axis=1)
            if hit.any():
                columns[hit, n] = at[where[hit].argmax(axis=1)]
                moments[hit, n] = when
    column, moment = columns[each, worst], moments[each, worst]
    return Judged(effects, columns, worst, column, moment, daily, differs.any(axis=2))


def _noticed(states: States) -> NDArray[np.int8]:
    """What people notice of a door's locks, members x situations x moments: what all of them
    together do, and that one chatters. One of two that lets go is not noticed while the other
    holds."""
    unlocked = (states == LockState.UNLOCKED).all(axis=0)
    open_or_unsure = np.where(unlocked, LockState.UNLOCKED, LockState.MARGINAL)
    together = np.where((states == LockState.LOCKED).any(axis=0), LockState.LOCKED, open_or_unsure)
    restless = (states == LockState.CHATTER).any(axis=0)
    return np.where(restless, LockState.CHATTER, together).astype(np.int8)


def _apart(told: NDArray[np.int8], sound: NDArray[np.int8], cases: Cases) -> Bools:
    """Where what people notice in daily use differs. Nobody holds a button past the relay time: a
    door that opens at once as ever and then locks in spite of it shows to nobody."""
    apart: Bools = told != sound
    asks = [n for n, c in enumerate(cases.daily) if cases.situations[c].event is not Event.NOBODY]
    lets = (told[:, asks, 0] == LockState.UNLOCKED) & (sound[:, asks] == LockState.UNLOCKED).all(2)
    apart[:, asks, 1] &= ~(lets & (told[:, asks, 1] == LockState.LOCKED))
    return apart


def certain(sound: States) -> Bools:
    """Where a lock is surely locked or unlocked without any fault: what is marginal or chatters has
    nothing to be held against."""
    sure: Bools = (sound == LockState.LOCKED) | (sound == LockState.UNLOCKED)
    return sure


def _leaving(
    states: States, sound: States, whose: NDArray[np.intp], facts: DoorFacts, cases: Cases
) -> dict[Effect, list[Shown]]:
    """Nobody is trapped at a door that nobody leaves by: a button there that fails stops."""
    if not facts.people_leave:
        return {}
    ways, before = ways_out(states, facts, cases), ways_out(sound, facts, cases)[whose]
    columns = cases.ways(facts.beyond)
    return {
        Effect.TRAPS: [((ways == NOTHING) & (before != NOTHING), columns, 0)],
        Effect.BLOCKS: [((ways == RELEASE_ONLY) & (before == FREE), columns, 0)],
    }


def _inward(
    states: States, sound: States, whose: NDArray[np.intp], facts: DoorFacts, cases: Cases
) -> list[Shown]:
    """Nothing lets people in any more who escape inward: the door is not unlocked with nobody
    about, nor by what is within their reach. No lever or bar is."""
    shown: list[Shown] = []
    ways = np.flatnonzero(facts.ways)
    for nobody, asks in cases.inward(facts.reached) if facts.inward else ():
        now, before = (
            (s[ways, :, nobody, 1] == LockState.UNLOCKED).all(axis=0) for s in (states, sound)
        )
        reach = [
            (s[ways][:, :, asks, 0] == LockState.UNLOCKED).all(axis=0) for s in (states, sound)
        ]
        shut = ~(now | reach[0].any(axis=1))
        shown.append(((shut & before[whose])[:, None], np.array([nobody], dtype=np.intp), 1))
        asked = (shut & ~before[whose])[:, None] & reach[1][whose]
        shown.append((asked, np.array(asks, dtype=np.intp), 0))
    return shown


def _latch(
    states: States, sound: States, whose: NDArray[np.intp], facts: DoorFacts, cases: Cases
) -> Shown:
    """On a fire-rated door a keeper or bolt drawn back in a fire, which held before."""
    freed = np.zeros((states.shape[1], len(cases.alarm)), dtype=bool)
    if facts.latch_stays:
        for n, lever in enumerate(facts.lever_frees):
            if lever:
                was = sound[n][:, cases.alarm, 1] == LockState.LOCKED
                freed |= was[whose] & (states[n][:, cases.alarm, 1] != LockState.LOCKED)
    return freed, np.array(cases.alarm, dtype=np.intp), 1


def _holds(
    states: States, sound: States, whose: NDArray[np.intp], facts: DoorFacts, cases: Cases
) -> list[Shown]:
    """A lock that a fire alarm unlocked, and nothing else, is not surely unlocked in one. A latch
    that must stay thrown is nothing to miss; a magnet beside it is no latch."""
    columns = [n for n in cases.alarm if cases.situations[n].mode is Mode.FIRE_ALARM]
    usual = [cases.stages[cases.situations[n].power, Mode.NORMAL] for n in columns]
    every = [k for k in _sets(facts) if not facts.latch_stays or not _latches(facts, k)]
    return [_kept_locked(states[k], sound[k], whose, columns, usual, 1) for k in every]


def _no_release(
    states: States, sound: States, whose: NDArray[np.intp], facts: DoorFacts, cases: Cases
) -> list[Shown]:
    """A lock that the emergency release unlocked is not surely unlocked by it."""
    stages = [its for its in cases.stages.values() if Event.RELEASE in its]
    columns = [column for its in stages for column in its[Event.RELEASE]]
    usual = [its for its in stages for _ in its[Event.RELEASE]]
    every = _sets(facts)
    return [_kept_locked(states[k], sound[k], whose, columns, usual, 0) for k in every]


def _sets(facts: DoorFacts) -> list[list[int]]:
    """All locks that people pass by, then those that no lever frees, where these are others: a
    strike beside a magnet stays locked, and people leave by its lever once the magnet lets go."""
    every = [n for n, way in enumerate(facts.ways) if way]
    held = [n for n in every if not facts.lever_frees[n]]
    return [every, held] if facts.mechanical and held and held != every else [every]


def _latches(facts: DoorFacts, some: Sequence[int]) -> bool:
    """Whether one of some locks is what keeps the latch thrown."""
    return any(facts.lever_frees[n] for n in some)


def _kept_locked(
    states: States,
    sound: States,
    whose: NDArray[np.intp],
    columns: Sequence[int],
    usual: Sequence[Mapping[Event, Sequence[int]]],
    moment: int,
) -> Shown:
    """Where the sound door's locks are unlocked in ``columns``, not all of them where nobody does
    anything in the ``usual`` stage of each, and one of them is not with the fault."""
    nobody = [its[Event.NOBODY][0] for its in usual]
    freed = (sound[:, :, columns, moment] == LockState.UNLOCKED).all(axis=0)
    freed &= (sound[:, :, nobody, 1] != LockState.UNLOCKED).any(axis=0)
    still = (states[:, :, columns, moment] != LockState.UNLOCKED).any(axis=0)
    return freed[whose] & still, np.array(columns, dtype=np.intp), moment


def gives_way(states: States, facts: DoorFacts) -> Bools:
    """Where no lock is surely locked, or, with a leaf of its own for each, not every one is."""
    loose = states != LockState.LOCKED
    open_: Bools = loose.any(axis=0) if facts.leaf_each else loose.all(axis=0)
    return open_


def _opens(
    states: States, sound: States, whose: NDArray[np.intp], facts: DoorFacts, cases: Cases
) -> list[Shown]:
    """Nobody asks, and the door gives way where it did not."""
    columns = np.array(cases.nobody, dtype=np.intp)
    locked = ~gives_way(sound, facts)[:, columns]
    opens = gives_way(states, facts)[:, columns] & locked[whose]
    return [(opens[:, :, moment], columns, moment) for moment in (1, 0)]


def _stops(
    states: States, sound: States, whose: NDArray[np.intp], facts: DoorFacts, cases: Cases
) -> Shown:
    """A card or code, or what asks to leave, unlocks no more: the door, or a leaf that has a lock
    of its own."""
    columns = np.array(cases.asked, dtype=np.intp)
    works, unlocked = (s[:, :, columns, 0] == LockState.UNLOCKED for s in (sound, states))
    if facts.leaf_each:
        return (works[:, whose] & ~unlocked).any(axis=0), columns, 0
    return works.all(axis=0)[whose] & ~unlocked.all(axis=0), columns, 0
