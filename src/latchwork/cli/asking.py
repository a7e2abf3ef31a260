"""Questions asked at the terminal, or answered by options."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, NoReturn, TypeVar

import click

from latchwork.cli.problems import UNUSABLE, stop

if TYPE_CHECKING:
    from latchwork.answers.interview import Answers, Ask, Known

Command = TypeVar("Command", bound=Callable[..., Any])


def options(**helps: str) -> Callable[[Command], Command]:
    """An option for each question, by its key."""

    def add(command: Command) -> Command:
        for key, text in reversed(helps.items()):
            name = key.replace("_", "-")
            command = click.option(f"--{name}", metavar="ANSWER", help=text)(command)
        return command

    return add


def given(values: dict[str, str | None]) -> dict[str, str]:
    """The answers that options gave, by the keys of their questions."""
    return {key.replace("_", "-"): value for key, value in values.items() if value is not None}


def answered(asks: Sequence[Ask], known: Known, said: dict[str, str], yes: bool) -> dict[str, str]:
    """The answer to every question that matters: from options first, then asked for, or with
    ``yes`` its default. Ends the command where an option cannot be used."""
    from latchwork.answers.interview import WrongAnswer, next_ask

    answers: dict[str, str] = {}
    while (ask := next_ask(asks, known, answers, said)) is not None:
        text = said.get(ask.key, ask.default(known, answers) if yes else None)
        if text is None:
            answers[ask.key] = _prompted(ask, known, answers)
            continue
        try:
            answers[ask.key] = ask.answer(known, answers, text)
        except WrongAnswer as wrong:
            _refused(f"--{ask.key}", wrong.found, wrong.expected)
    return answers


def all_used(said: dict[str, str], answers: Answers) -> None:
    """End the command where an option answers no question: nothing that was said is dropped."""
    for key, text in said.items():
        if key not in answers and text.casefold() not in ("no", "none"):
            _refused(f"--{key}", text, "nothing: beside the other answers nobody asks for it")


def _prompted(ask: Ask, known: Known, answers: Answers) -> str:
    from latchwork.answers.interview import WrongAnswer
    from latchwork.cli.page import printable
    from latchwork.words import say

    offers = ask.offers(known, answers)
    default = ask.default(known, answers)
    click.echo(say(f"ask.{ask.key}"))
    for number, offer in enumerate(offers, start=1):
        click.echo(f"  {number} {printable(offer)}")
    while True:
        text = _line(default)
        try:
            return ask.answer(known, answers, text)
        except WrongAnswer as wrong:
            told = {"found": wrong.found, "expected": wrong.expected}
            click.echo(say("ask.wrong", told), err=True)


def _line(default: str) -> str:
    from latchwork.words import say

    try:
        text = click.prompt(" ", default=default, prompt_suffix="> ", show_default=bool(default))
    except click.Abort:
        click.echo()
        click.echo(say("ask.stopped"), err=True)
        raise click.exceptions.Exit(UNUSABLE) from None
    return str(text)


def prompted_name(key: str) -> str:
    """A name asked for that may be left empty."""
    from latchwork.words import say

    click.echo(say(f"ask.{key}"))
    return _line("").strip()


def _refused(option: str, found: str, expected: str) -> NoReturn:
    from latchwork.findings.problems import Problem

    stop([Problem("", 0, 0, option, found, expected, "call.answer")])
