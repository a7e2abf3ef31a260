"""Doors that nobody leaves by, as the file says: no rule asks a way out of them. Told is where no
other is written, and where the file says besides that somebody may be kept in."""

from __future__ import annotations

from collections.abc import Iterator

from latchwork.behaviour.outcomes import LOCK_SLOTS
from latchwork.findings import Finding, Severity
from latchwork.plan import PlannedDoor
from latchwork.rules.leaving import kept_in
from latchwork.rules.rule import Rule
from latchwork.rules.security import SITE
from latchwork.rules.view import View

DOOR_N = 1500.0
"""Weaker locks are made for cabinets (common practice, no source)."""


def nobody_leaves(view: View) -> Iterator[Finding]:
    """People leave by no door of the job, and not all are doors of cabinets: whoever comes in needs
    a way out that the file does not hold. No rule asks one of any of these doors."""
    doors = [door for door, _ in view.doors()]
    if any(door.door.people_leave for door in view.plan.doors.values()):
        return
    rooms = [door.id for door in doors if not _of_cabinet(view, door)]
    if rooms:
        figures: dict[str, float | str] = {"doors": ", ".join(rooms)}
        yield Finding("nobody-leaves", SITE, Severity.NOTE, "", figures, "egress")


def kept_in_unasked(view: View) -> Iterator[Finding]:
    """Rooms in which somebody may be kept, behind doors that nobody leaves by: no rule asks how
    they get out in a fire, and the file says both of one door."""
    rooms = [
        door.id
        for door, _ in view.doors()
        if kept_in(door) and not door.door.people_leave and not _of_cabinet(view, door)
    ]
    if rooms:
        figures: dict[str, float | str] = {"doors": ", ".join(rooms)}
        yield Finding("kept-in-unasked", SITE, Severity.NOTE, "", figures, "egress")


def _of_cabinet(view: View, door: PlannedDoor) -> bool:
    """Whether its lock is too weak for the door of a room."""
    holds = [
        view.part(door.devices[slot]).figures.get("holding_n")
        for slot in LOCK_SLOTS
        if slot in door.devices
    ]
    return all(force is not None and force.value < DOOR_N for force in holds)


RULES: tuple[Rule, ...] = (
    Rule(("nobody-leaves",), "egress", nobody_leaves),
    Rule(("kept-in-unasked",), "egress", kept_in_unasked),
)
