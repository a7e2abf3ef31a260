"""The answer of ``questions``: what to find out at the next visit, what settles most first."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import msgspec

from latchwork.answers.check import finding_line
from latchwork.answers.opening import today
from latchwork.behaviour import SiteOutcome, behave
from latchwork.findings import Finding, Severity
from latchwork.opening import open_job
from latchwork.remedies.guessing import ASSUMED, CATALOGUE, Settled, settled
from latchwork.remedies.scene import Scene
from latchwork.rules import judge

FORM = 1


class HangingLine(msgspec.Struct, frozen=True):
    """A finding that hangs on the question. ``at``: the answers with which it is found; empty
    where none could be tried."""

    finding: str
    rule: str
    severity: str
    subject: str
    title: str
    at: tuple[str, ...]


class AskLine(msgspec.Struct, frozen=True):
    """One question. ``said`` is what the file says now, ``tried`` the answers that were tried;
    empty where the model cannot try any."""

    path: str
    names: tuple[str, ...]
    """Of the doors it concerns."""
    said: str
    tried: tuple[str, ...]
    settles: tuple[HangingLine, ...]

    @property
    def cable(self) -> str:
        """The cable type of which it asks what a core reads, "" where it asks something else."""
        name = self.path.removeprefix(CATALOGUE)
        # Figures of a user's own parts, which stand under that path too, cannot be tried.
        return name if name != self.path and self.tried else ""


class QuestionsAnswer(msgspec.Struct, frozen=True):
    """Every question. ``latchwork_questions`` is the version of this form."""

    latchwork_questions: int
    file: str
    questions: tuple[AskLine, ...]
    findings: int
    """Findings at "weak" or worse as the job stands."""
    provisional: int
    """Those of them that hang on guesses: each is told at the question that settles it."""


def questions(path: Path, progress: Callable[[int, int], None] | None = None) -> QuestionsAnswer:
    """What the job in a folder or a file guesses or does not know. Raises as ``open_job``."""
    opened = open_job(path)
    folder = opened.folder
    site = behave(opened.wiring)
    scene = Scene(folder.text, str(folder.job_file), opened.used, site)
    found = [f for f in judge(site, today()) if f.severity <= Severity.WEAK]
    asked = [_line(one, site) for one in settled(scene, progress)]
    settling = sum(bool(q.settles) for q in asked)
    own = list(_of_own_parts(found, {q.path for q in asked}, site))
    asked[settling:settling] = own
    hang = {(h.rule, h.subject) for q in asked for h in q.settles}
    return QuestionsAnswer(
        FORM,
        str(folder.job_file),
        tuple(asked),
        len(found),
        sum((f.rule, f.subject) in hang for f in found),
    )


def _of_own_parts(found: list[Finding], asked: set[str], site: SiteOutcome) -> Iterator[AskLine]:
    """Figures that a user's own parts only guess, with the findings that use them: their data
    sheets settle them."""
    hanging: dict[str, list[Finding]] = {}
    for finding in found:
        for path in finding.provisional:
            if path.startswith(CATALOGUE) and path not in asked:
                hanging.setdefault(path, []).append(finding)
    for path, findings in sorted(hanging.items(), key=lambda each: (-len(each[1]), each[0])):
        lines = tuple(_hanging(finding, (), site) for finding in findings)
        yield AskLine(path, (), ASSUMED, (), lines)


def _hanging(finding: Finding, at: tuple[str, ...], site: SiteOutcome) -> HangingLine:
    line = finding_line(finding, site)
    return HangingLine(line.id, line.rule, line.severity, line.subject, line.title, at)


def _line(one: Settled, site: SiteOutcome) -> AskLine:
    doubt = one.doubt
    lines = [_hanging(each.finding, each.at, site) for each in one.hanging]
    doors = site.plan.doors
    return AskLine(
        doubt.path,
        tuple(doors[d].door.name for d in doors if d in doubt.doors),
        doubt.said,
        tuple(name for name, _ in doubt.tries),
        tuple(lines),
    )
