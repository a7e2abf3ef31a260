"""What a kind of part is, and how its pieces are put together."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

from latchwork.elements import Element, Figure, StateRule
from latchwork.parts.given import Given, Setting
from latchwork.parts.model import Part, Terminal
from latchwork.parts.vocabulary import Word

Figures = Mapping[str, Figure]
"""Figures by the words people write."""


def _as_they_are(base: Figures, given: Figures) -> Figures:
    del given
    return base


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of part: the words it takes, and the function that builds a part from figures.

    ``alternatives`` are groups of words that say one thing in different ways ("resistance",
    "current"): whoever gives one of a group takes the others away. ``settled`` gives the figures of
    a part as those are that are ``given`` over them, such as for the voltage it is linked for.
    """

    name: str
    help: str
    words: Mapping[str, Word]
    build: Callable[[Given], Part]
    alternatives: tuple[tuple[str, ...], ...] = ()
    settled: Callable[[Figures, Figures], Figures] = _as_they_are

    def word(self, written: str) -> Word | None:
        """The word as people write it; "output 2 fuse" answers to "output * fuse"."""
        found = self.words.get(written)
        if found is not None:
            return found
        for word, name in self._named(written):
            return Word(word.field.replace("*", name), word.unit, word.help, word.takes)
        return None

    def screw(self, written: str) -> str:
        """The screw that a word is about: "2" of "output 2 fuse"; "" where it is about none."""
        if written in self.words:
            return ""
        return next((name for _, name in self._named(written)), "")

    def _named(self, written: str) -> Iterator[tuple[Word, str]]:
        for pattern, word in self.words.items():
            head, star, tail = pattern.partition("*")
            if star and written.startswith(head) and written.endswith(tail):
                name = written[len(head) : len(written) - len(tail)]
                if name and " " not in name:
                    yield word, name


@dataclass(frozen=True, slots=True)
class Piece:
    """Some elements and rules that belong together, with what they add to figures and facts."""

    elements: tuple[Element, ...] = ()
    rules: tuple[StateRule, ...] = ()
    figures: Mapping[str, Figure] = field(default_factory=dict)
    facts: Mapping[str, Setting] = field(default_factory=dict)


def assemble(given: Given, terminals: tuple[tuple[str, str], ...], *pieces: Piece) -> Part:
    """A part from its terminals (name, what it is for) and pieces.

    The part's figures and facts are all that was given, and what the pieces worked out.
    """
    figures = dict(given.figures)
    facts: dict[str, Setting] = dict(given.settings)
    for piece in pieces:
        figures.update(piece.figures)
        facts.update(piece.facts)
    return Part(
        name=given.name,
        kind=given.kind,
        terminals=tuple(Terminal(name, does) for name, does in terminals),
        elements=tuple(element for piece in pieces for element in piece.elements),
        rules=tuple(rule for piece in pieces for rule in piece.rules),
        figures=figures,
        facts=facts,
    )
