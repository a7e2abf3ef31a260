"""The answer of ``mend``: remedies that were tried, and the edit that makes them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import islice
from pathlib import Path

import msgspec

from latchwork.answers.check import finding_line
from latchwork.answers.edits import Edit, as_edit, line_difference
from latchwork.answers.opening import today
from latchwork.behaviour import SiteOutcome, behave
from latchwork.findings import Finding, Severity
from latchwork.job import one_of
from latchwork.opening import Opened, open_job
from latchwork.remedies.moves.supplies import limits
from latchwork.remedies.scene import Scene
from latchwork.remedies.search import Remedy, by_others, remedies
from latchwork.remedies.walk import walk
from latchwork.rules import judge
from latchwork.words import say

FORM = 1
SHORT = ("supply-overload", "relock-overload")
"""Findings about a supply that a larger one would cure."""
OFFERED = 3
"""Remedies offered for one finding at most."""

Tell = Callable[[str], None]


class RemedyLine(msgspec.Struct, frozen=True):
    """One remedy: what it is for, what it changes, what goes and what lesser things come."""

    finding: str
    rule: str
    severity: str
    subject: str
    title: str
    paths: tuple[str, ...]
    lines: tuple[str, ...]
    """The difference it makes in the file's own lines."""
    also_gone: tuple[str, ...]
    """Ids of other findings that go with it."""
    comes: tuple[str, ...]
    """Titles of findings that come with it: lesser ones, and where something is put right on site
    those that it had hidden."""
    new_parts: tuple[str, ...]
    on_site: bool
    """Whether something has to be done on site, of which the change is the record."""
    takes_over: bool
    """Whether figures said of a part are kept for the one in its place: its data sheet counts."""


class LeftLine(msgspec.Struct, frozen=True):
    """A finding at "weak" or worse that has no remedy."""

    finding: str
    rule: str
    severity: str
    subject: str
    title: str
    do: str


class MendAnswer(msgspec.Struct, frozen=True):
    """Remedies of one finding to choose from, or with ``walked`` one after the other.
    ``latchwork_mend`` is the version of this form."""

    latchwork_mend: int
    file: str
    walked: bool
    remedies: tuple[RemedyLine, ...]
    left: tuple[LeftLine, ...]
    lines: tuple[str, ...]
    """All of a walk's differences together; those of the first remedy otherwise."""


class UnknownFinding(Exception):
    """Nothing of that id is found."""

    def __init__(self, found: str, expected: str) -> None:
        super().__init__(found)
        self.found = found
        self.expected = expected


def mend_one(
    path: Path, finding_id: str, progress: Callable[[int, int], None] | None = None
) -> tuple[MendAnswer, tuple[Edit, ...]]:
    """Remedies of one finding, the best first, each with its edit. Raises UnknownFinding, and as
    ``open_job``."""
    opened = open_job(path)
    scene = _scene(opened)
    found = judge(scene.site, today())
    target = next((f for f in found if f.id == finding_id.upper()), None)
    if target is None:
        ids = [each.id for each in found]
        raise UnknownFinding(finding_id, one_of(finding_id, ids) if ids else say("mend.no id"))
    told = tuple(islice(_different(remedies(scene, target, progress)), OFFERED))
    if not told:
        told = tuple(islice(by_others(scene, target), 1))
    lines = tuple(_line(remedy, scene.text, scene.site) for remedy in told)
    left = () if told else (_left(target, scene),)
    file = str(opened.folder.job_file)
    first = lines[0].lines if lines else ()
    answer = MendAnswer(FORM, file, False, lines, left, first)
    return answer, tuple(as_edit(opened.folder, remedy.changes) for remedy in told)


def _different(found: Iterator[Remedy]) -> Iterator[Remedy]:
    """Remedies that change other places than the ones before: a still thicker cable is no other
    remedy, nor is one before with something needless besides."""
    seen: set[frozenset[str]] = set()
    told: list[Remedy] = []
    for remedy in found:
        paths = frozenset(change.path for change in remedy.changes)
        more = any(all(c in remedy.changes for c in before.changes) for before in told)
        if paths not in seen and not more:
            seen.add(paths)
            told.append(remedy)
            yield remedy


def mend_all(path: Path, tell: Tell | None = None) -> tuple[MendAnswer, Edit | None]:
    """Remedies from worst to least until no finding has one, and the edit of all together; None
    where there is nothing to do. Raises as ``open_job``."""
    opened = open_job(path)
    scene = _scene(opened)
    walked = walk(scene, None if tell is None else lambda f: tell(_title(f, scene.site)))
    lines = []
    before = scene.text
    for remedy in walked.steps:
        lines.append(_line(remedy, before, scene.site))
        before = remedy.text
    answer = MendAnswer(
        FORM,
        str(opened.folder.job_file),
        True,
        tuple(lines),
        tuple(_left(f, scene) for f in walked.left),
        line_difference(scene.text, walked.text),
    )
    changes = [change for remedy in walked.steps for change in remedy.changes]
    return answer, as_edit(opened.folder, changes) if changes else None


def _scene(opened: Opened) -> Scene:
    folder = opened.folder
    return Scene(folder.text, str(folder.job_file), opened.used, behave(opened.wiring))


def _title(finding: Finding, site: SiteOutcome) -> str:
    return finding_line(finding, site).title


def _line(remedy: Remedy, before: str, site: SiteOutcome) -> RemedyLine:
    target = remedy.finding
    return RemedyLine(
        target.id,
        target.rule,
        Severity(target.severity).name.lower(),
        target.subject,
        _title(target, site),
        tuple(dict.fromkeys(change.path for change in remedy.changes)),
        line_difference(before, remedy.text),
        tuple(f.id for f in remedy.gone if f.id != target.id),
        tuple(_title(f, site) for f in remedy.came),
        remedy.new_parts,
        remedy.on_site,
        remedy.takes_over,
    )


def _left(finding: Finding, scene: Scene) -> LeftLine:
    line = finding_line(finding, scene.site)
    do = line.do
    if finding.rule in SHORT:
        do = say("mend.none larger", {"do": do, "limit_a": _largest_a(scene, finding.subject)})
    return LeftLine(line.id, line.rule, line.severity, line.subject, line.title, do)


def _largest_a(scene: Scene, supply: str) -> float:
    """The highest limit that the catalogue has a supply of that make for, or the job's own."""
    now = scene.site.plan.devices[supply].part.figures["limit_a"].value
    return max((amps for amps, _ in limits(scene, supply)), default=now)
