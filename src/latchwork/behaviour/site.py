"""A whole site through its situations: what every door does, in one frozen answer."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Protocol

from latchwork.behaviour.cases import Case, Climate
from latchwork.behaviour.compiled import work_for
from latchwork.behaviour.curves import CellCurve
from latchwork.behaviour.outcomes import DoorOutcome, outcome
from latchwork.behaviour.passing import DoorState, door_states
from latchwork.behaviour.place import Group, groups
from latchwork.behaviour.run import Ran, Target, run
from latchwork.behaviour.targets import targets
from latchwork.circuit import Work
from latchwork.plan import Plan
from latchwork.wiring import Wiring

Progress = Callable[[int, int], None]
"""Called with how many of how many doors' runs are done."""


@dataclass(frozen=True, slots=True)
class SiteOutcome:
    """What every door does. ``outcomes`` by door and case, ``states`` by door."""

    wiring: Wiring
    groups: tuple[Group, ...]
    outcomes: Mapping[str, Mapping[Case, DoorOutcome]]
    states: Mapping[str, tuple[DoorState, ...]]
    curves: Mapping[str, tuple[CellCurve, ...]]
    """By supply: what hangs on it as curves, where the supply stands alone in its group."""
    points: int
    unsolved: int
    chattering: int
    eliminations: int
    by_door: Mapping[str, Group] = field(repr=False)
    """The group of each door that has one."""

    @property
    def plan(self) -> Plan:
        """The plan behind the wiring."""
        return self.wiring.plan

    def group_of(self, door: str) -> Group | None:
        """The group a door is solved in; None where it has nothing electrical."""
        return self.by_door.get(door)


def climate_of(plan: Plan) -> Climate:
    """Cold and hot from the site's ambient range; 0 to 40 °C where nothing is said (common
    practice, no source)."""
    ambient = plan.job.site.ambient_c
    return Climate() if ambient is None else Climate(ambient.low, ambient.high)


def behave(
    wiring: Wiring,
    cases: Sequence[Case] = tuple(Case),
    doors: Iterable[str] | None = None,
    progress: Progress | None = None,
) -> SiteOutcome:
    """Take every door (or the named ones) through its situations in the given cases."""
    return behave_all([wiring], cases, [doors], progress)[0]


def behave_all(
    wirings: Sequence[Wiring],
    cases: Sequence[Case] = tuple(Case),
    doors: Sequence[Iterable[str] | None] | None = None,
    progress: Progress | None = None,
) -> tuple[SiteOutcome, ...]:
    """Several wirings, each as ``behave`` takes it, solved side by side where they are alike:
    variants of one site cost little more than the site."""
    started = [
        Started(wiring, cases, wanted)
        for wiring, wanted in zip(wirings, doors or [None] * len(wirings), strict=True)
    ]
    work = work_for(sum(len(each.todo) for each in started))
    run_all(started, work, progress)
    return tuple(each.outcome(work.eliminations) for each in started)


class Taking(Protocol):
    """Whoever has targets to be run, and takes what comes of them."""

    @property
    def todo(self) -> Sequence[Target]:
        """What is to be run."""

    def take(self, ran: Ran) -> None:
        """Keep what came of one target."""


def run_all(whose: Sequence[Taking], work: Work, progress: Progress | None = None) -> None:
    """Run the targets of all of them side by side, and give each what came of its own."""
    taking = {id(target): each for each in whose for target in each.todo}
    todo = [target for each in whose for target in each.todo]
    for done, ran in enumerate(run(todo, work), start=1):
        taking[id(ran.target)].take(ran)
        if progress is not None:
            progress(done, len(todo))


class Started:
    """One wiring on its way: its targets, and what has come of them."""

    def __init__(
        self,
        wiring: Wiring,
        cases: Sequence[Case] = tuple(Case),
        doors: Iterable[str] | None = None,
    ) -> None:
        self.wiring = wiring
        self.parts = groups(wiring)
        wanted = None if doors is None else frozenset(doors)
        if wanted is not None:
            self.parts = tuple(g for g in self.parts if wanted & set(g.doors))
        self.work = work_for(sum(len(g.doors) for g in self.parts) * len(cases))
        planned = targets(wiring, self.parts, climate_of(wiring.plan), cases, self.work)
        self.curves = planned.curves
        self.todo = [t for t in planned.targets if wanted is None or t.door in wanted]
        self.outcomes: dict[str, dict[Case, DoorOutcome]] = {t.door: {} for t in self.todo}

    def take(self, ran: Ran) -> None:
        """Keep what came of one target."""
        result = outcome(ran, self.wiring.plan)
        self.outcomes[result.door][result.case] = result

    def outcome(self, eliminations: int) -> SiteOutcome:
        """Everything that came; ``eliminations`` are those of the common run."""
        results = [result for by_case in self.outcomes.values() for result in by_case.values()]
        states = {
            door: door_states(by_case[Case.NOMINAL], self.wiring.plan)
            for door, by_case in self.outcomes.items()
            if Case.NOMINAL in by_case
        }
        return SiteOutcome(
            self.wiring,
            self.parts,
            self.outcomes,
            states,
            self.curves,
            sum(result.solved.size for result in results),
            sum(int((~result.solved).sum()) for result in results),
            sum(int(result.chatter.sum()) for result in results),
            eliminations + self.work.eliminations,
            {door: group for group in reversed(self.parts) for door in group.doors},
        )
