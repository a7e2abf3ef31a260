"""The answer of ``questions``: what to find out at the next visit, what settles most first."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import msgspec

from latchwork.answers.check import finding_line
from latchwork.answers.opening import open_job
from latchwork.behaviour import SiteOutcome, behave
from latchwork.findings import Severity
from latchwork.remedies import Scene, Settled, settled
from latchwork.rules import judge

FORM = 1


class HangingLine(msgspec.Struct, frozen=True):
    """A finding that hangs on the question. ``at``: the answers with which it is found."""

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


class QuestionsAnswer(msgspec.Struct, frozen=True):
    """Every question. ``latchwork_questions`` is the version of this form."""

    latchwork_questions: int
    file: str
    questions: tuple[AskLine, ...]
    findings: int
    """Findings at "weak" or worse as the job stands."""
    provisional: int
    """Those of them that hang on guesses."""


def questions(path: Path, progress: Callable[[int, int], None] | None = None) -> QuestionsAnswer:
    """What the job in a folder or a file guesses or does not know. Raises as ``open_job``."""
    opened = open_job(path)
    folder = opened.folder
    site = behave(opened.wiring)
    scene = Scene(folder.text, str(folder.job_file), opened.used, site)
    found = [f for f in judge(site) if f.severity <= Severity.WEAK]
    return QuestionsAnswer(
        FORM,
        str(folder.job_file),
        tuple(_line(one, site) for one in settled(scene, progress)),
        len(found),
        sum(bool(f.provisional) for f in found),
    )


def _line(one: Settled, site: SiteOutcome) -> AskLine:
    doubt = one.doubt
    lines = []
    for each in one.hanging:
        line = finding_line(each.finding, site)
        lines.append(
            HangingLine(line.id, line.rule, line.severity, line.subject, line.title, each.at)
        )
    doors = site.plan.doors
    return AskLine(
        doubt.path,
        tuple(doors[d].door.name for d in doors if d in doubt.doors),
        doubt.said,
        tuple(name for name, _ in doubt.tries),
        tuple(lines),
    )
