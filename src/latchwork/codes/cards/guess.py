"""What can be guessed of a card's layout, and what a guess expects of another card."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from latchwork.codes.cards.layout import Layout, encode, frame_of_value
from latchwork.codes.cards.printing import groups, readings, turn_round
from latchwork.codes.cards.received import Received
from latchwork.codes.errors import CodesError

_TRIALS = 4


@dataclass(frozen=True, slots=True)
class Sample:
    """One card: the text on it and what was received for it."""

    printed: str
    received: Received


@dataclass(frozen=True, slots=True)
class Guess:
    """One explanation. ``share`` of all explanations, by likelihood, between 0 and 1.

    ``reads``: which printed number means what ("fields", "number only" or a printing's name).
    ``facility``: set where every card has the same and it is not printed. ``left_to_chance``:
    bits a card that nothing here explains.
    """

    layout: Layout
    reads: str
    swapped: bool
    turn: str
    facility: int | None
    left_to_chance: float
    share: float
    free: bool
    """Whether the layout was made up for these cards, none that is known being better."""
    above: int = 0
    """What stood above the printed bits, the same on every card."""


@dataclass(frozen=True, slots=True)
class Answer:
    """Explanations, the likeliest first. ``unexplained``: the share of "none of these"."""

    guesses: tuple[Guess, ...]
    unexplained: float

    @property
    def sure(self) -> bool:
        """Whether the best explanation is at least twenty times as likely as all others."""
        return bool(self.guesses) and self.guesses[0].share >= 0.95


@dataclass(frozen=True, slots=True)
class Weighed:
    """A guess and the bits it takes to say, what it leaves to chance included."""

    guess: Guess
    bits: float


def merged(guesses: Iterable[Guess], samples: Sequence[Sample]) -> tuple[Guess, ...]:
    """Guesses that expect the same of every card printed like these are one guess."""
    texts = [_like(s.printed, turn) for s in samples for turn in range(_TRIALS)]
    found: dict[tuple[object, ...], Guess] = {}
    for guess in guesses:
        key = (guess.swapped, *(expected_frame(guess, text) for text in texts))
        first = found.get(key)
        found[key] = guess if first is None else with_share(first, first.share + guess.share)
    return tuple(sorted(found.values(), key=lambda g: -g.share))


def _like(text: str, turn: int) -> str:
    """Another text of the same shape, the same every time: digits go on by different steps."""
    digits = [int(ch) for ch in text if ch.isdecimal()]
    fresh = iter((d + (turn + 3) * (i + 1) + turn * turn) % 10 for i, d in enumerate(digits))
    out, leading = [], True
    for ch in text:
        if not ch.isdecimal():
            out.append(ch)
            leading = True
            continue
        new = next(fresh)
        # A zero in front stays one, and the first other digit becomes a one: the shape tells
        # conventions apart, and a smaller number fits wherever the shown one did.
        first = leading and ch != "0"
        leading = leading and ch == "0"
        out.append("0" if leading else "1" if first else str(new))
    return "".join(out)


def with_share(guess: Guess, share: float) -> Guess:
    """The guess with its share."""
    return replace(guess, share=share)


def expected_frame(guess: Guess, printed: str) -> int | None:
    """What a card printed so would be received as, if the guess is right.

    None where the text does not fit it, or where bits are left to chance.
    """
    if guess.left_to_chance and not guess.free:
        return None
    try:
        frame = _frame(guess, printed)
    except CodesError:
        return None
    if frame is None:
        return None
    return frame ^ ((1 << guess.layout.bits) - 1) if guess.swapped else frame


def _frame(guess: Guess, printed: str) -> int | None:
    layout, numbers = guess.layout, groups(printed)
    if guess.reads == "fields":
        if len(numbers) != 2:
            return None
        return encode(layout, facility=numbers[0], number=numbers[1])
    if guess.reads == "number only":
        if len(numbers) != 1:
            return None
        if guess.facility is None:
            return encode(layout, number=numbers[0])
        return encode(layout, facility=guess.facility, number=numbers[0])
    for printing, value in readings(printed):
        if printing.name == guess.reads:
            width = len(layout.data_positions)
            both = min(width, printing.bits)
            whole = guess.above << both | value & ((1 << both) - 1)
            return frame_of_value(layout, turn_round(whole, width, guess.turn))
    return None


def frames_of(samples: Sequence[Sample], bits: int, swapped: bool) -> list[int] | None:
    """What was received, swapped back where asked; None where it is longer than ``bits``."""
    every = (1 << bits) - 1
    if any(s.received.value > every for s in samples):
        return None
    return [s.received.value ^ every if swapped else s.received.value for s in samples]
