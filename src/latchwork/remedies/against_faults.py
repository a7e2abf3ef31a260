"""Changes that take away what single faults or attacks do, tried on the door before they are told.

A Change is told only where a consequence goes and no worse one comes, nor a finding at "weak" or
worse, and nothing goes that the client asked for. New parts bring faults of their own: they are
run with all the others.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from latchwork.faults import (
    TOLD,
    AttackResult,
    Effect,
    Fault,
    FaultReport,
    doors_that_meet,
    fault_names,
    faults,
)
from latchwork.faults.spread import Cores, Over, Tell
from latchwork.findings import Finding, Severity
from latchwork.job.changes import Change
from latchwork.remedies.bench import Bench, Edited, Laid
from latchwork.remedies.candidate import NOTHING, Move
from latchwork.remedies.candidate_run import NEAR, CandidateRun, Worst, rank_of, worst_at
from latchwork.remedies.kept import gives_up
from latchwork.remedies.moves import devices, facts, locks, supplies, wiring
from latchwork.remedies.scene import Scene
from latchwork.wiring import Wiring

MOST_TRIED = 32
"""Candidates tried for one effect at one door."""
_WIRED = (wiring.put_right, wiring.standard_leg, wiring.other_contact)
_LEAVING = (
    *_WIRED,
    devices.own_release,
    devices.secure_side,
    devices.other_controller,
    devices.bar_switch,
    devices.exit_device,
    devices.reader_outside,
    locks.lever_lock,
    devices.fire_contact,
)
WORTH = 0.1
"""A change is told that takes away at least this part of an effect (common practice, no source)."""
SLOW: tuple[Move, ...] = (supplies.tells_of_its_fault,)
"""Against what nobody notices for hours, where nothing else takes it away: one of many at each of
the doors, it is worth it for all of them."""
MOVES: Mapping[Effect, tuple[Move, ...]] = {
    Effect.TRAPS: _LEAVING,
    Effect.BLOCKS: _LEAVING,
    Effect.INWARD: (*_WIRED, devices.fire_contact, devices.release_outside, locks.other_lock),
    Effect.HOLDS: (*_WIRED, devices.fire_contact, devices.own_release, locks.other_lock),
    Effect.RELEASE: (*_WIRED, devices.own_release),
    Effect.LATCH: (*_WIRED, devices.fire_contact, locks.other_lock),
    Effect.OPENS: (
        *_WIRED,
        devices.secure_side,
        devices.reader_outside,
        supplies.bigger_battery,
        devices.other_controller,
        locks.other_lock,
    ),
}
AGAINST_ATTACKS: tuple[Move, ...] = (
    *_WIRED,
    devices.secure_side,
    devices.reader_outside,
    devices.set_inside,
    facts.unseen,
    facts.isolator_inside,
    devices.other_controller,
    devices.exit_device,
)


@dataclass(frozen=True, slots=True)
class Comes:
    """What faults do at its door or at another one with a change, and did not before: of less harm
    than what it takes away, but its price."""

    door: str
    effect: Effect
    faults: tuple[Fault, ...]


@dataclass(frozen=True, slots=True)
class FaultRemedy:
    """Changes that take away what ``faults`` (or attacks, by name) did at one door. ``had`` and
    ``left``: how many of that effect there are without them and with them, those that new parts
    bring included. ``comes``: what else comes, at the door and at others."""

    door: str
    effect: Effect | None
    """None: attacks."""
    faults: tuple[str, ...]
    had: int
    left: int
    comes: tuple[Comes, ...]
    changes: tuple[Change, ...]
    text: str
    new_parts: tuple[str, ...]
    on_site: bool
    takes_over: bool


def fault_remedies(
    scene: Scene, report: FaultReport, tell: Tell | None = None, over: Over | None = None
) -> list[FaultRemedy]:
    """Remedies door by door, for the grave effects of single faults, then for attacks: the fewest
    edits, of these the fewest new parts, until no fault is left that has one. ``over``: where they
    are tried; this machine's cores where nothing is said."""
    slow = frozenset(name for name, fault in report.faults.items() if fault.till_then)
    opened = {a.attack.door for a in (report.attacks.opened if report.attacks else ())}
    suffers = {
        door: frozenset(c.effect for c in report.consequences if c.door == door) & MOVES.keys()
        for door in report.doors
    }
    doors = [door for door in report.doors if suffers[door] or door in opened]
    if not doors:
        return []
    were = worst_at(scene.wiring, doors, NEAR)
    alone = len(doors) == 1
    lots = [_Lot(scene, door, suffers[door], door in opened, slow, were, alone) for door in doors]
    found: dict[int, list[FaultRemedy]] = {}
    with over or Cores() as way:
        way.run(_tried, lots, found.__setitem__, tell)
    return [remedy for n in range(len(lots)) for remedy in found[n]]


