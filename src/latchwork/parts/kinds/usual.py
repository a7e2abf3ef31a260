"""Words that many kinds take, and pieces that many kinds are made of."""

from __future__ import annotations

from collections.abc import Mapping

from latchwork.elements import (
    Contact,
    Element,
    Expr,
    Figure,
    Flag,
    Input,
    Load,
    LoadLaw,
    Rail,
    Resistor,
    ResistorRole,
    Rule,
    Sense,
    Speed,
)
from latchwork.parts.arithmetic import less, not_below, over, times
from latchwork.parts.given import Given
from latchwork.parts.kinds.kind import Piece
from latchwork.parts.vocabulary import Least, Word, choice, figure, text

PLACES = ("inside", "outside", "weather")

ANY_WORDS: Mapping[str, Word] = {
    "made for": choice("made_for", PLACES, "where it may be fitted"),
    "ingress": text("ingress", "protection against dust and water (IEC 60529), IP54"),
    "impact": text("impact", "protection against knocks (IEC 62262), IK08; kept only"),
    "coldest": figure("coldest_c", "°C", "lowest temperature it is made for", Least.ANY),
    "hottest": figure("hottest_c", "°C", "highest temperature it is made for", Least.ANY),
}

RATED_WORDS: Mapping[str, Word] = {
    "volts": figure("nominal_v", "V", "nominal voltage"),
    "works from": figure("rated_low_v", "V", "lowest rated voltage"),
    "works up to": figure("rated_high_v", "V", "highest rated voltage"),
    "works from share": figure("rated_low_share", "1", "lowest rated voltage, of nominal"),
    "works up to share": figure("rated_high_share", "1", "highest rated voltage, of nominal"),
}
RATED_ALTERNATIVES = (("works from", "works from share"), ("works up to", "works up to share"))

CONTACT_WORDS: Mapping[str, Word] = {
    "contact resistance": figure("contact_ohm", "Ω", "resistance of a closed contact", Least.ZERO),
    "switches": figure("contact_a", "A", "most current its contacts may switch"),
}

FED_WORDS: Mapping[str, Word] = {
    "current": figure("idle_a", "A", "current at rest", Least.ZERO),
    "power": figure("idle_w", "W", "power at rest", Least.ZERO),
    "restarts at": figure("restart_v", "V", "voltage at which it starts again"),
    "needs at least": figure("dies_v", "V", "voltage below which it stops"),
}
FED_ALTERNATIVES = (("current", "power"),)

ELECTRONICS_WORDS: Mapping[str, Word] = {
    **FED_WORDS,
    "busy current": figure("busy_a", "A", "current while it acts, or its relay is up", Least.ZERO),
    "busy power": figure("busy_w", "W", "power while it acts, or its relay is up", Least.ZERO),
}
ELECTRONICS_ALTERNATIVES = (*FED_ALTERNATIVES, ("busy current", "busy power"))

INPUT_WORDS: Mapping[str, Word] = {
    "pull-up": figure("pull_up_ohm", "Ω", "pull-up resistance of its inputs"),
    "pull-up volts": figure("pull_up_v", "V", "voltage of the pull-up"),
    "input open above": figure("input_high_v", "V", "an input above this counts as open"),
    "input closed below": figure("input_low_v", "V", "an input below this counts as closed"),
}

READS = Speed.LOCK
"""Inputs are read, bounce and all, after relays have moved and pull-ups are up: else every start
of a unit would look like a request (common practice, no source)."""

RELAY_SENSES = ("energised on grant", "energised when idle")


def rated(given: Given) -> Piece:
    """The voltages between which a part may be used, from what is given or a share of nominal."""
    return Piece(
        figures={
            "rated_low_v": given.share("rated_low_v", "rated_low_share", "nominal_v"),
            "rated_high_v": given.share("rated_high_v", "rated_high_share", "nominal_v"),
        }
    )


