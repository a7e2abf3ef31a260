"""Which guesses a finding hangs on, and what that makes of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from latchwork.elements import Certainty
from latchwork.findings import Finding, Severity
from latchwork.rules.cabling import CARRIES
from latchwork.rules.rule import Uses
from latchwork.rules.view import View

GUESSES = (Certainty.ASSUMED, Certainty.GUESSED, Certainty.UNKNOWN)
BY_VOLTS = frozenset({"volts-low", "pull-low", "volts-high", "restarts"})
"""Findings that a figure alone can bring about."""
BY_CORES = BY_VOLTS | {"chatter", "unpowered"}
"""Findings that the resistance of a core may decide; where a contact stands, none does."""
CATALOGUE = "catalogue."
UNSURE = "marginal"


def provisional(view: View, finding: Finding, uses: Uses) -> Finding:
    """``finding`` with the paths of the guesses among the figures it used.

    What only a figure that nobody knows brings about is a question: it is told as a note.
    """
    if uses is Uses.NOTHING or finding.provisional:
        return finding
    unsure = UNSURE in finding.figures.values()
    # What the catalogue assumes of thin cores matters where volts decide.
    cores = unsure or finding.rule in BY_CORES
    found = {
        path: certainty
        for path, certainty in _guessed(view, finding.subject, uses)
        if cores or not path.startswith(CATALOGUE)
    }
    if not found:
        return finding
    severity = finding.severity
    by_volts = finding.rule in BY_VOLTS or unsure
    if by_volts and Certainty.UNKNOWN in found.values() and severity is not Severity.DANGER:
        severity = Severity.NOTE
    return replace(finding, severity=severity, provisional=tuple(sorted(found)))


def assumed(view: View, findings: list[Finding]) -> Iterator[Finding]:
    """A note for each part whose figures are guesses that a finding hangs on."""
    paths: dict[str, set[str]] = {}
    owners = {
        entry.path: key.rpartition(".")[0]
        for key, entry in view.plan.provenance.items()
        if entry.certainty in GUESSES
    }
    for finding in findings:
        for path in finding.provisional if finding.severity < Severity.NOTE else ():
            owner = owners.get(path, "")
            if owner in view.plan.devices and owner not in view.plan.cables:
                paths.setdefault(owner, set()).add(path)
    for device, found in paths.items():
        yield Finding(
            "assumed-figures",
            device,
            Severity.NOTE,
            "",
            {"count": float(len(found))},
            "model",
            tuple(sorted(found)),
        )


Guess = tuple[str, tuple[str, Certainty]]
"""The owner of a guessed figure; its path and certainty."""


def _guessed(view: View, subject: str, uses: Uses) -> Iterator[tuple[str, Certainty]]:
    head = subject.split(".")[0]
    group = view.site.group_of(head) if head in view.plan.doors else view.group_with(head)
    near = {head: None}
    if group is not None:
        near |= dict.fromkeys((*group.supplies, *group.doors))
    uncertain = view.kept("uncertain", lambda: _uncertain(view))
    for about in (*near, ""):
        for owner, entry in uncertain.get(about, ()):
            if _used(view, subject, uses, owner):
                yield entry


def _uncertain(view: View) -> dict[str, list[Guess]]:
    """Guessed figures by door or supply; "" for cables that belong to no door."""
    plan = view.plan
    found: dict[str, list[Guess]] = {}
    for key, entry in plan.provenance.items():
        if entry.certainty in GUESSES:
            owner = key.rpartition(".")[0]
            shared = owner in plan.cables and not plan.cables[owner].door
            head = "" if shared else owner.split(".")[0]
            found.setdefault(head, []).append((owner, (entry.path, entry.certainty)))
    return found


def _used(view: View, subject: str, uses: Uses, owner: str) -> bool:
    """Whether a finding about ``subject`` uses the figures of a device or cable."""
    plan = view.plan
    head = subject.split(".")[0]
    group = view.site.group_of(head) if head in plan.doors else view.group_with(head)
    doors = group.doors if group is not None else ()
    if uses is Uses.SUPPLY or head not in plan.doors:
        return owner.split(".")[0] in (*doors, *(group.supplies if group else ()), head)
    if group is not None and owner in group.supplies:
        return True
    cable = plan.cables.get(owner)
    if cable is not None and not cable.door:
        return any(c.cable == owner and c.door == head for c in view.site.wiring.conductors)
    if owner.split(".")[0] != head:
        return False
    if uses is Uses.DOOR:
        return True
    slot = owner.partition(".")[2]
    carries = cable is not None and (cable.leg in CARRIES or not cable.leg)
    return carries or slot in ("lock", "second lock")
