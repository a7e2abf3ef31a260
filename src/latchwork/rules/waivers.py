"""Findings that somebody has agreed to live with: told as notes, with who, when and why."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from latchwork.findings import Finding, Severity
from latchwork.plan import Plan

Waiver = Mapping[str, str]


def waived(plan: Plan, findings: Iterable[Finding], today: str) -> Iterator[Finding]:
    """``findings`` with those that a waiver names as notes, and a note for each waiver that does
    nothing. A danger cannot be waived. ``today``: ISO date, "" where it does not matter.
    """
    waivers = {w["finding"].upper(): w for w in _all(plan)}
    met: set[str] = set()
    for finding in findings:
        waiver = waivers.get(finding.id)
        if waiver is None:
            yield finding
            continue
        met.add(finding.id)
        if finding.severity is Severity.DANGER:
            yield finding
            yield _idle("waiver-refused", finding.subject, waiver)
        elif today and waiver.get("until", today) < today:
            yield finding
            yield _idle("waiver-over", finding.subject, waiver)
        else:
            told = {f"waived_{k}": v for k, v in waiver.items() if k != "finding"}
            was = finding.severity.name.lower()
            yield replace(
                finding,
                severity=Severity.NOTE,
                figures={**finding.figures, **told, "waived_from": was},
            )
    for name, waiver in waivers.items():
        if name not in met:
            yield _idle("waiver-idle", "site", waiver)


def _all(plan: Plan) -> Iterator[Waiver]:
    yield from plan.job.site.waivers
    for door in plan.job.doors.values():
        yield from door.waivers


def _idle(code: str, subject: str, waiver: Waiver) -> Finding:
    figures = {"name": waiver["finding"], "by": waiver["by"], "until": waiver.get("until", "")}
    return Finding(code, subject, Severity.NOTE, waiver["finding"], figures, "model")
