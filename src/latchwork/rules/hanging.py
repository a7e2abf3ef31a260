"""Which guesses a finding may hang on, and what that makes of it.

Named are the guesses that could have decided it; whether one does is told by trying it (``settled``
in ``remedies``).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

from latchwork.behaviour import Case, Power, SiteOutcome
from latchwork.elements import GUESSES, Certainty
from latchwork.findings import Finding, Severity
from latchwork.rules.cabling import CARRIES
from latchwork.rules.rule import Uses
from latchwork.rules.view import View

BY_VOLTS = frozenset({"volts-low", "no-relock", "pull-low", "volts-high", "restarts", "feed-low"})
"""Findings that a figure alone can bring about."""
BY_CORES = BY_VOLTS | {"chatter", "unpowered"}
"""Findings that the resistance of a core may decide; where a contact stands, none does."""
CATALOGUE = "catalogue."
UNSURE = "marginal"
DEAD = (Power.ALL_LOST, Power.NO_BATTERY)
"""Where no current flows no figure decides anything."""
BY_CASE = frozenset(
    {
        "supply-overload",
        "transformer-overload",
        "relock-overload",
        "port-overload",
        "may-not-restart",
    }
)
"""Findings about a supply in which the worst cases hold every guess at either end of its range."""
SIGNALS = ("reader", "bell", "radio")
"""Legs that feed what hangs at their end, and carry no lock's current."""
CARRIES_A = 0.1
"""What is more than the current of an input (common practice, no source)."""

Find = Callable[[View], Iterable[Finding]]


def provisional(view: View, finding: Finding, uses: Uses, find: Find) -> Finding:
    """``finding`` with the paths of the guesses among the figures it used; ``find`` is its rule.

    What only a figure that nobody knows brings about is a question: it is told as a note.
    """
    if uses is Uses.NOTHING or finding.provisional:
        return finding
    if finding.situation.partition("/")[0] in DEAD:
        return finding
    unsure = UNSURE in finding.figures.values()
    # What the catalogue assumes of thin cores matters where volts decide.
    cores = unsure or finding.rule in BY_CORES
    found = {
        path: certainty
        for path, certainty in _guessed(view, finding.subject, uses)
        if cores or not path.startswith(CATALOGUE)
    }
    if not found or (finding.rule in BY_CASE and _in_every_case(view, finding, find)):
        return finding
    severity = finding.severity
    by_volts = finding.rule in BY_VOLTS or unsure
    if by_volts and Certainty.UNKNOWN in found.values() and severity is not Severity.DANGER:
        severity = Severity.NOTE
    return replace(finding, severity=severity, provisional=tuple(sorted(found)))


def _in_every_case(view: View, finding: Finding, find: Find) -> bool:
    """Whether it is found, no less severe, with every figure at whichever end of its range."""

    def worst() -> list[dict[tuple[str, str], Severity]]:
        views = [View(_held(view.site, case)) for case in Case]
        return [
            {(f.rule, f.subject): f.severity for f in sorted(find(held), key=lambda f: -f.severity)}
            for held in views
        ]

    key = finding.rule, finding.subject
    cases = view.kept(("every case", find), worst)
    return all(found.get(key, Severity.NOTE) <= finding.severity for found in cases)


def _held(site: SiteOutcome, case: Case) -> SiteOutcome:
    """The site as if every case were this one."""
    outcomes = {
        door: dict.fromkeys(by_case, by_case[case])
        for door, by_case in site.outcomes.items()
        if case in by_case
    }
    return replace(site, outcomes=outcomes)


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
        owner, _, name = key.rpartition(".")
        cable = plan.cables.get(owner)
        # A length decides no volts where the cores were measured from end to end.
        measured = cable is not None and cable.whole_ohm is not None and name == "length_m"
        if entry.certainty in GUESSES and not measured:
            shared = cable is not None and not cable.door
            head = "" if shared else owner.split(".")[0]
            found.setdefault(head, []).append((owner, (entry.path, entry.certainty)))
    return found


def _used(view: View, subject: str, uses: Uses, owner: str) -> bool:
    """Whether a finding about ``subject`` uses the figures of a device or cable."""
    plan = view.plan
    head = subject.split(".")[0]
    group = view.site.group_of(head) if head in plan.doors else view.group_with(head)
    doors = group.doors if group is not None else ()
    slot = subject.partition(".")[2].partition(".")[0]
    if owner in plan.cables and not _carries(view, owner, slot):
        return False
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
    return cable is not None or owner.partition(".")[2] in ("lock", "second lock")


def _carries(view: View, name: str, slot: str) -> bool:
    """Whether a cable's length may decide something about what stands in ``slot``: it carries a
    lock's current, or feeds that device."""
    cable = view.plan.cables[name]
    if cable.leg in (*CARRIES, "", slot):
        return True
    return cable.leg not in SIGNALS and name in view.kept("carrying", lambda: _carrying(view))


def _carrying(view: View) -> frozenset[str]:
    """Cables with a core that carries more than an input takes."""
    most: dict[str, float] = {}
    for by_case in view.site.outcomes.values():
        outcome = by_case.get(Case.MOST_CURRENT)
        for name, amps in outcome.most_a.items() if outcome else ():
            most[name] = max(most.get(name, 0.0), amps)
    cores = view.site.wiring.conductors
    return frozenset(c.cable for c in cores if most.get(c.id, 0.0) > CARRIES_A)
