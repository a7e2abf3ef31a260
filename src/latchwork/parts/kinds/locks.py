"""Locks moved or held by a coil: electric strike, magnetic lock, solenoid bolt."""

from __future__ import annotations

from collections.abc import Mapping

from latchwork.elements import (
    GUESSES,
    TRUE,
    Bolt,
    Diode,
    Element,
    Expr,
    Figure,
    Flag,
    Load,
    LoadLaw,
    Resistor,
    ResistorRole,
    Sense,
    StateRule,
    Timer,
    exactly,
)
from latchwork.parts.arithmetic import less, not_below, over, scaled, times
from latchwork.parts.given import Given
from latchwork.parts.kinds.kind import Figures, Kind, Piece, assemble
from latchwork.parts.kinds.usual import (
    ANY_WORDS,
    CONTACT_WORDS,
    RATED_ALTERNATIVES,
    RATED_WORDS,
    contact,
    rated,
)
from latchwork.parts.model import Part
from latchwork.parts.vocabulary import Word, choice, figure, yes_no

COIL_WORDS: Mapping[str, Word] = {
    "current": figure("current_a", "A", "current of the coil at nominal volts, held"),
    "resistance": figure("resistance_ohm", "Ω", "direct-current resistance of the coil at 20 °C"),
    "impedance": figure("impedance_ohm", "Ω", "impedance of the coil on alternating current"),
    "power": figure("power_w", "W", "power of an electronically driven coil"),
    "pick-up current": figure("pick_up_a", "A", "current of the first moment, of a staged coil"),
    "pick-up time": figure("pick_up_s", "s", "how long the pick-up stage lasts"),
    "may pick up at": figure("may_pick_v", "V", "below this it never picks up"),
    "picks up at": figure("surely_pick_v", "V", "from this on it surely picks up"),
    "holds down to": figure("surely_hold_v", "V", "down to this it surely holds"),
    "lets go at": figure("surely_release_v", "V", "below this it surely lets go"),
    "may pick up share": figure("may_pick_share", "1", "below this share it never picks up"),
    "holds down to share": figure("hold_share", "1", "down to this share it surely holds"),
    "lets go share": figure("release_share", "1", "below this share it surely lets go"),
    "linked for": figure("linked_v", "V", "the voltage its links are set for"),
    "energised": choice("energised", ("locks", "unlocks"), "what current through the coil does"),
    "works on": choice("current_kind", ("dc", "ac", "both"), "the kind of current it is made for"),
    "polarised": yes_no("polarised", "whether plus and minus must not be swapped"),
    "suppression": choice(
        "suppression",
        ("built in", "built-in varistor", "needed", "forbidden"),
        "what takes up the coil's kick: a diode built in, a varistor built in, one to be fitted",
    ),
    "duty": choice("duty", ("continuous", "short"), "how long the coil may be energised"),
    "energised at most": figure("duty_s", "s", "longest time energised, for short duty"),
    "monitored": yes_no("monitored", "whether a contact tells that it is locked"),
    "fire listed": yes_no("fire_listed", "whether it is listed for fire-rated doors"),
    "holding force": figure("holding_n", "N", "force it holds against"),
}
COIL_ALTERNATIVES = (
    *RATED_ALTERNATIVES,
    ("current", "resistance", "power"),
    ("may pick up at", "may pick up share"),
    ("holds down to", "holds down to share"),
    ("lets go at", "lets go share"),
)

LINKS = {
    "volts": 1,
    "works from": 1,
    "works up to": 1,
    "may pick up at": 1,
    "picks up at": 1,
    "holds down to": 1,
    "lets go at": 1,
    "current": -1,
    "pick-up current": -1,
    "resistance": 2,
    "impedance": 2,
}
"""With which power of the volts it is linked for a figure goes: a coil linked for twice the volts
has its halves in series instead of side by side, and takes the same watts."""


def _settled(base: Figures, given: Figures) -> Figures:
    """The figures as the links are set: what is said over them is said of the lock so linked, as
    a meter finds it. A current is what it takes, on alternating current too: no impedance from
    before tells otherwise."""
    if "current" in given:
        base = {word: figure for word, figure in base.items() if word != "impedance"}
    link, volts = given.get("linked for") or base.get("linked for"), base.get("volts")
    if link is None or volts is None:
        return base
    factor = link.value / volts.value
    return {
        word: scaled(figure, factor ** LINKS[word]) if word in LINKS else figure
        for word, figure in base.items()
    }


LEAST_EXTRA = exactly(1e-3, "common practice, no source")
"""Amperes that a pick-up stage takes above the holding stage, at least."""


def _ends(given: Given) -> tuple[str, str]:
    return ("A1", "A2") if given.word("current_kind") == "ac" else ("+", "-")


def nominal(given: Given) -> tuple[Figure, float]:
    """Nominal volts as the links are set, and their factor over the volts that the figures are
    for, where a part has both in one go."""
    linked = given.find("linked_v")
    volts = given.figure("nominal_v")
    if linked is None:
        return volts, 1.0
    return linked, linked.value / volts.value


def _thresholds(given: Given, volts: Figure, low: Figure) -> dict[str, Figure]:
    """May pick up, surely picks up, surely holds, surely lets go; in order whatever is given."""

    def of(field: str, share: str) -> Figure:
        return given.find(field) or times(given.figure(share), volts)

    hold = of("surely_hold_v", "hold_share")
    # A magnet has nothing to move: where it surely holds, it surely pulls as well.
    pick = given.find("surely_pick_v") or (hold if given.kind == "magnet" else low)
    return {
        "may_pick_v": _lower(of("may_pick_v", "may_pick_share"), pick),
        "surely_pick_v": pick,
        "surely_hold_v": hold,
        "surely_release_v": _lower(of("surely_release_v", "release_share"), hold),
    }


