"""Units outside a controller: readers, and radio receivers."""

from __future__ import annotations

from latchwork.elements import Contact, Flag, Input, Rule, Speed, Timer, TimerMode
from latchwork.parts.given import Given
from latchwork.parts.kinds.kind import Kind, Piece, assemble
from latchwork.parts.kinds.usual import (
    ANY_WORDS,
    CONTACT_WORDS,
    ELECTRONICS_ALTERNATIVES,
    ELECTRONICS_WORDS,
    RATED_ALTERNATIVES,
    RATED_WORDS,
    READS,
    RELAY_SENSES,
    changeover,
    contact,
    electronics,
    rated,
)
from latchwork.parts.model import Part
from latchwork.parts.vocabulary import Least, choice, figure, text, yes_no

_READER_WORDS = {
    **ANY_WORDS,
    **RATED_WORDS,
    **CONTACT_WORDS,
    **ELECTRONICS_WORDS,
    "data resistance": figure("data_ohm", "Ω", "resistance of a data line pulled low", Least.ZERO),
    "credentials": text("credentials", "what it reads: card, code, finger"),
    "tamper terminal": yes_no("tamper_terminal", "whether its case contact has a terminal"),
}


def reader(given: Given) -> Part:
    """A reader: pulls one data line low and then the other while it reads a right credential.

    Flags ``credential`` and ``dead`` are set from outside. A frame is taken as its zeros on D0 and
    then its ones on D1: a data line is judged by its levels.
    """
    sends, ones = Flag("sends"), Flag("ones")
    ohm = given.figure("data_ohm")
    lines = Piece(
        (
            Contact("contact D0", "D0", "-", sends & ~ones, ohm),
            Contact("contact D1", "D1", "-", sends & ones, ohm),
        ),
        (
            Input("credential"),
            Rule("sends", Flag("powered") & Flag("credential")),
            Rule("ones", sends, READS),
        ),
    )
    terminals = [("+", "feed_plus"), ("-", "feed_minus"), ("D0", "data_0"), ("D1", "data_1")]
    tamper = Piece()
    if given.yes("tamper_terminal"):
        terminals.append(("TAMPER", "tamper_output"))
        shut = ~Flag("case_open")
        own = contact(given, "TAMPER", "TAMPER", "-", shut, at_rest="closed")
        tamper = Piece((own,), (Input("case_open"),))
    feed = electronics(given, sends)
    return assemble(given, tuple(terminals), feed, rated(given), lines, tamper)


_RADIO_WORDS = {
    **ANY_WORDS,
    **RATED_WORDS,
    **CONTACT_WORDS,
    **ELECTRONICS_WORDS,
    "relay time": figure("relay_s", "s", "how long its contact stays moved"),
    "relay": choice("relay", RELAY_SENSES, "when the relay is energised"),
    "trigger": choice("trigger", ("edge", "level"), "once a press, or while pressed"),
}


def radio(given: Given) -> Part:
    """A radio receiver: its relay moves for a time after a hand transmitter is pressed.

    Flag ``radio_sent`` is set from outside.
    """
    powered, granted = Flag("powered"), Flag("granted")
    mode = TimerMode.WHILE if given.word("trigger") == "level" else TimerMode.ON_RISE
    start = powered & Flag("radio_sent")
    moved = granted if given.word("relay") == "energised on grant" else ~granted
    rules = (
        Input("radio_sent"),
        Timer("granted", start, given.figure("relay_s"), mode, clear=~powered),
        Rule("relay", powered & moved, Speed.RELAY),
    )
    return assemble(
        given,
        (
            ("+", "feed_plus"),
            ("-", "feed_minus"),
            ("COM", "relay_common"),
            ("NO", "relay_open_at_rest"),
            ("NC", "relay_closed_at_rest"),
        ),
        electronics(given, granted),
        rated(given),
        Piece(rules=rules),
        changeover(given, Flag("relay")),
    )


_ALTERNATIVES = (*RATED_ALTERNATIVES, *ELECTRONICS_ALTERNATIVES)

READER = Kind("reader", "reader outside a controller", _READER_WORDS, reader, _ALTERNATIVES)
RADIO = Kind("radio", "radio receiver", _RADIO_WORDS, radio, _ALTERNATIVES)
