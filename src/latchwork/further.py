"""What else is wrong with a job of which something is wrong already, as far as that is sure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from latchwork.findings.problems import Problem
from latchwork.job import Job, JobErrors
from latchwork.parts import Catalogue
from latchwork.plan import plan
from latchwork.wiring import wire

NAMES = frozenset(
    {
        "cable.unknown",
        "part.choice",
        "part.count",
        "part.figure",
        "part.not-a-figure",
        "part.slot",
        "part.unit",
        "part.unknown",
        "part.word",
        "part.yes-no",
    }
)
"""Problems of single names and words: what else could not be read has no part in them."""
EVERY_DOOR = ("usual", "cables", "taps", "joints")
"""Sections that any door may use."""


def further(job: Job, used: Catalogue, problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Problems of ``job``, which is what could be read, beside the ones already known."""
    known = tuple(problems)
    try:
        plan(job, used)
        more: tuple[Problem, ...] = ()
    except JobErrors as errors:
        places = {(p.line, p.column) for p in known}
        more = tuple(
            p
            for p in errors.problems
            if p.code in NAMES
            and (p.line, p.column) not in places
            # A tap's cable is looked up as the file is read; here it is one that could not be.
            and not p.field.startswith("taps.")
        )
    return (*more, *of_whole_doors(job, used, (*known, *more)))


def of_whole_doors(job: Job, used: Catalogue, problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Problems in the wiring of those doors that nothing known to be wrong can touch."""
    known = tuple(problems)
    fields = [p.field for p in known]
    if not all(fields) or any(field.split(".")[0] in EVERY_DOOR for field in fields):
        return ()
    wrong = {field.split(".")[1] for field in fields if "." in field}
    doors = {
        name: door
        for name, door in job.doors.items()
        if not wrong & {name, door.supply.partition(".")[0], *map(_device, door.shared.values())}
    }
    whole = replace(
        job,
        doors=doors,
        supplies={name: s for name, s in job.supplies.items() if name not in wrong},
        devices={name: d for name, d in job.devices.items() if name not in wrong},
        wiring=(),
        found=(),
    )
    try:
        wire(plan(whole, used))
    except JobErrors as errors:
        left_out = {*job.doors, *job.supplies, *job.devices} - {
            *whole.doors,
            *whole.supplies,
            *whole.devices,
        }
        places = {(p.line, p.column) for p in known}
        return tuple(
            p
            for p in errors.problems
            if _door(p.field) in doors
            and _device(p.found) not in left_out
            and (p.line, p.column) not in places
        )
    return ()


def _device(reference: str) -> str:
    return reference.partition(".")[0]


def _door(field: str) -> str:
    section, _, rest = field.partition(".")
    return rest.partition(".")[0] if section == "doors" else ""
