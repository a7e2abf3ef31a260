"""The page that ``check`` prints: doors, supplies, findings worst first, the caution."""

from __future__ import annotations

from latchwork.answers.beyond import BEYOND
from latchwork.answers.model import (
    CheckAnswer,
    DoorLine,
    FindingLine,
    LockLine,
    QuestionLine,
    SupplyLine,
)
from latchwork.cli.page import (
    NARROWEST,
    Page,
    cells,
    fitted,
    joined,
    printable,
    tinted,
    typed,
    wrap,
)
from latchwork.quantities import show
from latchwork.words import has, say

SEVERITIES = ("danger", "insecure", "fails", "weak", "note")
STATES = (
    ("mains", "mains/normal/nobody"),
    ("battery", "battery at its end/normal/nobody"),
    ("lost", "all lost/normal/nobody"),
    ("fire", "mains/fire alarm/nobody"),
)
"""The columns of a lock's states: their words, and the situations they show."""
PANEL_LOST = "mains/fire panel lost/nobody"
OTHERS = (("all lost", "all lost", "normal"), ("fire", "mains", "fire alarm"))
LOADS = (
    "mains/normal",
    "every door granted at once",
    "power returns/normal",
    "mains/fire alarm",
    "battery/normal",
    "battery at its end/normal",
)
_STATE_WIDTH, _VOLTS_WIDTH = 9, 15
_NOTHING = "–"


def check_page(answer: CheckAnswer, job: str, width: int | None = None) -> str:
    """The whole page."""
    page, job = Page(width), typed(job)
    page.head(printable(answer.site or answer.file))
    _doors(page, answer)
    page.section(say("check.supplies"))
    for supply in answer.supplies:
        _supply(page, supply)
    _findings(page, answer.findings, job)
    page.line()
    counts = {"points": answer.points, "unsolved": answer.unsolved, "chattering": answer.chattering}
    page.hang("", say("check.counts", {k: str(v) for k, v in counts.items()}), 0, "quiet")
    if answer.provisional:
        told = {"count": f"{answer.provisional}", "job": job}
        page.hang("", say("check.provisional answers", told), 0, "quiet")
    if answer.unpinned:
        unpinned = {"count": f"{len(answer.unpinned)}", "job": job}
        page.hang("", say("pins.unpinned", unpinned), 0, "quiet")
    if answer.overtaken:
        overtaken = {"names": printable("; ".join(answer.overtaken)), "job": job}
        page.hang("", say("pins.overtaken", overtaken), 0)
    if answer.doors:
        worst = next((d for d in answer.doors if d.worst), answer.doors[0])
        page.line(tinted(say("check.one door", {"job": job, "door": typed(worst.id)}), "quiet"))
    page.hang("", answer.caution, 0)
    return page.text()


def mark(severity: str) -> str:
    """The shape of a severity; a blank for none."""
    return tinted(say(f"mark.{severity}"), severity) if severity else " "


def _doors(page: Page, answer: CheckAnswer) -> None:
    page.section(say("check.doors"))
    id_width = min(max((cells(d.id) for d in answer.doors), default=2), 10)
    # No further apart than names ask for: a row is followed with the eye.
    names = [d.name for d in answer.doors] + [
        lock.part for d in answer.doors for lock in d.locks[1:]
    ]
    room = id_width + 4 + max((cells(printable(name)) for name in names), default=0)
    table = _STATE_WIDTH * len(STATES) + _VOLTS_WIDTH
    states_at = max(NARROWEST, min(page.width, room + table)) - table
    heads = [wrap(say(f"check.head.{word}"), _STATE_WIDTH - 1) for word, _ in STATES]
    volts = wrap(say("check.head.volts"), _VOLTS_WIDTH - 1)
    for n in range(max(len(head) for head in (*heads, volts))):
        row = "".join(fitted(head[n] if n < len(head) else "", _STATE_WIDTH) for head in heads)
        last = volts[n] if n < len(volts) else ""
        page.line(tinted(f"{' ' * states_at}{row}{last:>{_VOLTS_WIDTH}}", "quiet"))
    for door in answer.doors:
        name_width = states_at - id_width - 4
        name = printable(door.name) if door.name != door.id else ""
        start = f"{fitted(printable(door.id), id_width)} {fitted(name, name_width)}"
        locks = door.locks or (None,)
        for n, lock in enumerate(locks):
            lead = f"{mark(door.worst)} {start} " if n == 0 else _second(lock, id_width, states_at)
            page.line(lead + (_states(lock) if lock else say("check.no lock")))
        questions = joined(_questions(door))
        page.hang("", questions, id_width + 3, "quiet")


def _second(lock: LockLine | None, id_width: int, states_at: int) -> str:
    indent = " " * (id_width + 3)
    return indent + fitted(printable(lock.part if lock else ""), states_at - id_width - 4) + " "


