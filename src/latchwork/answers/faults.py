"""The answer of ``faults``: what every single fault and every attack does, by door."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Sequence
from pathlib import Path
from typing import TypeVar

import msgspec

from latchwork.answers.beyond import beyond
from latchwork.answers.detail import UnknownName
from latchwork.answers.edits import line_difference
from latchwork.answers.faults_model import (
    AttackLine,
    ComesLine,
    CountsLine,
    CoverageLine,
    DoorFaults,
    FaultLine,
    FaultRemedyLine,
    FaultsAnswer,
    PairLine,
)
from latchwork.answers.faults_words import fault_text, shown_v, why_text
from latchwork.answers.service import ServiceLine, service_plan, untried
from latchwork.answers.service_batteries import BatteryLine, battery_lines, found_by
from latchwork.behaviour import Case, behave
from latchwork.behaviour.outcomes import LOCK_SLOTS
from latchwork.faults import (
    TOLD,
    Ask,
    AttackResult,
    Consequence,
    Counts,
    Coverage,
    FaultReport,
    Pair,
    WhatIf,
    faults_of,
)
from latchwork.faults.spread import Over, Tell
from latchwork.job import JobErrors, one_of
from latchwork.opening import Opened, open_job
from latchwork.parts import PartsErrors
from latchwork.remedies.against_faults import FaultRemedy, fault_remedies
from latchwork.remedies.scene import Scene
from latchwork.wiring import Wiring
from latchwork.words import say

FORM = 1
Thing = TypeVar("Thing")

Answered = tuple[FaultsAnswer, tuple[WhatIf, ...]]
"""What is answered of a job, and its what-ifs where they were asked for."""


def faults_job(
    path: Path,
    doors: Sequence[str] = (),
    ask: Ask | None = None,
    progress: Tell | None = None,
    *,
    remedies: bool = False,
) -> Answered:
    """A job's faults, attacks and silent pairs; with ``ask.all_rows`` every what-if, where these
    are not too many. Raises as ``open_job``, and UnknownName."""
    return faults_jobs([path], doors, ask, progress, remedies=remedies)[0]


def faults_jobs(
    paths: Sequence[Path],
    doors: Sequence[str] = (),
    ask: Ask | None = None,
    progress: Tell | None = None,
    *,
    remedies: bool = False,
    over: Over | None = None,
) -> list[Answered]:
    """Several jobs at once, each as ``faults_job`` tells it; ``over``: where they are worked out.

    Nothing is run before all can be used. Raises JobErrors and PartsErrors with the problems of
    all, UnknownName, and what ``over`` raises.
    """
    ask = ask or Ask(poles=True)
    opened = _opened(paths)
    for each in opened:
        known = each.wiring.plan
        for door in doors:
            if door not in known.doors:
                raise UnknownName("door", door, one_of(door, known.doors, known.door_called))
    sites = [(each.wiring, doors or None) for each in opened]
    reports = faults_of(sites, ask, progress, over)
    if ask.fault and not any(report.listed for report in reports):
        raise UnknownName("fault", ask.fault, say("faults.no such fault"))
    told = []
    for each, report in zip(opened, reports, strict=True):
        tried: list[FaultRemedy] = []
        text = each.folder.text
        batteries: tuple[BatteryLine, ...] = ()
        # Who asks for some faults alone does not ask for batteries.
        if remedies or not ask.fault:
            # Batteries are told at nominal figures.
            site = behave(each.wiring, tuple(Case) if remedies else (Case.NOMINAL,))
            if remedies:
                scene = Scene(text, str(each.folder.job_file), each.used, site)
                tried = fault_remedies(scene, report, _at_doors(progress), over)
            if not ask.fault:
                batteries = battery_lines(site, report)
        plan = service_plan(each.wiring, report, progress, over, found_by(batteries))
        answer = answered(
            each.wiring, report, plan, tried, text, batteries, doors=doors, asked=remedies
        )
        told.append((answer, report.what_ifs))
    return told


def _opened(paths: Sequence[Path]) -> list[Opened]:
    """Every job, or the problems of all that cannot be used."""
    found: list[Opened] = []
    wrong: list[JobErrors | PartsErrors] = []
    for path in paths:
        try:
            found.append(open_job(path))
        except (JobErrors, PartsErrors) as errors:
            wrong.append(errors)
    if len(wrong) == 1:
        raise wrong[0]
    if wrong:
        raise JobErrors(problem for errors in wrong for problem in errors.problems)
    return found


def _at_doors(progress: Tell | None) -> Tell | None:
    """What hears how far remedies are: each lot of them is a door."""
    if progress is None:
        return None
    return lambda what, done, total: progress(
        "remedies at doors" if what == "lots" else what, done, total
    )


def answered(
    wiring: Wiring,
    report: FaultReport,
    plan: Sequence[ServiceLine],
    tried: Sequence[FaultRemedy] = (),
    text: str = "",
    batteries: Sequence[BatteryLine] = (),
    *,
    doors: Collection[str] = (),
    asked: bool = False,
) -> FaultsAnswer:
    """A report and its service plan with their words. ``text`` is the job file's that ``tried``
    were laid on; ``doors``: those that were asked for, none: all."""
    job = wiring.plan.job
    told = _Told(wiring, report, tried, plan, text, found_by(batteries))
    bare = [d for d in doors or wiring.plan.doors if not wiring.plan.doors[d].devices]
    attacks, pairs = report.attacks, report.pairs
    return FaultsAnswer(
        FORM,
        job.file,
        job.site.name,
        report.listed,
        report.drained,
        # A door with nothing fitted is in no circuit and in no report; it is told of all the same.
        tuple(told.door(d) for d in wiring.plan.doors if d in report.doors or d in bare),
        tuple(batteries),
        report.unseen,
        _counts(report.counts),
        _counts(attacks.counts) if attacks else None,
        _counts(pairs.counts) if pairs else None,
        pairs.run if pairs else 0,
        pairs.of if pairs else 0,
        asked,
        say("caution"),
    )


def _counts(counts: Counts) -> CountsLine:
    return msgspec.convert(
        {name: getattr(counts, name) for name in CountsLine.__struct_fields__}, CountsLine
    )


class _Told:
    """What is told of each door."""

    def __init__(
        self,
        wiring: Wiring,
        report: FaultReport,
        tried: Sequence[FaultRemedy],
        plan: Sequence[ServiceLine],
        text: str,
        elsewhere: Collection[str],
    ) -> None:
        self._wiring = wiring
        self._report = report
        self._text = text
        attacks, pairs = report.attacks, report.pairs
        self._found = _by(lambda c: c.door, report.consequences)
        self._opened = _by(lambda a: a.attack.door, attacks.opened if attacks else ())
        self._coverage = {c.door: c for c in (attacks.coverage if attacks else ())}
        self._pairs = _by(lambda p: p.door, pairs.pairs if pairs else ())
        self._tried = _by(lambda r: r.door, tried)
        self._plan = _by(lambda line: line.door, plan)
        self._untried = untried(report, plan, elsewhere)

    def door(self, door: str) -> DoorFaults:
        """One door."""
        mine = self._found[door]
        tried = self._coverage.get(door)
        slots = self._wiring.plan.doors[door].devices
        locks = [slots[slot] for slot in LOCK_SLOTS if slot in slots]
        found = {s.device for s in self._wiring.states if s.state == "missing"}
        gone = tuple(lock for lock in locks if lock in found)
        return DoorFaults(
            door,
            self._wiring.plan.doors[door].door.name,
            len(gone) < len(locks),
            gone,
            beyond(self._wiring, door),
            {e.value: sum(c.effect is e for c in mine) for e in TOLD},
            tuple(self._fault(c) for c in mine),
            tuple(_attack(a) for a in self._opened[door]),
            _coverage(tried) if tried else None,
            tuple(_pair(p, self._report) for p in self._pairs[door]),
            tuple(self._remedy(r) for r in self._tried[door]),
            tuple(self._plan[door]),
            self._untried.get(door, ()),
        )

    def _fault(self, found: Consequence) -> FaultLine:
        fault, why = self._report.faults[found.fault], found.why
        slow = (say("faults.till then"),) if fault.till_then else ()
        return FaultLine(
            fault.id,
            fault.kind.value,
            fault.subjects,
            fault_text(fault),
            found.effect.value,
            tuple(e.value for e in found.also),
            found.situation,
            "held" if why.held else "begins",
            found.case.value,
            why.lock,
            shown_v(why.sound_v),
            shown_v(why.faulty_v),
            why.sound_state,
            why.faulty_state,
            {name: "closed" if closed else "open" for name, closed in why.moved},
            why.lost,
            why.restless,
            "; ".join((*slow, why_text(why))),
            fault.seen_by_dc,
            fault.till_then is not None,
        )

    def _remedy(self, tried: FaultRemedy) -> FaultRemedyLine:
        return FaultRemedyLine(
            tried.effect.value if tried.effect else "attack",
            tried.faults,
            tried.had,
            tried.left,
            tuple(
                ComesLine(c.door, c.effect.value, tuple(fault_text(f) for f in c.faults))
                for c in tried.comes
            ),
            line_difference(self._text, tried.text),
            tried.new_parts,
            tried.on_site,
            tried.takes_over,
        )


def _by(door: Callable[[Thing], str], things: Iterable[Thing]) -> dict[str, list[Thing]]:
    """Things by their door, none for the others."""
    found: dict[str, list[Thing]] = defaultdict(list)
    for thing in things:
        found[door(thing)].append(thing)
    return found


def _coverage(c: Coverage) -> CoverageLine:
    return CoverageLine(c.units, c.ends, c.joins, c.of, c.batteries, c.without_tools)


def _attack(opened: AttackResult) -> AttackLine:
    attack = opened.attack
    return AttackLine(
        attack.unit,
        attack.name,
        attack.groups,
        attack.across or (),
        attack.volts,
        opened.situation,
        why_text(opened.why),
    )


def _pair(pair: Pair, report: FaultReport) -> PairLine:
    silent, second = (fault_text(report.faults[name]) for name in (pair.silent, pair.second))
    return PairLine(silent, second, pair.effect.value, pair.situation)
