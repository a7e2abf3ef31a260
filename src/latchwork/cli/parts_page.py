"""The pages that ``parts`` prints."""

from __future__ import annotations

from latchwork.answers.parts import FigureLine, PartAnswer, PartsAnswer, WordLine
from latchwork.cli.page import Page, cells, fitted, joined, printable
from latchwork.quantities import show
from latchwork.words import say

_LONGEST = 46


def parts_page(answer: PartsAnswer, width: int | None = None) -> str:
    """The list: a line a part."""
    page = Page(width)
    if not answer.parts:
        page.hang("", say("parts.none", {"words": answer.words}), 0)
        return page.text()
    at = min(max(cells(p.name) for p in answer.parts), _LONGEST) + 2
    for part in answer.parts:
        told = ", ".join((part.figures, *part.lock) if part.figures else part.lock)
        page.hang(printable(part.name), joined([told, part.about]), at, "quiet")
    page.line()
    page.line(say("parts.count", {"count": f"{len(answer.parts)}"}))
    return page.text()


def part_page(answer: PartAnswer, width: int | None = None) -> str:
    """All of one part."""
    page = Page(width)
    page.head(printable(answer.name))
    page.hang("", joined([answer.kind, answer.about]), 0, "quiet")
    if answer.also:
        page.hang(say("parts.also"), ", ".join(answer.also), 15)
    if answer.slots:
        page.hang(say("parts.slots"), ", ".join(answer.slots), 15)
    page.section(say("parts.terminals"))
    for name, does in answer.terminals.items():
        page.hang(f"  {name}", does, 15)
    page.section(say("parts.figures"))
    for figure in answer.figures:
        _figure(page, figure)
    if answer.settings:
        page.section(say("parts.settings"))
        for setting in answer.settings:
            _word(page, setting)
    if answer.more_words:
        page.section(say("parts.more"))
        for word in answer.more_words:
            _word(page, word)
    page.section(say("parts.states"))
    page.hang("", ", ".join(answer.states), 2)
    return page.text()


def _figure(page: Page, figure: FigureLine) -> None:
    amount = show(figure.value, figure.unit)
    if figure.low != figure.high:
        ends = {"low": show(figure.low, figure.unit), "high": show(figure.high, figure.unit)}
        amount = say("parts.range", ends)
    label = f"  {figure.word or say('parts.worked out')}"
    page.hang(f"{fitted(label, 27)} {amount}", "", 50)
    page.hang("", joined([figure.help, figure.source]), 4, "quiet")


def _word(page: Page, word: WordLine) -> None:
    page.hang(f"{fitted('  ' + word.word, 27)} {word.value or word.wants}", "", 50)
    choices = say("parts.may be", {"choices": word.wants}) if word.value and word.wants else ""
    page.hang("", joined([word.help, choices]), 4, "quiet")
