"""What a rule is: a code, a source, and a function from the site as run to findings."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from latchwork.behaviour import (
    Case,
    DoorOutcome,
    DoorState,
    LockOutcome,
    Mode,
    Power,
    SiteOutcome,
)
from latchwork.findings import Finding
from latchwork.plan import Plan, PlannedDoor
from latchwork.power import SupplyLoad, supply_loads


@dataclass(frozen=True)
class View:
    """The site as run, with what rules often ask for."""

    site: SiteOutcome

    @property
    def plan(self) -> Plan:
        """The plan behind the site."""
        return self.site.plan

    @cached_property
    def loads(self) -> tuple[SupplyLoad, ...]:
        """What each supply carries."""
        return supply_loads(self.site)

    def doors(self) -> Iterator[tuple[PlannedDoor, DoorOutcome]]:
        """Every door that was run, with its nominal outcome."""
        for door_id, by_case in self.site.outcomes.items():
            nominal = by_case.get(Case.NOMINAL)
            if nominal is not None and nominal.locks:
                yield self.plan.doors[door_id], nominal

    def outcome(self, door: str, case: Case) -> DoorOutcome | None:
        """A door's outcome in one case."""
        return self.site.outcomes[door].get(case)

    def state(self, door: str, power: Power, mode: Mode) -> DoorState | None:
        """A door's four questions in one power and mode."""
        for state in self.site.states.get(door, ()):
            if state.power is power and state.mode is mode:
                return state
        return None

    def has(self, door: PlannedDoor, *slots: str) -> bool:
        """Whether the door has a device in one of ``slots``."""
        return any(slot in door.devices for slot in slots)

    def battery_fitted(self, door: str) -> bool:
        """Whether any supply of the door has a battery."""
        group = self.site.group_of(door)
        return group is not None and any(
            self.plan.supplies[s].battery_blocks > 0
            for s in group.supplies
            if s in self.plan.supplies
        )

    def lock_named(self, outcome: DoorOutcome, device: str) -> LockOutcome:
        """The outcome of one lock of a door."""
        return next(lock for lock in outcome.locks if lock.device == device)


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule. ``source`` is a source code (see the words); ``find`` looks, and finds or not."""

    code: str
    source: str
    find: Callable[[View], Iterable[Finding]]
