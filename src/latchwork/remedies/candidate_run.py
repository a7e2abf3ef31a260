"""A candidate against single faults, run as far as that is asked for: what ``check`` finds with it,
and what each fault then does."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

from latchwork.behaviour import behave
from latchwork.faults import Ask, Effect, faults
from latchwork.findings import Finding, Severity
from latchwork.remedies.bench import Bench, Laid, fresh, gravest, opens_unasked, shuts_people_in
from latchwork.rules import judge
from latchwork.wiring import Wiring

NEAR = Ask(attacks=False, near=True)
Worst = dict[str, int]
"""The worst effect of each fault, by its place among effects."""


class CandidateRun:
    """What came of a candidate at a door; ``others``: the other doors of its cell; ``near``: those
    of its supply."""

    def __init__(
        self, bench: Bench, laid: Laid, door: str, others: Sequence[str], near: frozenset[str]
    ) -> None:
        self._bench, self._laid, self._door = bench, laid, door
        self._others, self._near = list(others), near & frozenset(laid.wiring.plan.doors)

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
    def own(self) -> Worst:
        """What each fault does at the door."""
        return worst_at(self._laid.wiring, [self._door], NEAR)[self._door]

    @cached_property
    def others(self) -> dict[str, Worst]:
        """The same at the other doors of the cell."""
        return worst_at(self._laid.wiring, self._others, NEAR)


def worst_at(wiring: Wiring, doors: list[str], ask: Ask) -> dict[str, Worst]:
    """What each fault does at some doors."""
    found: dict[str, Worst] = {door: {} for door in doors}
    for c in faults(wiring, doors, ask).consequences if doors else ():
        found[c.door][c.fault] = rank_of(c.effect)
    return found


def rank_of(effect: Effect) -> int:
    """The place of an effect, the worst first."""
    return list(Effect).index(effect)