def electronics(given: Given, busy: Expr | None = None) -> Piece:
    """What a powered unit takes, and when it lives: flags ``powered`` and ``dead``.

    It starts at ``restart_v``, stops below ``dies_v``, and takes more while ``busy``: with a relay
    that is energised when idle, at rest. Below ``dies_v`` the load fades as a resistance, for the
    moment until it stops.
    """
    powered = Flag("powered")
    floor_v = given.figure("dies_v").value
    by_power = given.find("idle_w") is not None
    idle = given.figure("idle_w" if by_power else "idle_a")
    rest = LoadLaw.POWER if by_power else LoadLaw.CURRENT
    elements: list[Element] = [Load("electronics", "+", "-", rest, idle, floor_v, on=powered)]
    if busy is not None and (more := _busy(given, idle, by_power)) is not None:
        law, extra = more
        elements.append(Load("busy", "+", "-", law, extra, floor_v, on=powered & busy))
    stops = given.figure("dies_v")
    starts = not_below(given.figure("restart_v"), stops)
    alive = Sense("powered", "+", "-", starts, stops, needs=~Flag("dead"))
    return Piece(tuple(elements), (Input("dead"), alive))


def _busy(given: Given, idle: Figure, by_power: bool) -> tuple[LoadLaw, Figure] | None:
    """What a unit takes more than at rest while it acts.

    Where one is said in watts and the other in amperes it takes no less than what is said, at any
    volts that it works from.
    """
    if (watts := given.find("busy_w")) is not None:
        low_v = given.share("rated_low_v", "rated_low_share", "nominal_v")
        return LoadLaw.POWER, less(watts, idle if by_power else times(idle, low_v))
    if (amps := given.find("busy_a")) is not None:
        high_v = given.share("rated_high_v", "rated_high_share", "nominal_v")
        return LoadLaw.CURRENT, less(amps, over(idle, high_v) if by_power else idle)
    return None


def contact(
    given: Given, label: str, a: str, b: str, closed: Expr, *, at_rest: str = "open"
) -> Contact:
    """One contact, called "contact NO" after its label, or plain "contact"."""
    rating = given.find("contact_a")
    return Contact(
        f"contact {label}".rstrip(),
        a,
        b,
        closed,
        given.figure("contact_ohm"),
        rating_a=None if rating is None else rating.value,
        at_rest=at_rest,
    )


def changeover(given: Given, moved: Expr, way: str = "") -> Piece:
    """COM with NO and NC: NO closes and NC opens while ``moved`` is true."""
    com = f"COM{way}"
    return Piece(
        (
            contact(given, f"NO{way}", com, f"NO{way}", moved),
            contact(given, f"NC{way}", com, f"NC{way}", ~moved, at_rest="closed"),
        )
    )


def dry_input(given: Given, terminal: str, ground: str, alive: Expr) -> tuple[Piece, Expr, Expr]:
    """An input that watches a dry contact to ``ground`` through its own pull-up.

    Returns the piece and two expressions, "seen open" and "seen closed", both false while the
    unit is dead. The two are rules of the class ``READS``, slower than the contacts they read.
    """
    high, opened, closed = (f"{terminal}_{word}" for word in ("high", "open", "closed"))
    piece = Piece(
        (
            Rail(
                f"pull-up {terminal}",
                terminal,
                ground,
                given.figure("pull_up_v"),
                given.figure("pull_up_ohm"),
                on=alive,
            ),
        ),
        (
            Sense(
                high,
                terminal,
                ground,
                not_below(given.figure("input_high_v"), given.figure("input_low_v")),
                given.figure("input_low_v"),
                needs=alive,
            ),
            Rule(opened, alive & Flag(high), READS),
            Rule(closed, alive & ~Flag(high), READS),
        ),
    )
    return piece, Flag(opened), Flag(closed)


def track(name: str, a: str, b: str, ohm: Figure) -> Resistor:
    """A conductor inside a part that joins two of its terminals."""
    return Resistor(name, a, b, ohm, ResistorRole.INTERNAL)
