"""All doors of a fault run at a glance: a line a door, a column an effect, the number of faults."""

from __future__ import annotations

from collections.abc import Sequence

from latchwork.answers.faults_groups import SEVERITY, untried
from latchwork.answers.faults_model import DoorFaults
from latchwork.cli.page import Page, cells, fitted, printable, tinted, wrap
from latchwork.words import say

ATTACKS = "attacks"
_WIDTH, _LEAST_NAME = 8, 8
_BESIDE_NAME = 3
"""Blanks before a door's name and after it."""
_NONE = "–"


def show_overview(page: Page, doors: Sequence[DoorFaults]) -> None:
    """Every door in the order of the job; columns that are empty at all of them are left out."""
    columns = {name: severity for name, severity in _columns().items() if _any(doors, name)}
    page.section(say("faults.overview.head"))
    id_width = min(max(cells(printable(door.id)) for door in doors), 10)
    # No further apart than names ask for: a row is followed with the eye.
    longest = max(cells(_name(door)) for door in doors)
    apart = page.reach - _WIDTH * len(columns)
    numbers_at = max(min(apart, id_width + _BESIDE_NAME + longest), id_width)
    marks = (say(f"mark.{severity}") for severity in columns.values())
    heads = [wrap(say(f"faults.overview.{name}"), _WIDTH - 1) for name in columns]
    if columns:
        tints = zip(marks, columns.values(), strict=True)
        row = "".join(tinted(f"{mark:>{_WIDTH}}", severity) for mark, severity in tints)
        page.line(" " * numbers_at + row)
    for n in range(max(map(len, heads), default=0)):
        row = "".join(f"{head[n] if n < len(head) else '':>{_WIDTH}}" for head in heads)
        page.line(tinted(" " * numbers_at + row, "quiet"))
    for door in doors:
        name = _name(door)
        start = fitted(printable(door.id), id_width)
        room = numbers_at - id_width - _BESIDE_NAME
        start += f"  {fitted(name, room)}" if room >= min(_LEAST_NAME, longest) else ""
        page.line(f"{fitted(start, numbers_at)}{_row(door, columns)}")


def _name(door: DoorFaults) -> str:
    return printable(door.name) if door.name != door.id else ""


def _columns() -> dict[str, str]:
    """What there may be a column of, and its mark."""
    return {**SEVERITY, ATTACKS: SEVERITY["opens"]}


def _any(doors: Sequence[DoorFaults], name: str) -> bool:
    return any(_count(door, name) for door in doors)


def _count(door: DoorFaults, name: str) -> int:
    return len(door.attacks) if name == ATTACKS else door.counts.get(name, 0)


def _row(door: DoorFaults, columns: dict[str, str]) -> str:
    """A door's numbers, or why it has none."""
    why = untried(door) if columns else untried(door) or say("faults.none")
    if why:
        return why
    out = ""
    for name, severity in columns.items():
        count = _count(door, name)
        out += tinted(f"{count or _NONE:>{_WIDTH}}", severity if count else "quiet")
    return out
