"""The page of one door whole: volts, amps and contacts, a column a step."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from latchwork.answers.detail import DetailAnswer, StepLine
from latchwork.cli.page import Page, cells, fitted, printable
from latchwork.words import say

_COLUMN = 10
_NONE = "–"
_SECTIONS = ("locks", "lock volts", "terminals", "cores", "currents", "contacts")
_QUIET_A = 5e-7
"""Amperes below half a microampere are shown as nothing."""


def door_page(answer: DetailAnswer, width: int | None = None) -> str:
    """The whole page."""
    page = Page(width)
    door = " ".join(dict.fromkeys((answer.door, answer.name)))
    title = {"door": door, "situation": answer.situation}
    page.head(printable(say("door.title", title)))
    figures = say("door.case", {"case": answer.case, "minus": answer.minus})
    page.hang("", figures, 0, "quiet")
    page.line()
    for n, step in enumerate(answer.steps, start=1):
        page.hang(f"  {n}", say(f"door.step.{step.step}", {"situation": step.situation}), 5)
        if not step.solved:
            page.hang("", say("door.unsolved"), 5, "fails")
        elif step.chatter:
            page.hang("", say("door.chatter"), 5, "fails")
    table = _Table(page, answer)
    table.section("locks", lambda s: s.locks, lambda s, k: say(f"state.{s.locks[k]}"))
    table.section("lock volts", lambda s: s.locks_v, lambda s, k: f"{s.locks_v[k]:.2f} V")
    table.section("terminals", lambda s: s.volts_v, _volts)
    table.section("cores", lambda s: s.cores_a, lambda s, k: _amps(s.cores_a[k]))
    table.section("currents", lambda s: s.drawn_a, lambda s, k: _amps(s.drawn_a[k]))
    table.section("contacts", lambda s: s.contacts, lambda s, k: say(f"door.{s.contacts[k]}"))
    for minus in dict.fromkeys(m for s in answer.steps for m in s.against.values()):
        page.hang("", say("door.against", {"minus": minus}), 0, "quiet")
    page.line()
    page.hang("", answer.caution, 0)
    return page.text()


class _Table:
    """Rows with a cell for each step."""

    def __init__(self, page: Page, answer: DetailAnswer) -> None:
        self.page, self.answer = page, answer
        names = {n for s in answer.steps for figures in _all(s) for n in figures}
        # No further apart than names ask for: a row is followed with the eye.
        longest = max((cells(self._label(name)) + 3 for name in names), default=0)
        heads = max(cells(say(f"door.{word}")) for word in _SECTIONS)
        self.at = min(page.width - _COLUMN * len(answer.steps), max(longest, heads))

    def section(
        self,
        word: str,
        names: Callable[[StepLine], Iterable[str]],
        cell: Callable[[StepLine, str], str],
    ) -> None:
        """A heading with the steps' numbers, and a row for every name; – where a step has none."""
        steps = self.answer.steps
        head = fitted(say(f"door.{word}"), self.at)
        self.page.section(head + "".join(f"{n + 1:>{_COLUMN}}" for n in range(len(steps))))
        for name in dict.fromkeys(n for step in steps for n in names(step)):
            told = [cell(s, name) if name in set(names(s)) else _NONE for s in steps]
            row = "".join(f"{text:>{_COLUMN}}" for text in told)
            self.page.line(fitted(f"  {self._label(name)}", self.at - 1) + " " + row)

    def _label(self, name: str) -> str:
        """The name without the door's own id; a core with its ends."""
        own = f"{self.answer.door}."
        ends = self.answer.cores.get(name)
        label = name.removeprefix(own)
        if ends is not None:
            label += "  " + " → ".join(end.removeprefix(own) for end in ends)
        return printable(label)


def _all(step: StepLine) -> Iterable[Mapping[str, object]]:
    return step.locks, step.locks_v, step.volts_v, step.cores_a, step.drawn_a, step.contacts


def _volts(step: StepLine, name: str) -> str:
    volts = step.volts_v[name]
    if volts is None:
        return say("door.floating")
    mark = "*" if name in step.against else ""
    return f"{round(volts, 2) + 0.0:.2f} V{mark}"


def _amps(amps: float) -> str:
    return "0 A" if abs(amps) < _QUIET_A else f"{amps:.3f} A"
