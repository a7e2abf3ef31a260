"""Keying a sheet in at the terminal, on a simulated controller that cannot be hurt."""

from __future__ import annotations

import string

import click

from latchwork.cli.codes.sheet_page import text_page
from latchwork.codes.keypad.grammar import CASE_BUTTON, Grammar
from latchwork.codes.keypad.job_sheet import ControllerSheet
from latchwork.codes.keypad.memory import memory_of
from latchwork.codes.keypad.proof import differences
from latchwork.codes.keypad.simulator import Answer, Controller, Press
from latchwork.words import say

END = "end"


def key_names(grammar: Grammar) -> dict[str, str]:
    """What to type for each key: itself, or a letter for one that keyboards lack."""
    letters = iter(c for c in string.ascii_lowercase if c not in grammar.keys)
    names = {k: k if k.isascii() else next(letters) for k in grammar.keys}
    return names | {CASE_BUTTON: CASE_BUTTON}


def read_line(grammar: Grammar, line: str) -> list[Press] | None:
    """What a typed line presses; None where a word of it is nothing.

    Words are keys, runs of figures, "card 12345", "wait 30" and "finger".
    """
    names = {typed.casefold(): key for key, typed in key_names(grammar).items()}
    presses: list[Press] = []
    words = iter(line.split())
    for word in words:
        low = word.casefold()
        if low in ("card", "wait"):
            value = next(words, "")
            if not (value.isascii() and value.isdecimal() and len(value) < 18):
                return None
            presses.append(Press(low, str(int(value))))
        elif low == "finger":
            presses.append(Press("finger", "1"))
        elif low in names:
            presses.append(Press("key", names[low]))
        elif word in grammar.keys:
            presses.append(Press("key", word))
        elif all(ch in grammar.keys for ch in word):
            presses += [Press("key", ch) for ch in word]
        else:
            return None
    return presses


def practise_sheet(made: ControllerSheet, show_codes: bool) -> None:
    """Lets a person key the sheet in, and says at the end whether it is what was meant."""
    grammar = made.grammar
    controller = Controller(grammar, made.sheet.begins_with)
    click.echo(text_page(made, 0, (), show_codes))
    typed = "  ".join(
        key if key == name else f"{key} = {name}" for key, name in key_names(grammar).items()
    )
    click.echo()
    click.echo(say("codes.practise.how", {"keys": typed}))
    while True:
        try:
            line = click.prompt("", prompt_suffix="> ", default="", show_default=False)
        except click.Abort:
            break
        if line.strip().casefold() == END:
            break
        presses = read_line(grammar, line)
        if presses is None:
            click.echo(say("codes.practise.what"))
            continue
        for answer in controller.play(presses)[-1:]:
            click.echo(f"   {_said(grammar, answer)}")
    meant = memory_of(made.sheet.ends_with).content()
    wrong = differences(controller.memory.content(), meant)
    if not controller.at_rest:
        wrong.append(say("codes.practise.open"))
    if wrong:
        click.echo(say("codes.practise.wrong", {"what": ", ".join(wrong[:12])}))
        raise click.exceptions.Exit(1)
    click.echo(say("codes.practise.right"))


def _said(grammar: Grammar, answer: Answer) -> str:
    signal = grammar.signals[answer.signal]
    return " · ".join(p for p in (signal.hear, signal.see, answer.shows) if p)
