"""Rows that the file writes itself, as drafts with full names."""

from __future__ import annotations

from collections.abc import Iterable

from latchwork.job.model import Door, Row
from latchwork.wiring.names import Names
from latchwork.wiring.sketch import OPEN, Draft


def written_rows(names: Names, door: Door) -> tuple[Draft, ...]:
    """The rows a door's file gives, for the legs it replaces or for the whole door."""
    if door.wiring is None:
        return ()
    if isinstance(door.wiring, tuple):
        return drafts(names, door.id, "", door.wiring)
    return tuple(
        row for leg, rows in door.wiring.items() for row in drafts(names, door.id, leg, rows)
    )


def drafts(names: Names, door: str, leg: str, rows: Iterable[Row]) -> tuple[Draft, ...]:
    """``rows`` with their references resolved; those that cannot be are left out and noted."""
    made = []
    for row in rows:
        start = names.node(row.start, row.path)
        end = names.node(row.end, row.path)
        cores = [names.core(cable, core, row.path) for cable, core in row.cores]
        known = tuple(core for core in cores if core is not None)
        if len(known) < len(cores) or (not known and OPEN in (start, end)):
            continue
        made.append(Draft(door, leg, start, known, end, row.path))
    return tuple(made)


def complain_of_doubles(names: Names, rows: Iterable[Draft]) -> None:
    """A core is one wire and stands in one row."""
    seen: dict[str, Draft] = {}
    for row in rows:
        for core in row.cores:
            first = seen.setdefault(core, row)
            if first is not row:
                names.complain(
                    row.path or first.path,
                    f"{core} a second time",
                    f"each core in one row; it already joins {first.start} and {first.end}"
                    " (a joint takes several)",
                    "core.twice",
                )
