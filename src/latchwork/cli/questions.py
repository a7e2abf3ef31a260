"""``latchwork questions``: what to find out at the next visit."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from latchwork.cli.problems import unusable_told

if TYPE_CHECKING:
    from latchwork.answers.questions import AskLine, QuestionsAnswer
    from latchwork.cli.page import Page


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="The same facts for programs.")
def questions(job: Path, as_json: bool) -> None:
    """List what JOB guesses or does not know, the question that settles most first.

    Each guess is tried at its low and its high end, each unknown as what it may turn out to be;
    beside it stands what is then found, or not.
    """
    from latchwork.cli.progress import Progress

    with unusable_told(as_json), Progress() as progress:
        from latchwork.answers.questions import questions as asked

        answer = asked(job, progress.doors)
    if as_json:
        import msgspec

        click.echo(msgspec.json.encode(answer))
        return
    _page(answer)


def _page(answer: QuestionsAnswer) -> None:
    from latchwork.cli.page import Page
    from latchwork.words import say

    page = Page()
    if not answer.questions:
        page.line(say("questions.none"))
    settling = [q for q in answer.questions if q.settles]
    others = [q for q in answer.questions if not q.settles]
    for title, some in (("settle", settling), ("others", others)):
        if some:
            page.section(say(f"questions.{title}"))
        for number, line in enumerate(some, start=1):
            _question(page, line, f"{number:3d}")
    counts = {"findings": f"{answer.findings}", "provisional": f"{answer.provisional}"}
    page.line()
    page.hang("", say("questions.counts", counts), 0)
    click.echo(page.text())


def _question(page: Page, line: AskLine, number: str) -> None:
    from latchwork.cli.page import joined
    from latchwork.words import say

    names = ", ".join(line.names[:3]) + (" …" if len(line.names) > 3 else "")
    what = say("questions.core", {"cable": line.cable}) if line.cable else line.path
    page.hang(number, joined([what, names, line.said]), 5, "head")
    for each in line.settles:
        told = {"at": ", ".join(each.at), "title": each.title}
        mark = say(f"mark.{each.severity}")
        key = "questions.at" if each.at else "questions.uses"
        page.hang(f"     {mark}", say(key, told), 7, "", each.severity)
    if line.settles and line.tried:
        free = [name for name in line.tried if all(name not in each.at for each in line.settles)]
        if free:
            page.hang("", say("questions.free", {"at": ", ".join(free)}), 7, "quiet")
