"""Door controllers: keypad, card, fingerprint, networked; with a reader port; one or two ways."""

from __future__ import annotations

from latchwork.elements import (
    FALSE,
    All,
    Any_,
    Element,
    Expr,
    Figure,
    Flag,
    Input,
    Latch,
    Rail,
    Rule,
    Sense,
    Speed,
    StateRule,
    Timer,
    TimerMode,
)
from latchwork.parts.arithmetic import not_below
from latchwork.parts.given import Given
from latchwork.parts.kinds.kind import Kind, Piece, assemble
from latchwork.parts.kinds.usual import (
    ANY_WORDS,
    CONTACT_WORDS,
    ELECTRONICS_ALTERNATIVES,
    ELECTRONICS_WORDS,
    INPUT_WORDS,
    PLACES,
    RATED_ALTERNATIVES,
    RATED_WORDS,
    READS,
    RELAY_SENSES,
    changeover,
    contact,
    dry_input,
    electronics,
    rated,
    track,
)
from latchwork.parts.model import Part
from latchwork.parts.vocabulary import Least, choice, count, figure, text, yes_no

_REFUSED = ("credentials", "everyone", "nothing")
POWERED = Flag("powered")

_WORDS = {
    **ANY_WORDS,
    **RATED_WORDS,
    **CONTACT_WORDS,
    **INPUT_WORDS,
    **ELECTRONICS_WORDS,
    "relay time": figure("relay_s", "s", "how long a grant lasts"),
    "relay": choice("relay", RELAY_SENSES, "when the relay is energised"),
    "ways": count("ways", "how many doors it serves", ("1", "2")),
    "exit acts on": choice("exit_acts_on", ("closed", "open"), "the contact that asks to leave"),
    "exit trigger": choice("exit_trigger", ("edge", "level"), "once a press, or while pressed"),
    "tamper refuses": choice("tamper_refuses", _REFUSED, "what an open case refuses"),
    "lockout refuses": choice("lockout_refuses", _REFUSED, "what too many wrong codes refuse"),
    "restart forgets": choice(
        "restart_forgets", ("grants", "grants and timed unlock"), "what is lost without power"
    ),
    "own keypad": yes_no("own_credential", "whether it has a keypad, card or finger face itself"),
    "credentials": text("credentials", "what it reads: code, card, finger"),
    "face at": choice("face_place", PLACES, "where its face is, when that is a unit of its own"),
    "reader port": yes_no("reader_port", "whether a reader can be connected (D0, D1, R+, R-)"),
    "reader volts": figure("reader_v", "V", "what it gives a reader, where not its own volts"),
    "tamper terminal": choice(
        "tamper_terminal",
        ("none", "output", "input"),
        "output: its own case contact to GND; input: a loop that must stay closed to GND",
    ),
    "contact input": yes_no("contact_input", "whether it watches a door contact"),
    "bell terminals": yes_no("bell_terminals", "whether it has a contact for a bell"),
    "networked": yes_no("networked", "whether it is run over a network"),
    "lock-out after": count("lockout_tries", "wrong codes before it locks itself out"),
    "lock-out time": figure("lockout_s", "s", "how long it stays locked out"),
    "user places": count("user_places", "how many users it holds"),
    "grammar": text("grammar", "the programming grammar it follows"),
    "track resistance": figure(
        "track_ohm", "Ω", "resistance of its inner ground and feed tracks", Least.ZERO
    ),
}


def _tamper(given: Given) -> tuple[Piece, Expr]:
    """What tells that the case is open: its own contact, and a loop where it has an input."""
    opened: Expr = Flag("case_open")
    inputs = Piece(rules=(Input("case_open"),))
    kind = given.word("tamper_terminal")
    if kind == "output":
        own = contact(given, "TAMPER", "TAMPER", "GND", ~opened, at_rest="closed")
        return Piece((own,), inputs.rules), opened
    if kind == "input":
        watched, loop_open, _ = dry_input(given, "TAMPER", "GND", POWERED)
        return Piece(watched.elements, inputs.rules + watched.rules), opened | loop_open
    return inputs, opened


def _reader_port(given: Given, way: str) -> tuple[Piece, Expr]:
    """D0 and D1 with their pull-ups; a read is each of them low while the other is high, as a frame
    is pulses on one of the two: lines that are stuck or joined read nothing."""
    elements: list[Element] = []
    rules: list[StateRule] = []
    high: list[Expr] = []
    for line in ("D0", "D1"):
        terminal = f"{line}_{way}" if way else line
        elements.append(
            Rail(
                f"pull-up {terminal}",
                terminal,
                "GND",
                given.figure("pull_up_v"),
                given.figure("pull_up_ohm"),
                on=POWERED,
            )
        )
        below = given.figure("input_low_v")
        above = not_below(given.figure("input_high_v"), below)
        rules.append(Sense(f"{terminal}_high", terminal, "GND", above, below, needs=POWERED))
        high.append(Flag(f"{terminal}_high"))
    read, zeros, ones = (f"{word}{way}" for word in ("read", "zeros", "ones"))
    over = ~POWERED | All(tuple(high))
    rules += [
        Latch(zeros, POWERED & ~high[0] & high[1], over),
        Latch(ones, POWERED & high[0] & ~high[1], over),
        Rule(read, POWERED & Flag(zeros) & Flag(ones), READS),
    ]
    return Piece(tuple(elements), tuple(rules)), Flag(read)


def _reader_feed(given: Given, ohm: Figure) -> Element:
    """R+: the controller's own plus, or a converter (see ``power.converters``)."""
    volts = given.find("reader_v")
    if volts is None:
        return track("reader feed", "+", "R+", ohm)
    return Rail("reader feed", "R+", "GND", volts, ohm, on=POWERED)