@dataclass(frozen=True, slots=True)
class _Lot:
    """A door at which changes are tried against the effects that it ``suffers``, and against
    attacks where it was ``opened``. ``slow``: faults that nobody notices for hours; ``were``: the
    worst effect of each fault at the doors of all lots, with nothing changed: what is tried is run
    as near. ``alone``: no other lot is worked at beside it."""

    scene: Scene
    door: str
    suffers: frozenset[Effect]
    opened: bool
    slow: frozenset[str]
    were: Mapping[str, Worst]
    alone: bool


def _tried(lot: _Lot, tell: Tell) -> list[FaultRemedy]:
    bench = _Bench(lot, tell)
    found = [r for effect in MOVES if effect in lot.suffers for r in bench.against(effect)]
    return [*found, *(bench.against_attacks() if lot.opened else ())]


class _Bench:
    """Tries candidates at one door; what came of one is kept, as it may help against several
    effects."""

    def __init__(self, lot: _Lot, tell: Tell) -> None:
        self._scene, self._door, self._tell, self._slow = lot.scene, lot.door, tell, lot.slow
        self._bench = Bench(lot.scene)
        group = lot.scene.site.group_of(lot.door)
        self._near = frozenset(group.doors if group else (lot.door,))
        self._known, self._were = lot.were, lot.were[lot.door]
        self._met = doors_that_meet(lot.scene.wiring, lot.door)
        self._ask = NEAR if lot.alone else replace(NEAR, processes=1)
        ranks = {rank_of(effect) for effect in lot.suffers}
        self._harm = frozenset(fault for fault, worst in self._were.items() if worst in ranks)
        self._runs: dict[str, CandidateRun] = {}
        self._laid: dict[str, Laid | None] = {}

    @cached_property
    def _others(self) -> Mapping[str, Worst]:
        """What each fault did at the other doors of the own cell."""
        fresh = [door for door in self._met if door not in self._known]
        return {**self._known, **worst_at(self._scene.wiring, fresh, self._ask)}

    @cached_property
    def _afar(self) -> Mapping[str, Worst]:
        """What faults of the own cell did at the supply's other doors."""
        doors = sorted(self._near.difference(self._met))
        names = fault_names(self._scene.wiring, self._door) if doors else frozenset()
        return worst_at(self._scene.wiring, doors, replace(self._ask, near=False, only=names))

    def against(self, effect: Effect) -> Iterator[FaultRemedy]:
        """What takes away one effect of single faults; not what hardly does."""
        rank, its = self._were, rank_of(effect)
        waiting = {fault for fault, worst in rank.items() if worst == its}
        had = frozenset(waiting)
        for laid, worth in self._candidates(effect, waiting):
            if not waiting:
                return
            run = self._run(laid)
            least = max(1, worth * len(had))
            if not _helps(run.at_best, waiting, had, its, least) or not run.sound:
                continue
            gone = _helps(run.still, waiting, had, its, least)
            if not gone or (effect is Effect.INWARD and run.lets_in):
                continue
            after = run.still | run.own
            left = sum(worst == its for worst in after.values())
            if len(had) - left < least:
                continue
            if _worse(after, rank, its - 1) or _spoils(run.others, self._others, its):
                continue
            if _spoils(run.afar, self._afar, its - 1):
                continue
            waiting -= gone
            comes = self._comes(effect, run, {self._door: after, **run.others, **run.afar})
            yield self._remedy(laid, effect, sorted(gone), len(had), left, comes)
            if not waiting:
                return

    def _candidates(self, effect: Effect, waiting: set[str]) -> Iterator[tuple[Laid, float]]:
        """Candidates, and how much of the effect each has to take away; ``waiting``: what those
        before have left."""
        for laid in self._ordered(MOVES[effect], Severity.DANGER):
            yield laid, WORTH
        if waiting & self._slow:
            for laid in self._ordered(SLOW, Severity.DANGER):
                yield laid, 0.0

    def _comes(
        self, effect: Effect | None, run: CandidateRun, every: Mapping[str, Mapping[str, int]]
    ) -> Iterator[Comes]:
        """What comes at the door and at others, the worst first; as much of the ``effect`` itself
        as comes at the door is counted in what is left of it."""
        nothing = rank_of(Effect.NOTHING)
        for door, now in every.items():
            own = door == self._door
            afar = door in run.afar
            were = self._were if own else (self._afar if afar else self._others).get(door, {})
            for effect_there in TOLD:
                its = rank_of(effect_there)
                if own and effect is not None and its <= rank_of(effect):
                    continue
                names = [f for f, r in now.items() if r == its and r < were.get(f, nothing)]
                if names:
                    yield Comes(door, effect_there, tuple(run.named[f] for f in sorted(names)))

    def against_attacks(self) -> Iterator[FaultRemedy]:
        """What takes away attacks by the units of the door's own cell; what a unit elsewhere does
        to it is mended there. A reader in the place of another unit is tried as that was."""
        before = self._attacked(self._scene.wiring)
        waiting = set(before)
        for laid in self._ordered(AGAINST_ATTACKS, Severity.INSECURE):
            if not waiting:
                return
            run = self._run(laid)
            if not run.sound:
                continue
            after = self._attacked(laid.wiring)
            gone = waiting - after
            if not gone or len(before) - len(after) < max(1, WORTH * len(before)):
                continue
            opens = rank_of(Effect.OPENS)
            if _worse(run.own, self._were, opens - 1) or _spoils(run.others, self._others, opens):
                continue
            if _spoils(run.afar, self._afar, opens - 1):
                continue
            waiting -= gone
            comes = self._comes(None, run, {self._door: run.own, **run.others, **run.afar})
            yield self._remedy(laid, None, sorted(gone), len(before), len(after), comes)

    def _attacked(self, wiring: Wiring) -> set[str]:
        """What opens the door from outside."""
        ask = replace(self._ask, attacks=True, only=frozenset())
        report = faults(wiring, [self._door], ask).attacks
        return {_name(a) for a in report.opened} if report else set()

    def _ordered(self, moves: tuple[Move, ...], severity: Severity) -> Iterator[Laid]:
        """Candidates that can be made, each text once, the smallest edits first."""
        about = Finding("single-fault", self._door, severity, "", {}, "model")
        by_size: dict[int, dict[str, Edited]] = {}
        seen: set[str] = set()
        for move in moves:
            for candidate in move(self._scene, about):
                edited = self._bench.edit(candidate) if candidate != NOTHING else None
                if edited is not None and edited.text not in seen:
                    seen.add(edited.text)
                    by_size.setdefault(len(edited.changes), {})[edited.text] = edited
        # They are read only when they are asked for, as a small one soon helps.
        number = 0
        for size in sorted(by_size):
            if number == MOST_TRIED:
                return
            read = [laid for each in by_size[size].values() if (laid := self._read(each))]
            for laid in sorted(read, key=lambda each: len(each.new_parts))[: MOST_TRIED - number]:
                self._tell("remedies", number, min(MOST_TRIED, len(seen)))
                number += 1
                yield laid

    def _read(self, edited: Edited) -> Laid | None:
        """A candidate laid on the text, if it makes a job that gives nothing up; what came of a
        text is kept, as several effects ask for it."""
        if edited.text not in self._laid:
            laid = self._bench.read(edited)
            kept = laid is not None and not gives_up(self._scene.wiring, laid.wiring)
            self._laid[edited.text] = laid if kept else None
        known = self._laid[edited.text]
        if known is None:
            return None
        return replace(known, candidate=edited.candidate, changes=edited.changes)

    def _run(self, laid: Laid) -> CandidateRun:
        text = laid.changed.text
        if text not in self._runs:
            self._runs[text] = CandidateRun(
                self._bench, laid, self._door, self._met, self._near, self._harm, self._ask
            )
        return self._runs[text]

    def _remedy(
        self,
        laid: Laid,
        effect: Effect | None,
        gone: list[str],
        had: int,
        left: int,
        comes: Iterator[Comes],
    ) -> FaultRemedy:
        return FaultRemedy(
            self._door,
            effect,
            tuple(gone),
            had,
            left,
            tuple(comes),
            laid.changes,
            laid.changed.text,
            laid.new_parts,
            laid.candidate.on_site,
            laid.candidate.takes_over,
        )


def _spoils(now: Mapping[str, Worst], were: Mapping[str, Worst], most: int) -> bool:
    """Whether at another door a fault does worse than it did, and as bad as ``most``."""
    return any(_worse(now[door], were.get(door, {}), most) for door in now)


def _name(opened: AttackResult) -> str:
    return f"{opened.attack.unit} {opened.attack.name}".strip()


def _helps(
    now: Worst, waiting: Collection[str], had: Collection[str], its: int, least: float
) -> set[str]:
    """The faults of those ``waiting`` that do no such harm any more; none where so many of all that
    ``had`` it are not gone."""
    if sum(now.get(fault) != its for fault in had) < least:
        return set()
    return {f for f in waiting if now.get(f, rank_of(Effect.NOTHING)) > its}


def _worse(now: Mapping[str, int], were: Mapping[str, int], most: int) -> bool:
    """Whether a fault does worse than it did, and as bad as ``most``."""
    nothing = rank_of(Effect.NOTHING)
    return any(worst <= most and worst < were.get(f, nothing) for f, worst in now.items())
