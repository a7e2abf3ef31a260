"""A new kind of lock takes less than 60 lines; this one was made up for the test."""

from __future__ import annotations

import inspect

from latchwork.elements import Bolt, Figure, Flag, Resistor, ResistorRole
from latchwork.parts import Kind, Part, PartSpec, states_of
from latchwork.parts.given import Given
from latchwork.parts.kinds.kind import Piece, assemble
from latchwork.parts.kinds.usual import ANY_WORDS, CONTACT_WORDS, contact
from latchwork.parts.vocabulary import figure
from tests.parts.test_locks import said


def turnstile(given: Given) -> Part:
    """A coil that frees a turnstile, with a contact that tells when it is free."""
    volts = given.figure("nominal_v").value
    coil = Resistor("coil", "+", "-", given.figure("resistance_ohm"), ResistorRole.COIL)
    bolt = Bolt("energised", "+", "-", 0.5 * volts, 0.85 * volts, 0.5 * volts, 0.1 * volts)
    free = contact(given, "FREE", "F1", "F2", Flag("energised"))
    return assemble(
        given,
        (("+", "feed_plus"), ("-", "feed_minus"), ("F1", "contact"), ("F2", "contact")),
        Piece((coil, free), (bolt,), facts={"energised": "unlocks"}),
    )


TURNSTILE = Kind(
    "turnstile",
    "turnstile freed by a coil",
    {
        **ANY_WORDS,
        **CONTACT_WORDS,
        "volts": figure("nominal_v", "V", "nominal voltage"),
        "resistance": figure("resistance_ohm", "Ω", "resistance of the coil"),
    },
    turnstile,
)


def test_it_resolves_takes_words_and_has_its_states() -> None:
    spec = PartSpec(
        "turnstile 24 V",
        TURNSTILE,
        {
            "volts": Figure(24.0, 24.0, 24.0),
            "resistance": Figure(60.0, 57.0, 63.0),
            "contact resistance": Figure(0.05, 0.02, 0.1),
        },
        {},
    )
    part = spec.resolve({"resistance": said(48.0, "Ω")})
    assert [terminal.name for terminal in part.terminals] == ["+", "-", "F1", "F2"]
    assert part.figures["resistance_ohm"].value == 48.0
    assert {"coil open", "contact FREE welded", "missing"} <= {s.name for s in states_of(part)}


def test_it_is_short() -> None:
    text = inspect.getsource(inspect.getmodule(turnstile) or turnstile)
    start, end = text.index("def turnstile"), text.index("def test_it_resolves")
    assert text[start:end].count("\n") < 60