def _lower(one: Figure, other: Figure) -> Figure:
    return one if one.value <= other.value else other


def _ends_v(figure: Figure) -> tuple[float, float]:
    """The ends of a threshold's range, beyond which it is sure, whichever lock of its make this one
    is. A guess stays as it is: what hangs on it is told by trying both its ends."""
    if figure.certainty in GUESSES:
        return figure.value, figure.value
    return figure.low, figure.high


def _coil(given: Given, volts: Figure, factor: float) -> tuple[Figure, Figure]:
    """Resistance and held current at nominal volts, whichever is given.

    A coil linked for twice the volts has its halves in series instead of side by side.
    """
    ohm = given.find("resistance_ohm")
    if ohm is None:
        current = given.figure("current_a")
        ohm = over(given.figure("nominal_v"), current)
    ohm = scaled(ohm, factor * factor)
    seen = given.find("impedance_ohm") if given.word("current_kind") == "ac" else None
    return ohm, over(volts, seen or ohm)


def _windings(given: Given, a: str, b: str, volts: Figure, low: Figure, factor: float) -> Piece:
    """The coil itself: plain, in two stages, or driven by electronics of its own."""
    watts = given.find("power_w")
    if watts is not None:
        load = Load("coil", a, b, LoadLaw.POWER, watts, 0.5 * low.value)
        return Piece((load,), figures={"current_a": over(watts, volts)})
    ohm, current = _coil(given, volts, factor)
    elements: list[Element] = [
        Resistor("coil", a, b, ohm, ResistorRole.COIL, impedance_ohm=given.find("impedance_ohm"))
    ]
    rules: list[StateRule] = []
    picking = given.find("pick_up_a")
    if picking is not None:
        extra = over(volts, not_below(less(picking, current), LEAST_EXTRA))
        elements.append(
            Resistor("pick-up coil", a, b, extra, ResistorRole.COIL, on=Flag("picking"))
        )
        start = scaled(volts, 0.5)
        rules.append(Sense("fed", a, b, start, scaled(volts, 0.25), either_way=True))
        rules.append(Timer("picking", Flag("fed"), given.figure("pick_up_s"), clear=~Flag("fed")))
    return Piece(
        tuple(elements), tuple(rules), figures={"resistance_ohm": ohm, "current_a": current}
    )


def coil_lock(given: Given) -> Part:
    """A strike, magnet or bolt: a coil with four thresholds, its diode and its contact.

    Flag ``energised``. The magnet's contact tells the bond, so it needs the door shut.
    """
    a, b = _ends(given)
    volts, factor = nominal(given)
    limits = rated(given)
    low, high = (scaled(limits.figures[f"rated_{end}_v"], factor) for end in ("low", "high"))
    thresholds = _thresholds(given, volts, low)
    windings = _windings(given, a, b, volts, low, factor)
    polarised = given.yes("polarised") or given.word("suppression") == "built in"
    # Only the first stage can move a staged coil; the second holds what has moved.
    moves: Expr = Flag("picking") | Flag("energised") if given.find("pick_up_a") else TRUE
    picks, picks_surely = _ends_v(thresholds["surely_pick_v"])
    lets_go, holds_surely = _ends_v(thresholds["surely_hold_v"])
    bolt = Bolt(
        "energised",
        a,
        b,
        # One of its make picks up, or holds, at the lower end already.
        may_pick_v=min(_ends_v(thresholds["may_pick_v"])[0], picks),
        surely_pick_v=picks_surely,
        surely_hold_v=holds_surely,
        surely_release_v=min(_ends_v(thresholds["surely_release_v"])[0], lets_go),
        either_way=not polarised,
        needs=moves,
    )
    lock = Piece(
        rules=(bolt,),
        figures={**thresholds, "nominal_v": volts, "rated_low_v": low, "rated_high_v": high},
        facts={"polarised": polarised, "duty": _duty(given)},
    )
    terminals = [(a, "feed_plus"), (b, "feed_minus")]
    if a == "A1":
        terminals = [(a, "coil"), (b, "coil")]
    extras: list[Element] = []
    if given.word("suppression") == "built in":
        extras.append(Diode("diode", b, a))
    if given.yes("monitored"):
        terminals += [("MON1", "locked_contact"), ("MON2", "locked_contact")]
        energised = Flag("energised")
        locked: Expr = energised if given.word("energised") == "locks" else ~energised
        if given.kind == "magnet":
            locked = locked & ~Flag("door:open")
        rest = "open" if given.word("energised") == "locks" else "closed"
        extras.append(contact(given, "MON", "MON1", "MON2", locked, at_rest=rest))
    return assemble(given, tuple(terminals), windings, lock, Piece(tuple(extras)))


def _duty(given: Given) -> str:
    """As it is said; whoever says how long the coil may be energised says: not for ever."""
    return str(given.settings.get("duty") or ("short" if given.find("duty_s") else "continuous"))


_WORDS = {**ANY_WORDS, **RATED_WORDS, **CONTACT_WORDS, **COIL_WORDS}

STRIKE = Kind("strike", "electric strike", _WORDS, coil_lock, COIL_ALTERNATIVES, _settled)
MAGNET = Kind("magnet", "magnetic lock", _WORDS, coil_lock, COIL_ALTERNATIVES, _settled)
BOLT = Kind("bolt", "solenoid bolt", _WORDS, coil_lock, COIL_ALTERNATIVES, _settled)
