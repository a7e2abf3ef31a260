"""A task of single faults, solved and judged."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from latchwork.behaviour import new_work
from latchwork.behaviour.outcomes import LockState
from latchwork.faults.beyond import Doors, concerned, felt
from latchwork.faults.consequences import (
    EFFECTS,
    Bools,
    Judged,
    States,
    certain,
    judge,
)
from latchwork.faults.door_facts import Cases, DoorFacts
from latchwork.faults.looks import Looks
from latchwork.faults.model import (
    TOLD,
    UNTOLD,
    Consequence,
    Counts,
    Effect,
    Fault,
    FaultKind,
    Shown,
    WhatIf,
    Why,
)
from latchwork.faults.prepare import Prepared
from latchwork.faults.reasons import NAMES, Named, named, readings, whys
from latchwork.faults.sags import NOTHING, Sags, sags, slack
from latchwork.faults.tasks import Share, Task

TOLD_AT = np.array([effect in TOLD for effect in EFFECTS])
LEAVING_AT = np.array([effect in (Effect.TRAPS, Effect.BLOCKS) for effect in EFFECTS])


@dataclass(frozen=True, slots=True)
class Came:
    """What came of a task. ``sags``: by how much faults pull their supply down, ``spare``: by how
    much it may sag before a sound door does otherwise, ``noticed``: those of these faults that show
    in daily use where they are; ``by_share``: doors and their part of ``counts``, work left out; of
    doors whose circuits meet: ``daily``, the faults that show in daily use at one of them;
    ``felt``, those that alter what others have in common with the doors they are at; ``heeds``, the
    others whose faults bear on what happens at a door."""

    consequences: tuple[Consequence, ...]
    counts: Counts
    what_ifs: tuple[WhatIf, ...]
    sags: tuple[tuple[tuple[str, ...], Sags], ...] = ()
    spare: tuple[tuple[str, Sags], ...] = ()
    by_share: tuple[tuple[str, Counts], ...] = ()
    daily: tuple[str, ...] = ()
    felt: tuple[str, ...] = ()
    heeds: tuple[tuple[str, Doors], ...] = ()
    noticed: tuple[str, ...] = ()


def run_task(task: Task) -> Came:
    """Solve and judge one task."""
    work = new_work()
    run = task.solve(work)
    ends = np.cumsum([len(share.faults) + 1 for share in task.shares]).tolist()
    rows = [slice(end - len(s.faults), end) for s, end in zip(task.shares, ends, strict=True)]
    looks = Looks(run)
    came = [
        _told(task, share, looks, r, found)
        for share, r, found in zip(task.shares, rows, _found(task, looks, rows), strict=True)
    ]
    spare = _spare(task, looks, rows)
    done = Counts(
        eliminations=work.eliminations,
        newton_steps=work.newton_steps,
        reductions=work.reductions,
    )
    return Came(
        tuple(c for each in came for c in each.consequences),
        sum((each.counts for each in came), done),
        tuple(w for each in came for w in each.what_ifs),
        tuple(some for each in came for some in each.sags),
        tuple(spare),
        tuple((task.door(s), each.counts) for s, each in zip(task.shares, came, strict=True)),
        tuple(name for each in came for name in each.daily),
        tuple(name for each in came for name in each.felt),
        tuple(some for each in came for some in each.heeds),
        tuple(name for each in came for name in each.noticed),
    )


@dataclass(frozen=True, slots=True)
class _Found:
    """A share judged: its members that are told of, and for each of them why."""

    judged: Judged
    told: list[int]
    reasons: list[Why]


def _found(task: Task, looks: Looks, rows: Sequence[slice]) -> list[_Found]:
    """Every share judged, those of like doors in one go: each in a go of its own took longer."""
    alike: dict[object, list[int]] = {}
    for n, share in enumerate(task.shares):
        item = task.cells[share.cell]
        facts, its = item.facts[share.door], item.cases[share.door].situations
        kinds = tuple((s.power, s.mode, s.event) for s in its)
        alike.setdefault((replace(facts, locks=()), kinds), []).append(n)
    out: dict[int, _Found] = {}
    for some in alike.values():
        share = task.shares[some[0]]
        item = task.cells[share.cell]
        facts, cases = item.facts[share.door], item.cases[share.door]
        sound = np.array([rows[n].start - 1 for n in some], dtype=np.intp)
        counts = [len(task.shares[n].faults) for n in some]
        ends = np.cumsum(counts).tolist()
        members = np.concatenate([np.arange(rows[n].start, rows[n].stop) for n in some])
        states, seen = looks.states(facts), looks.seen(facts)
        whose = np.repeat(np.arange(len(some)), counts)
        judged = judge(
            states[:, members],
            seen[:, members],
            states[:, sound],
            seen[:, sound],
            whose,
            facts,
            cases,
        )
        told = np.flatnonzero(TOLD_AT[judged.worst])
        columns, moments = judged.column[told], judged.moment[told]
        reasons = [UNTOLD] * len(told)
        if task.reasons:
            reasons = whys(
                looks,
                facts,
                [_named(task, looks, task.shares[n]) for n in some],
                whose[told].tolist(),
                looks.at(facts, sound[whose[told]], columns, moments),
                list(zip(members[told].tolist(), columns.tolist(), moments.tolist(), strict=True)),
                LEAVING_AT[judged.worst[told]],
            )
        cuts = np.searchsorted(told, [0, *ends]).tolist()
        for n, count, end, (a, b) in zip(some, counts, ends, pairwise(cuts), strict=True):
            its = (told[a:b] - (end - count)).tolist()
            out[n] = _Found(judged.part(slice(end - count, end)), its, reasons[a:b])
    return [out[n] for n in range(len(rows))]


def _spare(task: Task, looks: Looks, rows: Sequence[slice]) -> Iterator[tuple[str, Sags]]:
    """By how much the supply of sound doors may sag, where others hang on it."""
    alike: dict[object, list[int]] = {}
    for n, share in enumerate(task.shares):
        item = task.cells[share.cell]
        if share.first and item.neighbours and task.sags:
            alike.setdefault((item.hub, item.cases[share.door].keys), []).append(n)
    for some in alike.values():
        shares = [task.shares[n] for n in some]
        at = [task.cells[share.cell] for share in shares]
        cases = at[0].cases[shares[0].door]
        found = slack(looks, cases, [rows[n].start - 1 for n in some], at)
        yield from zip(map(task.door, shares), found, strict=True)


def _named(task: Task, looks: Looks, share: Share) -> Named:
    item = task.cells[share.cell]
    return named(looks, item.cell.network, item.contacts, item.facts[share.door].locks)


def _told(task: Task, share: Share, looks: Looks, rows: slice, found: _Found) -> Came:
    """What is told of a share."""
    item, d = task.cells[share.cell], share.door
    facts, cases, door = item.facts[d], item.cases[d], item.cell.doors[d]
    judged, told = found.judged, found.told
    states, sound = looks.states(facts)[:, rows], looks.states(facts)[:, rows.start - 1]
    faults = [item.cell.faults[n] for n in share.faults]
    quiet = judged.effects[:, EFFECTS.index(Effect.SILENT)]
    silent = [m for m in told if quiet[m] and task.reasons]
    # A meter is read where nobody does anything in the long run, elsewhere as it happens. What
    # shows first as a battery ends, or in what a lock may do and may not, may have its volts on
    # mains already.
    otherwise = (states != sound[:, np.newaxis]) & certain(sound)[:, np.newaxis]
    surely = otherwise & (states != LockState.MARGINAL)
    some = surely[:, silent].any(axis=0)
    shown = np.where(cases.idle, some[:, :, 1], some[:, :, 0])
    shown |= ~shown[:, cases.soon].any(axis=1)[:, np.newaxis]
    network = item.cell.network
    read = readings(
        looks,
        network,
        facts,
        cases,
        rows.start - 1,
        [rows.start + m for m in silent],
        shown,
        item.elsewhere,
        item.meters[d],
    )
    meter = dict(zip(silent, read, strict=True))
    volts, first = looks.volts(*item.hub), rows.start - 1
    shared = item.neighbours and task.sags
    pull, sag = sags(cases, volts[rows], volts[first]) if shared else ([], NOTHING)
    pulls = tuple(faults[m].id for m in pull)
    counted = slice(rows.start - 1, rows.stop) if share.first else rows
    return Came(
        tuple(
            Consequence(
                faults[m].id,
                door,
                judged.effect(m),
                cases.keys[judged.column[m]],
                judged.also(m),
                why,
                item.case,
                tuple(_shown(otherwise[:, m], surely[:, m], sound, facts, cases))
                if m in meter
                else (),
                meter.get(m),
            )
            for m, why in zip(told, found.reasons, strict=True)
        ),
        looks.counts(facts, cases, item.powered[d], counted),
        tuple(_what_ifs(item, d, faults, looks, rows)) if task.all_rows else (),
        ((pulls, sag),) if pulls else (),
        daily=tuple(_daily(faults, judged)) if item.beyond else (),
        felt=tuple(_felt(item, d, faults, looks, rows)) if task.spreads else (),
        heeds=tuple(_heeds(item, door, looks, rows)) if task.spreads else (),
        noticed=tuple(set(pulls).intersection(_daily(faults, judged)) if pulls else ()),
    )


def _felt(
    item: Prepared, d: int, faults: Sequence[Fault], looks: Looks, rows: slice
) -> Iterator[str]:
    """The faults that other doors of the cell feel than those they are at."""
    its = item.beyond
    if its is None:
        return
    door, sound = item.cell.doors[d], rows.start - 1
    by_home: dict[Doors, list[int]] = {}
    for n, fault in enumerate(faults):
        by_home.setdefault(item.home(fault), []).append(n)
    for home, some in by_home.items():
        others = felt(looks.solved, its, door, home, sound, rows.start + np.array(some))
        yield from (faults[some[n]].id for n in np.flatnonzero(others).tolist())


def _heeds(item: Prepared, door: str, looks: Looks, rows: slice) -> Iterator[tuple[str, Doors]]:
    if item.beyond:
        yield door, concerned(looks.solved, item.beyond, door, rows.start - 1)


def _daily(faults: Sequence[Fault], judged: Judged) -> Iterator[str]:
    """The faults that show in daily use; those of the site are in other circuits too."""
    for m in np.flatnonzero(judged.daily).tolist():
        if faults[m].kind is not FaultKind.SITE:
            yield faults[m].id


def _shown(
    otherwise: Bools, surely: Bools, sound: States, facts: DoorFacts, cases: Cases
) -> Iterator[Shown]:
    """Where a member does ``otherwise`` (locks x situations x moments), ``surely`` if it does
    anywhere in a situation, and at the moment at which a meter is read if it shows there."""
    for c in np.flatnonzero(otherwise.any(axis=(0, 2))).tolist():
        sure = bool(surely[:, c].any())
        differs = surely[:, c] if sure else otherwise[:, c]
        first = int(cases.idle[c])
        moment = first if differs[:, first].any() else 1 - first
        lock = int(differs[:, moment].argmax())
        state = NAMES[int(sound[lock, c, moment])]
        yield Shown(cases.keys[c], bool(moment), facts.locks[lock], state, sure)


def _what_ifs(
    item: Prepared, d: int, faults: Sequence[Fault], looks: Looks, rows: slice
) -> Iterator[WhatIf]:
    facts, cases = item.facts[d], item.cases[d]
    states, volts = looks.states(facts)[:, rows], looks.lock_volts(facts)[:, rows]
    solved, chatter = looks.rests[rows], looks.chatters[rows]
    floats = looks.floating(facts)[rows]
    for m, fault in enumerate(faults):
        for c, situation in enumerate(cases.situations):
            for n, lock in enumerate(facts.locks):
                begins, held = (LockState(int(s)).name.lower() for s in states[n, m, c])
                yield WhatIf(
                    item.cell.doors[d],
                    fault.id,
                    item.case,
                    situation.key,
                    lock,
                    begins,
                    held,
                    float(volts[n, m, c, 0]),
                    float(volts[n, m, c, 1]),
                    bool(solved[m, c]),
                    bool(chatter[m, c]),
                    bool(floats[m, c]),
                )
