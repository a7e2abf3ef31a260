"""Contacts that people, doors and fire panels move: no power of their own."""

from __future__ import annotations

from collections.abc import Mapping

from latchwork.elements import Contact, Element, Expr, Flag, Input, Rule, Speed, StateRule
from latchwork.parts.given import Given, Unfit
from latchwork.parts.kinds.kind import Kind, Piece, assemble
from latchwork.parts.kinds.usual import ANY_WORDS, CONTACT_WORDS, contact
from latchwork.parts.model import Part
from latchwork.parts.vocabulary import Word, choice, count, yes_no

_REST = ("open at rest", "closed at rest", "changeover")

_WORDS: Mapping[str, Word] = {
    **ANY_WORDS,
    **CONTACT_WORDS,
    "contact": choice("contact", _REST, "its contact at rest; changeover has both"),
    "poles": count("poles", "how many contacts move together", ("1", "2")),
    "fire listed": yes_no("fire_listed", "whether it is listed for fire-rated doors"),
}


def _two_way(given: Given, moved: Expr) -> tuple[list[tuple[str, str]], tuple[Contact, ...]]:
    """COM, NO and NC of every pole; numbered where there are two."""
    poles = given.count("poles", 1)
    terminals: list[tuple[str, str]] = []
    contacts: list[Contact] = []
    for number in range(1, poles + 1):
        pole = str(number) if poles > 1 else ""
        com, no, nc = f"COM{pole}", f"NO{pole}", f"NC{pole}"
        terminals += [(com, "common"), (no, "open_at_rest"), (nc, "closed_at_rest")]
        contacts += [
            contact(given, no, com, no, moved),
            contact(given, nc, com, nc, ~moved, at_rest="closed"),
        ]
    return terminals, tuple(contacts)


def _switch(given: Given, moved: Expr, rules: tuple[StateRule, ...]) -> Part:
    """A switch with one plain contact (1, 2) or changeover contacts."""
    kind = given.word("contact")
    if kind == "changeover":
        terminals, contacts = _two_way(given, moved)
        return assemble(given, tuple(terminals), Piece(contacts, rules))
    if given.count("poles", 1) > 1:
        raise Unfit(
            "poles", f"2 of {kind}", "contact: changeover, of which one throw may stay free"
        )
    closed = moved if kind == "open at rest" else ~moved
    rest = "open" if kind == "open at rest" else "closed"
    only: Element = contact(given, "", "1", "2", closed, at_rest=rest)
    return assemble(given, (("1", "contact"), ("2", "contact")), Piece((only,), rules))


def pressed(given: Given) -> Part:
    """A button or key switch: flag ``pressed`` is set from outside."""
    return _switch(given, Flag("pressed"), (Input("pressed"),))


def pushed(given: Given) -> Part:
    """A bar or lever with a switch: flag ``pushed`` is set from outside."""
    return _switch(given, Flag("pushed"), (Input("pushed"),))


def pulled(given: Given) -> Part:
    """An emergency release: flag ``pulled`` is set from outside; NC opens when it is operated."""
    return _switch(given, Flag("pulled"), (Input("pulled"),))


def door_contact(given: Given) -> Part:
    """A contact moved by the leaf. At rest the door is shut."""
    return _switch(given, Flag("door:open"), ())


def latch_contact(given: Given) -> Part:
    """A contact moved by the latch. At rest the latch is thrown: it moves when it is drawn."""
    return _switch(given, ~Flag("door:latch_out"), ())


def fire_relay(given: Given) -> Part:
    """The fire panel's relay. Flag ``relay``: its coil is energised.

    Held "energised in normal" NO is closed while the panel is well, and opens on alarm and when
    the panel is lost. "Energised on alarm" moves on alarm only, and a lost panel moves nothing.
    """
    alarm, lost = Flag("site:fire_alarm"), Flag("site:panel_lost")
    normal = given.word("held") == "energised in normal"
    energised = ~alarm & ~lost if normal else alarm & ~lost
    return _switch(given, Flag("relay"), (Rule("relay", energised, Speed.RELAY),))


CONTACT_KINDS = (
    Kind("exit button", "button that asks to leave", _WORDS, pressed),
    Kind("bell button", "button that rings", _WORDS, pressed),
    Kind("key switch", "switch worked with a key", _WORDS, pressed),
    Kind("bar", "panic bar with a switch", _WORDS, pushed),
    Kind("lever", "lever with a switch", _WORDS, pushed),
    Kind("door contact", "contact moved by the leaf", _WORDS, door_contact),
    Kind("latch contact", "contact moved by the latch", _WORDS, latch_contact),
    Kind(
        "release",
        "emergency release",
        {
            **_WORDS,
            "resets": choice("resets", ("latching", "spring"), "by key, or by itself"),
        },
        pulled,
    ),
    Kind(
        "fire relay",
        "relay of the fire panel",
        {
            **_WORDS,
            "held": choice(
                "held",
                ("energised in normal", "energised on alarm"),
                "when the panel keeps its relay energised",
            ),
        },
        fire_relay,
    ),
)
