"""Verbs about one card: what a received number means, how it is printed, how it is laid out."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from latchwork.cli.codes.common import told
from latchwork.cli.codes.lists import layout_named

if TYPE_CHECKING:
    from latchwork.codes.cards.guess import Answer, Guess

_job_option = click.option(
    "--job", type=click.Path(path_type=Path), help="With the layouts.yaml of this job."
)


@click.command("card-read")
@click.argument("received", nargs=-1, required=True)
@click.option("--layout", default="26-bit", show_default=True)
@_job_option
def card_read(received: tuple[str, ...], layout: str, job: Path | None) -> None:
    """Say what a number RECEIVED from a reader means, and whether its data wires are swapped.

    \b
    Examples:
      latchwork codes card-read 0x05A6073
      latchwork codes card-read 26 bits 0x3A59F8C
    """
    from latchwork.codes.cards.layout import read_wire
    from latchwork.codes.cards.received import read_received
    from latchwork.words import say

    with told():
        found = layout_named(job, layout)
        reading = read_wire(found, read_received(" ".join(received)).value)
        shown = _numbers(reading.as_received.numbers)
        if reading.swapped is not None:
            facts = {"numbers": _numbers(reading.swapped.numbers)}
            click.echo(say("codes.card.swapped", facts))
            raise click.exceptions.Exit(1)
        if reading.as_received.broken:
            bits = ", ".join(map(str, reading.as_received.broken))
            click.echo(say("codes.card.parity", {"numbers": shown, "bits": bits}))
            raise click.exceptions.Exit(1)
        click.echo(say("codes.card.read", {"numbers": shown, "layout": found.name}))
        if not reading.swap_would_show:
            click.echo(say("codes.card.swap-hidden"))


def _numbers(numbers: dict[str, int]) -> str:
    return ", ".join(f"{name} {number}" for name, number in numbers.items())


@click.command("card-print")
@click.argument("number")
def card_print(number: str) -> None:
    """Every way in which a card's NUMBER (decimal, or hexadecimal with 0x) is printed.

    \b
    Example:
      latchwork codes card-print 0x0600BC614E
    """
    from latchwork.codes.cards.frame import IDENTIFIER_BITS, encode_frame
    from latchwork.codes.cards.printing import PRINTINGS, show
    from latchwork.codes.cards.received import read_received
    from latchwork.words import say

    with told():
        value = read_received(number).value
        for printing in PRINTINGS:
            if value >> printing.bits:
                continue
            click.echo(f"{printing.name:30} {show(printing, value)}")
        if value < 1 << IDENTIFIER_BITS:
            click.echo(f"{say('codes.card.frame'):30} {encode_frame(value):016X}")


@click.command("card-layout")
@click.argument("cards", nargs=-1, required=True, metavar="PRINTED=RECEIVED...")
@_job_option
def card_layout(cards: tuple[str, ...], job: Path | None) -> None:
    """Work out a card's layout from two or three cards: what is printed, what was received.

    \b
    Example:
      latchwork codes card-layout "45 12345=26 bits 0x05A6073" "45 12377=26 bits 0x05A60B3"

    Exits 1 where the answer is not sure.
    """
    from latchwork.codes.cards.describe import layouts_for, shipped_layouts
    from latchwork.codes.cards.guess import Sample
    from latchwork.codes.cards.infer import infer
    from latchwork.codes.cards.received import read_received
    from latchwork.codes.site import folder_of
    from latchwork.words import say

    with told():
        samples = []
        for text in cards:
            printed, sign, received = text.partition("=")
            if not sign:
                raise click.UsageError(say("codes.card.pair", {"text": text[:60]}))
            samples.append(Sample(printed.strip(), read_received(received)))
        known = layouts_for(folder_of(job) if job else None)
        own = [name for name in known if name not in shipped_layouts()]
        answer = infer(samples, known, own)
        _show(answer)
        if not answer.sure:
            raise click.exceptions.Exit(1)


def _show(answer: Answer) -> None:
    from latchwork.words import say

    if not answer.guesses or answer.unexplained > 0.5:
        click.echo(say("codes.card.none"))
        return
    for guess in answer.guesses[:3]:
        if guess.share >= 0.01:
            click.echo(f"{_share(guess.share):>8}  {_guess(guess)}")
    click.echo(say("codes.card.sure" if answer.sure else "codes.card.unsure"))


def _share(share: float) -> str:
    return "> 99.9 %" if share > 0.999 else f"{100 * share:.1f} %"


def _guess(guess: Guess) -> str:
    from latchwork.words import say

    parts = [guess.layout.name]
    if guess.free:
        parts += [
            f"{name}: {f.start}–{f.start + f.width - 1}"
            for name, f in guess.layout.fields.items()
            if name != "number"
        ]
    known = guess.reads in ("fields", "number only")
    parts.append(say(f"codes.card.reads.{guess.reads}") if known else guess.reads)
    if guess.turn:
        parts.append(guess.turn)
    if guess.facility is not None:
        parts.append(say("codes.card.facility", {"facility": str(guess.facility)}))
    if guess.swapped:
        parts.append(say("codes.card.pair-swapped"))
    if guess.left_to_chance:
        parts.append(say("codes.card.chance", {"bits": f"{guess.left_to_chance:.0f}"}))
    return " · ".join(parts)