def _grants(given: Given, way: str, asked: Expr, code: Expr, refused: dict[str, Expr]) -> Piece:
    """From requests to the relay of one way. ``refused``: what refuses credentials, and exits."""
    relay_s = given.figure("relay_s")
    timed = f"timed_unlock{way}"
    by_code, by_exit, granted = (f"{word}{way}" for word in ("code_grant", "exit_grant", "granted"))
    level = given.word("exit_trigger") == "level"
    unlocked: Expr = Flag(timed)
    rules: list[StateRule] = [Input(timed)]
    if given.word("restart_forgets") == "grants and timed unlock":
        forgot = f"forgot_timed{way}"
        rules.append(Latch(forgot, Flag(timed) & ~POWERED, ~Flag(timed)))
        unlocked = Flag(timed) & ~Flag(forgot)
    rules += [
        Timer(by_code, POWERED & ~refused["credentials"] & code, relay_s, clear=~POWERED),
        Timer(
            by_exit,
            POWERED & ~refused["exits"] & asked,
            relay_s,
            TimerMode.WHILE if level else TimerMode.ON_RISE,
            clear=~POWERED,
        ),
        Rule(granted, POWERED & (Flag(by_code) | Flag(by_exit)), Speed.RELAY),
    ]
    opens: Expr = Flag(granted) | unlocked
    energised = opens if given.word("relay") == "energised on grant" else ~opens
    rules.append(Rule(f"relay{way}", POWERED & energised, Speed.RELAY))
    return Piece(rules=tuple(rules))


def _refusals(given: Given, tampered: Expr) -> dict[str, Expr]:
    """What refuses credentials and what refuses exit requests, by the tamper and lock-out rules."""
    causes = {given.word("tamper_refuses"): [tampered]}
    causes.setdefault(given.word("lockout_refuses"), []).append(Flag("locked_out"))
    everyone = causes.get("everyone", [])
    codes = everyone + causes.get("credentials", [])
    return {
        "exits": Any_(tuple(everyone)) if everyone else FALSE,
        "credentials": Any_(tuple(codes)) if codes else FALSE,
    }


def _way(given: Given, way: str, refused: dict[str, Expr]) -> tuple[Piece, ...]:
    """All of one way: its inputs, its requests, its relay."""
    watched, opened, closed = dry_input(given, f"EXIT{way}", "GND", POWERED)
    codes: list[Expr] = []
    pieces = [watched]
    if given.yes("own_credential"):
        pieces.append(Piece(rules=(Input(f"credential{way}"),)))
        codes.append(Flag(f"credential{way}"))
    if given.yes("reader_port"):
        port, read = _reader_port(given, way)
        pieces.append(port)
        codes.append(read)
    if given.yes("contact_input"):
        pieces.append(dry_input(given, f"CONTACT{way}", "GND", POWERED)[0])
    asked = closed if given.word("exit_acts_on") == "closed" else opened
    pieces.append(_grants(given, way, asked, Any_(tuple(codes)), refused))
    pieces.append(changeover(given, Flag(f"relay{way}"), way))
    return tuple(pieces)


def _terminals(given: Given, ways: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    found: list[tuple[str, str]] = [("+", "feed_plus"), ("-", "feed_minus")]
    for way in ways:
        found += [
            (f"COM{way}", "relay_common"),
            (f"NO{way}", "relay_open_at_rest"),
            (f"NC{way}", "relay_closed_at_rest"),
            (f"EXIT{way}", "exit_input"),
        ]
    found.append(("GND", "ground"))
    if given.word("tamper_terminal") != "none":
        found.append(("TAMPER", f"tamper_{given.word('tamper_terminal')}"))
    if given.yes("contact_input"):
        found += [(f"CONTACT{way}", "contact_input") for way in ways]
    if given.yes("bell_terminals"):
        found += [("BELL1", "bell_contact"), ("BELL2", "bell_contact")]
    if given.yes("reader_port"):
        for way in ways:
            tail = f"_{way}" if way else ""
            found += [(f"D0{tail}", "data_0"), (f"D1{tail}", "data_1")]
        found += [("R+", "reader_plus"), ("R-", "reader_minus")]
    return tuple(found)


def controller(given: Given) -> Part:
    """A controller: what asks to be let through, what refuses, and a relay with a changeover.

    Flags: ``credential``, ``case_open``, ``locked_out``, ``timed_unlock`` and ``dead`` are set
    from outside; ``powered``, ``granted`` and ``relay`` follow. The second way has a 2 behind.
    A grant by code and one by exit request run apart, so that a stuck button spoils no card.
    """
    ways = ("", "2") if given.count("ways", 1) == 2 else ("",)
    tamper, tampered = _tamper(given)
    refused = _refusals(given, tampered)
    ohm = given.figure("track_ohm")
    tracks: list[Element] = [track("ground track", "GND", "-", ohm)]
    if given.yes("reader_port"):
        tracks += [_reader_feed(given, ohm), track("reader minus", "R-", "-", ohm)]
    if given.yes("bell_terminals"):
        rung = POWERED & Flag("door:bell_pressed")
        tracks.append(contact(given, "BELL", "BELL1", "BELL2", rung))
    busy = Any_(tuple(Flag(f"relay{way}") for way in ways))
    return assemble(
        given,
        _terminals(given, ways),
        electronics(given, busy),
        rated(given),
        Piece(tuple(tracks), (Input("locked_out"),)),
        tamper,
        *(piece for way in ways for piece in _way(given, way, refused)),
    )


CONTROLLER = Kind(
    "controller",
    "door controller",
    _WORDS,
    controller,
    (*RATED_ALTERNATIVES, *ELECTRONICS_ALTERNATIVES),
)