def _states(lock: LockLine) -> str:
    columns = "".join(
        fitted(say(f"state.{lock.states[key]}") if key in lock.states else _NOTHING, _STATE_WIDTH)
        for _, key in STATES
    )
    least = _NOTHING if lock.least_v is None else f"{lock.least_v:.2f}"
    volts = f"{least} / {lock.need_v:.2f} V"
    short = lock.least_v is not None and lock.least_v < lock.need_v
    return columns + tinted(f"{volts:>{_VOLTS_WIDTH}}", "weak" if short else "")


def _questions(door: DoorLine) -> list[str]:
    by = {(q.power, q.mode): q for q in door.questions}
    normal = by.get(("mains", "normal"))
    if normal is None:
        return []
    told = [say("check.normal", _in_out(door, normal))]
    if normal.enter_without_right:
        told.append(say("check.without right", {"how": _out(door, normal.enter_without_by)}))
    dead = normal.leave_unit_dead
    if (dead, normal.leave_unit_dead_by) != (normal.leave, normal.leave_by):
        told.append(say("check.unit dead", {"leave": _out(door, normal.leave_unit_dead_by)}))
    for word, power, mode in OTHERS:
        other = by.get((power, mode))
        if other is not None:
            ways = {other.enter_without_by, other.enter_with_by, other.leave_by}
            free = other.enter_without_right and len(ways) == 1
            key = "check.free" if free else "check.other"
            told.append(say(key, {"what": say(f"check.{word}"), **_in_out(door, other)}))
    for lock in door.locks:
        fire, panel = lock.states.get(STATES[-1][1]), lock.states.get(PANEL_LOST)
        if panel is not None and panel != fire:
            told.append(say("check.panel lost", {"state": say(f"state.{panel}")}))
    return told


def _in_out(door: DoorLine, question: QuestionLine) -> dict[str, str]:
    known = question.enter_with_right or question.enter_with_by == BEYOND
    enter = question.enter_with_by if known else "nothing"
    return {"enter": _short(enter), "leave": _out(door, question.leave_by)}


def _out(door: DoorLine, by: str) -> str:
    """What one passes by: what stands in the place of the bar may be a lever."""
    return _short("lever" if by == "bar" and door.out_by == "lever" else by)


def _short(by: str) -> str:
    return say(f"short.{by}") if has(f"short.{by}") else by


def _supply(page: Page, supply: SupplyLine) -> None:
    indent = 7
    limit = say("check.no limit")
    if supply.limit_a is not None:
        limit = say("check.limit", {"limit_a": supply.limit_a})
    margin = ""
    if supply.margin is not None:
        key = "check.margin" if supply.charge_a else "check.margin alone"
        margin = say(key, {"margin": f"{supply.margin:.2f}"})
    gives = [f"{supply.part}, {show(supply.volts_v, 'V')}", limit, margin]
    head = joined([supply.part, say("check.dead")] if supply.dead else gives)
    page.hang(f"  {fitted(printable(supply.id), indent - 3)}", head, indent)
    loads = [
        say(f"check.load.{key}", {"load_a": supply.loads_a.get(key, 0.0)})
        for key in LOADS
        if key == LOADS[0] or supply.loads_a.get(key)
    ]
    page.hang("", joined(loads), indent, "quiet")
    if supply.most_when and not supply.dead:
        most: dict[str, float | str] = {"most_a": supply.most_a, "charge_a": supply.charge_a}
        most["when"] = supply.most_when
        key = "check.most" if supply.charge_a else "check.most alone"
        page.hang("", say(key, most), indent, "quiet")


def _findings(page: Page, findings: tuple[FindingLine, ...], job: str) -> None:
    counts = {s: sum(f.severity == s for f in findings) for s in SEVERITIES}
    told = [f"{n} {say(f'severity.{s}')}" for s, n in counts.items() if n]
    page.section(f"{say('check.findings')}  {joined(told) or say('check.none')}")
    told_at: dict[tuple[str, str, str], str] = {}
    for n, finding in enumerate(findings):
        if n:
            page.line()
        text = finding.why, finding.do, finding.source_text
        _finding(page, finding, told_at.setdefault(text, finding.id))
        if finding.may_mend and finding.severity != "note":
            named = {"job": job, "finding": finding.id}
            _step_in(page, "mend", say("check.how to mend", named))


def _finding(page: Page, finding: FindingLine, told_at: str) -> None:
    """One finding: mark, word and title; one step in the reason, the remedy and the source, or at
    which finding (``told_at``) they have been said."""
    at = 12
    label = f"{say(f'mark.{finding.severity}')} {say(f'severity.{finding.severity}')}"
    page.hang(label, finding.title, at, "head", finding.severity)
    page.hang("", joined([finding.id, finding.situation]), at, "quiet")
    if told_at == finding.id:
        _step_in(page, "why", finding.why)
        _step_in(page, "do", finding.do)
        _step_in(page, "source", finding.source_text)
    else:
        page.hang("", say("check.as at", {"finding": told_at}), at, "quiet")
    if finding.provisional:
        _step_in(page, "provisional", ", ".join(finding.provisional))


def _step_in(page: Page, word: str, text: str) -> None:
    label = say(f"check.{word}")
    page.hang(f"{' ' * 12}{label}", text, 12 + max(len(label) + 1, 7))
