"""Powered units with a relay: exit sensors, delay modules, interposing relays."""

from __future__ import annotations

from latchwork.elements import (
    Diode,
    Element,
    Flag,
    Input,
    Resistor,
    ResistorRole,
    Rule,
    Sense,
    Speed,
    Timer,
    TimerMode,
)
from latchwork.parts.arithmetic import not_below, over
from latchwork.parts.given import Given
from latchwork.parts.kinds.kind import Kind, Piece, assemble
from latchwork.parts.kinds.usual import (
    ANY_WORDS,
    CONTACT_WORDS,
    ELECTRONICS_ALTERNATIVES,
    ELECTRONICS_WORDS,
    INPUT_WORDS,
    RATED_ALTERNATIVES,
    RATED_WORDS,
    RELAY_SENSES,
    changeover,
    dry_input,
    electronics,
    rated,
    track,
)
from latchwork.parts.model import Part
from latchwork.parts.vocabulary import Least, choice, figure, yes_no

_POWERED = {**ANY_WORDS, **RATED_WORDS, **CONTACT_WORDS, **ELECTRONICS_WORDS}
_ALTERNATIVES = (*RATED_ALTERNATIVES, *ELECTRONICS_ALTERNATIVES)
_CHANGEOVER = (
    ("COM", "relay_common"),
    ("NO", "relay_open_at_rest"),
    ("NC", "relay_closed_at_rest"),
)
_FEED = (("+", "feed_plus"), ("-", "feed_minus"))


def exit_sensor(given: Given) -> Part:
    """A powered sensor that asks to leave. Flag ``triggered`` is set from outside.

    "Energised when idle" drops its relay when it sees somebody, and when its power fails.
    """
    powered, seen = Flag("powered"), Flag("seen")
    moved = seen if given.word("relay") == "energised on grant" else ~seen
    hold = given.figure("relay_s")
    rules = (
        Input("triggered"),
        Timer("seen", powered & Flag("triggered"), hold, TimerMode.WHILE, clear=~powered),
        Rule("relay", powered & moved, Speed.RELAY),
    )
    return assemble(
        given,
        (*_FEED, *_CHANGEOVER),
        electronics(given, moved),
        rated(given),
        Piece(rules=rules),
        changeover(given, Flag("relay")),
    )


def delay_module(given: Given) -> Part:
    """A timer module: closing IN to GND moves its relay for a time."""
    powered = Flag("powered")
    watched, _, closed = dry_input(given, "IN", "GND", powered)
    mode = TimerMode.WHILE if given.word("trigger") == "level" else TimerMode.ON_RISE
    moved = Flag("granted") if given.word("relay") == "energised on grant" else ~Flag("granted")
    rules = (
        Timer("granted", closed, given.figure("relay_s"), mode, clear=~powered),
        Rule("relay", powered & moved, Speed.RELAY),
    )
    ground = track("ground track", "GND", "-", given.figure("track_ohm"))
    return assemble(
        given,
        (*_FEED, ("IN", "unlock_input"), ("GND", "ground"), *_CHANGEOVER),
        electronics(given, moved),
        rated(given),
        watched,
        Piece((ground,), rules),
        changeover(given, Flag("relay")),
    )


def relay(given: Given) -> Part:
    """An interposing relay, its coil between A1 and A2 (A1 to plus where a diode is built in)."""
    volts = given.figure("nominal_v")
    ohm = given.find("resistance_ohm") or over(volts, given.figure("current_a"))
    coil = Resistor(
        "coil", "A1", "A2", ohm, ResistorRole.COIL, impedance_ohm=given.find("impedance_ohm")
    )
    diode = given.yes("built_in_diode")
    elements: list[Element] = [coil]
    if diode:
        elements.append(Diode("diode", "A2", "A1"))
    drops = given.share("surely_release_v", "release_share", "nominal_v")
    fed = Sense(
        "coil_up",
        "A1",
        "A2",
        not_below(given.share("surely_pick_v", "pick_share", "nominal_v"), drops),
        drops,
        either_way=not diode,
        speed=Speed.RELAY,
    )
    return assemble(
        given,
        (("A1", "coil"), ("A2", "coil"), *_CHANGEOVER),
        rated(given),
        Piece(
            tuple(elements),
            (fed, Rule("relay", Flag("coil_up"), Speed.RELAY)),
            figures={"resistance_ohm": ohm, "current_a": over(volts, ohm)},
            facts={"polarised": diode},
        ),
        changeover(given, Flag("relay")),
    )


EXIT_SENSOR = Kind(
    "exit sensor",
    "powered sensor that asks to leave",
    {
        **_POWERED,
        "relay": choice("relay", RELAY_SENSES, "when the relay is energised"),
        "relay time": figure("relay_s", "s", "how long its contact stays moved"),
        "worked by hand": yes_no("worked_by_hand", "whether it wants a hand and sees nobody come"),
    },
    exit_sensor,
    _ALTERNATIVES,
)
DELAY = Kind(
    "delay module",
    "timer module",
    {
        **_POWERED,
        **INPUT_WORDS,
        "relay": choice("relay", RELAY_SENSES, "when the relay is energised"),
        "relay time": figure("relay_s", "s", "how long its contact stays moved"),
        "trigger": choice("trigger", ("edge", "level"), "once a closing of IN, or while closed"),
        "track resistance": figure("track_ohm", "Ω", "resistance of its inner tracks", Least.ZERO),
    },
    delay_module,
    _ALTERNATIVES,
)
RELAY = Kind(
    "relay",
    "interposing relay",
    {
        **ANY_WORDS,
        **RATED_WORDS,
        **CONTACT_WORDS,
        "current": figure("current_a", "A", "current of the coil at nominal volts"),
        "resistance": figure("resistance_ohm", "Ω", "resistance of the coil at 20 °C"),
        "impedance": figure("impedance_ohm", "Ω", "impedance of the coil on alternating current"),
        "picks up at": figure("surely_pick_v", "V", "from this on it surely picks up"),
        "lets go at": figure("surely_release_v", "V", "below this it surely lets go"),
        "picks up share": figure("pick_share", "1", "from this share on it surely picks up"),
        "lets go share": figure("release_share", "1", "below this share it surely lets go"),
        "works on": choice("current_kind", ("dc", "ac", "both"), "the kind of current"),
        "built-in diode": yes_no("built_in_diode", "whether a diode is built in (A1 to plus)"),
    },
    relay,
    (
        *RATED_ALTERNATIVES,
        ("current", "resistance"),
        ("picks up at", "picks up share"),
        ("lets go at", "lets go share"),
    ),
)
