"""A whole site through its situations: what every door does, in one frozen answer."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from latchwork.behaviour.cases import Case, Climate
from latchwork.behaviour.curves import CellCurve
from latchwork.behaviour.outcomes import DoorOutcome, DoorState, door_states, outcome
from latchwork.behaviour.place import Group, groups
from latchwork.behaviour.run import run
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
    work = Work()
    parts = groups(wiring)
    wanted = None if doors is None else frozenset(doors)
    if wanted is not None:
        parts = tuple(g for g in parts if wanted & set(g.doors))
    planned = targets(wiring, parts, climate_of(wiring.plan), cases, work)
    todo = [t for t in planned.targets if wanted is None or t.door in wanted]
    outcomes: dict[str, dict[Case, DoorOutcome]] = {t.door: {} for t in todo}
    points = unsolved = chattering = 0
    for done, ran in enumerate(run(todo, work), start=1):
        result = outcome(ran, wiring.plan)
        outcomes[result.door][result.case] = result
        points += result.solved.size
        unsolved += int((~result.solved).sum())
        chattering += int(result.chatter.sum())
        if progress is not None:
            progress(done, len(todo))
    states = {
        door: door_states(by_case[Case.NOMINAL], wiring.plan)
        for door, by_case in outcomes.items()
        if Case.NOMINAL in by_case
    }
    return SiteOutcome(
        wiring,
        parts,
        outcomes,
        states,
        planned.curves,
        points,
        unsolved,
        chattering,
        work.eliminations,
        {door: group for group in reversed(parts) for door in group.doors},
    )
