"""A candidate against single faults, run as far as that is asked for: what ``check`` finds with it,
and what each fault then does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cached_property

from latchwork.behaviour import behave
from latchwork.faults import Ask, Effect, Fault, FaultReport, doors_that_meet, fault_names, faults
from latchwork.findings import Finding, Severity
from latchwork.remedies.bench import Bench, Laid, fresh, gravest, opens_unasked, shuts_people_in
from latchwork.rules import judge
from latchwork.wiring import Wiring

NEAR = Ask(attacks=False, near=True, reasons=False)
Worst = dict[str, int]
"""The worst effect of each fault, by its place among effects."""


class CandidateRun:
    """What came of a candidate at a door; ``met``: the doors of its cell; ``near``: those of its
    supply; ``harm``: faults that are to be mended; ``ask``: how faults are run."""

    def __init__(
        self,
        bench: Bench,
        laid: Laid,
        door: str,
        met: Sequence[str],
        near: frozenset[str],
        harm: frozenset[str],
        ask: Ask,
    ) -> None:
        self._bench, self._laid, self._door, self._met = bench, laid, door, met
        self._near = near & frozenset(laid.wiring.plan.doors)
        self._harm, self._ask = harm, ask
        self.named: dict[str, Fault] = {}
        """The faults of all that was run: a new part brings some that the job never had."""

    @cached_property
    def sound(self) -> bool:
        """Whether the doors about bring no new finding at "weak" or worse, and shut nobody in. The
        door is run by itself first: what is wrong shows there for the most part."""
        alone = frozenset((self._door,))
        return self._brings_nothing(alone) and (
            self._near == alone or self._brings_nothing(self._near)
        )

    def _brings_nothing(self, doors: frozenset[str]) -> bool:
        site = behave(self._laid.wiring, doors=doors)
        if shuts_people_in(self._bench.scene.site, site):
            return False
        had = gravest(self._bench.before(self._near).values())
        found = [f for f in judge(site) if doors == self._near or self._of_door(f)]
        return all(f.severity > Severity.WEAK for f in fresh(found, had))

    @cached_property
    def lets_in(self) -> bool:
        """Whether a door opens to anybody without power that did not, and nothing is said of it."""
        site = behave(self._laid.wiring, doors=self._near)
        return opens_unasked(self._bench.scene.site, site)

    def _of_door(self, finding: Finding) -> bool:
        """What is found of a supply is found with all its doors."""
        return finding.subject.partition(".")[0] == self._door

    @cached_property
    def at_best(self) -> Worst:
        """What the faults that are to be mended now do at the door, those of its cell."""
        return self._still(near=True)

    @cached_property
    def still(self) -> Worst:
        """The same of all of them: those of a door that is in the cell no more may still be felt by
        way of the supply."""
        apart = set(self._met) - set(doors_that_meet(self._laid.wiring, self._door))
        return self._still(near=False) if apart else self.at_best

    def _still(self, *, near: bool) -> Worst:
        ask = replace(self._ask, near=near, only=self._harm, here=True)
        return self._worst([self._door], ask)[self._door]

    @cached_property
    def own(self) -> Worst:
        """What each fault does at the door."""
        return self._worst([self._door], self._ask)[self._door]

    @cached_property
    def others(self) -> dict[str, Worst]:
        """The same at the other doors of the cell."""
        others = [door for door in self._met if door != self._door]
        return self._worst(others, self._ask)

    @cached_property
    def afar(self) -> dict[str, Worst]:
        """What the door's faults do at the supply's doors whose circuits do not meet with it: those
        of a new core, and of one that is on plus now."""
        others = sorted(self._near.difference(self._met))
        names = fault_names(self._laid.wiring, self._door) if others else frozenset()
        return self._worst(others, replace(self._ask, near=False, only=names))

    def _worst(self, doors: Sequence[str], ask: Ask) -> dict[str, Worst]:
        report = faults(self._laid.wiring, doors, ask) if doors else None
        self.named |= report.faults if report else {}
        return _worst_of(report, doors)


def worst_at(wiring: Wiring, doors: Sequence[str], ask: Ask) -> dict[str, Worst]:
    """What each fault does at some doors."""
    return _worst_of(faults(wiring, doors, ask) if doors else None, doors)


def _worst_of(report: FaultReport | None, doors: Sequence[str]) -> dict[str, Worst]:
    found: dict[str, Worst] = {door: {} for door in doors}
    for c in report.consequences if report else ():
        found[c.door][c.fault] = rank_of(c.effect)
    return found


def rank_of(effect: Effect) -> int:
    """The place of an effect, the worst first."""
    return list(Effect).index(effect)
