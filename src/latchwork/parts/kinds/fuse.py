"""Fuses: wire fuses and self-resetting polymer fuses, alone and inside a supply."""

from __future__ import annotations

from collections.abc import Mapping

from latchwork.elements import Figure, Fuse
from latchwork.parts.arithmetic import scaled
from latchwork.parts.given import Given
from latchwork.parts.kinds.kind import Kind, Piece, assemble
from latchwork.parts.kinds.usual import ANY_WORDS
from latchwork.parts.model import Part
from latchwork.parts.vocabulary import Word, figure

FUSE_LAW_WORDS: Mapping[str, Word] = {
    "fuse resistance at 1 A": figure("fuse_1a_ohm", "Ω", "cold resistance of a 1 A fuse"),
    "fuse blows at": figure("fuse_blows_share", "1", "current that blows it, of its rating"),
}
_RESISTANCE_EXPONENT = 1.2


def fuse_of(
    given: Given, name: str, a: str, b: str, rating: Figure, *, resets: bool = False
) -> Fuse:
    """A fuse of that rating (A).

    Cold resistance R = R1 / I^1.2 (I in A; common practice, no source: a thinner wire is also
    shorter); it blows at ``fuse_blows_share`` times its rating.
    """
    given_ohm = given.find("fuse_ohm")
    ohm = given_ohm or scaled(given.figure("fuse_1a_ohm"), 1.0 / rating.value**_RESISTANCE_EXPONENT)
    blows_a = rating.value * given.figure("fuse_blows_share").value
    return Fuse(name, a, b, ohm, rating.value, blows_a, resets)


def fuse(given: Given) -> Part:
    """A fuse in a holder, between 1 and 2."""
    resets = given.kind == "polymer fuse"
    piece = fuse_of(given, "fuse", "1", "2", given.figure("rating_a"), resets=resets)
    return assemble(
        given,
        (("1", "through"), ("2", "through")),
        Piece((piece,), figures={"resistance_ohm": piece.ohm}),
    )


_WORDS = {
    **ANY_WORDS,
    **FUSE_LAW_WORDS,
    "rating": figure("rating_a", "A", "current it carries for ever"),
    "resistance": figure("fuse_ohm", "Ω", "cold resistance"),
}

FUSE = Kind("fuse", "wire fuse", _WORDS, fuse)
POLYMER_FUSE = Kind("polymer fuse", "self-resetting fuse", _WORDS, fuse)
