"""Small things: diodes, varistors, bells and sounders."""

from __future__ import annotations

from latchwork.elements import Diode, Flag, Load, LoadLaw, Resistor, ResistorRole, Rule, Sense
from latchwork.parts.arithmetic import not_below, over
from latchwork.parts.given import Given
from latchwork.parts.kinds.kind import Kind, Piece, assemble
from latchwork.parts.kinds.usual import ANY_WORDS, RATED_ALTERNATIVES, RATED_WORDS, rated
from latchwork.parts.model import Part
from latchwork.parts.vocabulary import choice, figure


def diode(given: Given) -> Part:
    """A diode from A (anode) to K (cathode, the banded end)."""
    return assemble(given, (("A", "anode"), ("K", "cathode")), Piece((Diode("diode", "A", "K"),)))


def varistor(given: Given) -> Part:
    """A varistor: at the volts of a lock it conducts nothing that matters, so it has no element."""
    return assemble(given, (("1", "through"), ("2", "through")))


def bell(given: Given) -> Part:
    """A bell: an interrupter and coil, taken as the resistance of its mean current."""
    ohm = over(given.figure("nominal_v"), given.figure("current_a"))
    coil = Resistor("coil", "+", "-", ohm, ResistorRole.LOAD)
    return _heard(given, Piece((coil,), figures={"resistance_ohm": ohm}), polarised=False)


def sounder(given: Given) -> Part:
    """An electronic sounder: its current hardly follows its volts."""
    low = rated(given).figures["rated_low_v"].value
    load = Load("sounder", "+", "-", LoadLaw.CURRENT, given.figure("current_a"), 0.5 * low)
    return _heard(given, Piece((load,)), polarised=True)


def _heard(given: Given, piece: Piece, *, polarised: bool) -> Part:
    limits = rated(given)
    low = limits.figures["rated_low_v"]
    stops = given.figure("dies_v")
    heard = Sense("powered", "+", "-", not_below(low, stops), stops, either_way=not polarised)
    rules = Piece(rules=(heard, Rule("sounds", Flag("powered"))), facts={"polarised": polarised})
    terminals = (("+", "feed_plus"), ("-", "feed_minus"))
    return assemble(given, terminals, limits, piece, rules)


_HEARD = {
    **ANY_WORDS,
    **RATED_WORDS,
    "current": figure("current_a", "A", "current at nominal volts"),
    "needs at least": figure("dies_v", "V", "voltage below which it is not heard"),
    "works on": choice("current_kind", ("dc", "ac", "both"), "the kind of current"),
}

DIODE = Kind(
    "diode",
    "diode across a coil",
    {
        **ANY_WORDS,
        "rating": figure("rating_a", "A", "current it carries for ever"),
        "blocks up to": figure("blocks_v", "V", "highest reverse voltage"),
    },
    diode,
)
VARISTOR = Kind(
    "varistor",
    "varistor across a coil",
    {
        **ANY_WORDS,
        "works up to": figure("rated_high_v", "V", "highest voltage it may stand at for ever"),
        "clamps at": figure("clamps_v", "V", "voltage it holds a surge to"),
    },
    varistor,
)
BELL = Kind("bell", "bell or chime", _HEARD, bell, RATED_ALTERNATIVES)
SOUNDER = Kind("sounder", "electronic sounder", _HEARD, sounder, RATED_ALTERNATIVES)
