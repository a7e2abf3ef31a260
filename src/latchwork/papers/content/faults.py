"""Single faults as a sheet: how many do what at each door, and which people's way out hangs on.

What opens a door is counted and not described: the sheet may be left lying about.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from latchwork.papers.content.source import Sheet, Source, few, situation_text, words
from latchwork.words import say

if TYPE_CHECKING:
    from latchwork.answers.faults_model import DoorFaults, FaultLine, FaultsAnswer


def faults_sheets(source: Source) -> list[Sheet]:
    """The sheet; none where no run of faults was asked for."""
    from latchwork.answers.faults_groups import SEVERITY

    answer = source.faults
    if answer is None:
        return []
    effects = [e for e in SEVERITY if any(door.counts.get(e) for door in answer.doors)]
    parts = [part for door in answer.doors if (part := _part(door))["rows"]]
    tried = any(door.has_lock for door in answer.doors)
    return [
        {
            "kind": "faults",
            "title": words("sheet.faults"),
            "about": words("about.faults"),
            "notes": list(_notes(answer)),
            "heads": [say("schedules.column.door"), say("schedules.column.name")],
            "marks": [
                {"severity": SEVERITY[e], "head": say(f"faults.overview.{e}")} for e in effects
            ],
            "doors": [_counts(door, effects) for door in answer.doors],
            "part_heads": [words(f"faults.{column}") for column in ("does", "which", "how")],
            "parts": parts,
            "none": "" if parts else words("faults.none" if tried else "faults.untried"),
            "foot": list(_foot(answer, tried=tried)),
        }
    ]


def _counts(door: DoorFaults, effects: Iterable[str]) -> dict[str, object]:
    """A door's line: numbers, or why it has none."""
    from latchwork.answers.faults_groups import untried

    why = untried(door)
    numbers = [str(door.counts.get(e) or words("dash")) for e in effects]
    return {"door": door.id, "name": _name(door), "why": why, "numbers": numbers}


def _part(door: DoorFaults) -> dict[str, object]:
    """What of a door's faults is a danger, worst first."""
    from latchwork.answers.faults_groups import SEVERITY, alike

    rows = [
        {
            "severity": severity,
            "does": say(f"effect.{effect}"),
            "which": few([fault.text for fault in group]),
            "how": _how(group[0]),
        }
        for effect, severity in SEVERITY.items()
        if severity == "danger"
        for group in alike([fault for fault in door.faults if fault.effect == effect])
    ]
    return {"title": " ".join(filter(None, (door.id, _name(door)))), "rows": rows}


def _how(fault: FaultLine) -> str:
    """How it comes about, and what else it does that is a danger."""
    from latchwork.answers.faults_groups import SEVERITY, also, late

    told = {"situation": situation_text(fault.situation), "why": fault.why}
    how = words("faults.held" if late(fault) else "faults.at once", told)
    besides = [say(f"effect.{e}") for e in also(fault) if SEVERITY[e] == "danger"]
    return f"{how}; {say('faults.also', {'effects': ', '.join(besides)})}" if besides else how


def _name(door: DoorFaults) -> str:
    return door.name if door.name != door.id else ""


def _notes(answer: FaultsAnswer) -> Iterable[str]:
    """What the numbers of a door rest on."""
    from latchwork.answers.faults_groups import missing

    for supply in answer.drained:
        yield words("faults.drained", {"supply": supply})
    for door in answer.doors:
        if door.beyond:
            yield f"{door.id}: {door.beyond.text}"
        if gone := missing(door):
            yield f"{door.id}: {gone}"


def _foot(answer: FaultsAnswer, *, tried: bool) -> Iterable[str]:
    """What was tried, what no number tells, and who decides."""
    if tried:
        yield words("faults.foot", {"faults": str(answer.faults)})
    if answer.unseen:
        yield words("service.unseen", {"faults": ", ".join(answer.unseen)})
    yield answer.caution
