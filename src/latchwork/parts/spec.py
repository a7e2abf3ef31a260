"""A catalogue entry, and how it becomes a part once a job has said what differs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Protocol

from latchwork.elements import Certainty, Figure
from latchwork.findings.problems import Problem
from latchwork.parts.given import Given, MissingFigure, Setting, Unfit
from latchwork.parts.kinds.kind import Kind
from latchwork.parts.model import Part
from latchwork.parts.names import nearest
from latchwork.parts.problems import PartsErrors
from latchwork.parts.vocabulary import Least, Takes, Word

FROM_JOB = "as written in the job"


class Written(Protocol):
    """A number as a job says it: SI value and range, its unit's symbol, how it is known."""

    @property
    def value(self) -> float: ...
    @property
    def low(self) -> float: ...
    @property
    def high(self) -> float: ...
    @property
    def unit(self) -> str: ...
    @property
    def certainty(self) -> Certainty: ...


class WordError(ValueError):
    """A word cannot take what was put to it. ``expected`` says what it takes."""

    def __init__(self, found: str, expected: str, code: str) -> None:
        super().__init__(expected)
        self.found = found
        self.expected = expected
        self.code = code


def find_word(kind: Kind, written: str, besides: tuple[str, ...] = ()) -> Word:
    """The kind's word, or WordError with the nearest it takes; ``besides`` are names that could
    have been meant as well."""
    word = kind.word(written)
    if word is None:
        close = nearest(written, (*kind.words, *besides))
        hint = ", ".join(close) if close else ", ".join(sorted(kind.words))
        raise WordError(written, f"a word that a {kind.name} takes, such as {hint}", "part.word")
    return word


def setting_for(word: Word, written: Setting) -> Setting:
    """The setting a word takes, or WordError."""
    said = str(written).strip()
    folded = said.casefold()
    if word.takes is Takes.CHOICE:
        for option in word.choices:
            if folded.replace("-", " ") == option.casefold().replace("-", " "):
                return option
        raise WordError(said, word.wants(), "part.choice")
    if word.takes is Takes.YES_NO:
        if folded in ("yes", "true"):
            return True
        if folded in ("no", "false"):
            return False
        raise WordError(said, word.wants(), "part.yes-no")
    if word.takes is Takes.COUNT:
        if said.isdecimal() and len(said) <= 9 and (not word.choices or said in word.choices):
            return int(said)
        raise WordError(said, word.wants(), "part.count")
    if word.takes is Takes.TEXT:
        return said
    raise WordError(said, word.wants(), "part.figure")


def figure_for(word: Word, written: Written) -> Figure:
    """The figure a word takes, or WordError where the unit is another."""
    if word.takes is not Takes.FIGURE:
        raise WordError(f"{written.value:g} {written.unit}", word.wants(), "part.not-a-figure")
    if written.unit != word.unit:
        raise WordError(f"{written.value:g} {written.unit}", word.wants(), "part.unit")
    figure = Figure(written.value, written.low, written.high, FROM_JOB, written.certainty)
    return checked(word, figure)


def checked(word: Word, figure: Figure) -> Figure:
    """The figure, or WordError where no part can have it."""
    found = f"{figure.low:g} {word.unit}"
    if word.least is Least.ABOVE_ZERO and figure.low <= 0.0:
        raise WordError(found, f"{word.wants()}, above zero", "part.above-zero")
    if word.least is Least.ZERO and figure.low < 0.0:
        raise WordError(found, f"{word.wants()}, zero or more", "part.below-zero")
    if max(abs(figure.low), abs(figure.high)) > word.most:
        expected = f"{word.wants()}, at most {word.most:g}"
        raise WordError(f"{figure.high:g} {word.unit}", expected, "part.too-large")
    return figure


IN_ORDER = (
    ("works from", "works up to"),
    ("works from share", "works up to share"),
    ("needs at least", "restarts at"),
    ("lets go at", "holds down to"),
    ("lets go share", "holds down to share"),
    ("lets go share", "picks up share"),
    ("holds down to", "picks up at"),
    ("may pick up at", "picks up at"),
    ("cut-off", "reconnects at"),
    ("coldest", "hottest"),
)
"""Words of which the first is no more than the second, whatever the part."""


def out_of_order(given: Mapping[str, Figure]) -> Iterator[tuple[str, str]]:
    """Of figures written together, the words that are more than they can be, and what they may be.
    Against figures from elsewhere nothing is held: those may be the ones that do not hold here."""
    for lower, upper in IN_ORDER:
        if lower in given and upper in given and given[lower].value > given[upper].value:
            yield lower, f"no more than what is said at {upper}"


def without_alternatives(
    kind: Kind, base: Mapping[str, Figure], given: Mapping[str, Figure]
) -> dict[str, Figure]:
    """``base``, settled as what is ``given`` has it, without what that says in another way, then
    ``given`` over it."""
    said_otherwise = {
        word for group in kind.alternatives if given.keys() & set(group) for word in group
    }
    settled = kind.settled(base, given)
    kept = {word: figure for word, figure in settled.items() if word not in said_otherwise}
    return {**kept, **given}


@dataclass(frozen=True, slots=True)
class PartSpec:
    """A part as the catalogue has it: figures and settings by the words people write."""

    name: str
    kind: Kind
    figures: Mapping[str, Figure]
    settings: Mapping[str, Setting]
    about: str = ""
    also: tuple[str, ...] = ()
    """Other names it answers to."""
    slots: tuple[str, ...] = ()
    """Where it is meant when a name could mean several parts."""
    origin: str = field(default="", compare=False)
    """The file it was read from."""
    _plain: list[Part] = field(default_factory=list, init=False, repr=False, compare=False)
    """The part as catalogued, once it has been asked for."""

    def resolve(
        self,
        figures: Mapping[str, Written] | None = None,
        settings: Mapping[str, Setting] | None = None,
    ) -> Part:
        """The part with what a job says over what the catalogue has.

        Raises PartsErrors with every word that does not fit.
        """
        if not figures and not settings:
            if not self._plain:
                self._plain.append(self._build(self.figures, self.settings))
            return self._plain[0]
        problems: list[Problem] = []
        over: dict[str, Figure] = {}
        chosen: dict[str, Setting] = dict(self.settings)
        for name, written in (figures or {}).items():
            try:
                over[name] = figure_for(find_word(self.kind, name), written)
            except WordError as error:
                problems.append(self._problem(name, error))
        for name, said in (settings or {}).items():
            try:
                chosen[name] = setting_for(find_word(self.kind, name), said)
            except WordError as error:
                problems.append(self._problem(name, error))
        for name, expected in out_of_order(over):
            unit = find_word(self.kind, name).unit
            factor, shown = (100.0, "%") if unit == "1" else (1.0, unit)
            found = f"{over[name].value * factor:g} {shown}"
            problems.append(Problem("", 0, 0, name, found, expected, "part.order"))
        if problems:
            raise PartsErrors(tuple(problems))
        return self._build(without_alternatives(self.kind, self.figures, over), chosen)

    def _build(self, figures: Mapping[str, Figure], settings: Mapping[str, Setting]) -> Part:
        given = Given(
            self.name,
            self.kind.name,
            {find_word(self.kind, word).field: figure for word, figure in figures.items()},
            {find_word(self.kind, word).field: said for word, said in settings.items()},
        )
        try:
            return self.kind.build(given)
        except MissingFigure as missing:
            word = self._word_of(missing.field)
            wanted = self.kind.words[word].help if word else missing.field
            problem = Problem("", 0, 0, word, "nothing", wanted, "part.missing")
            raise PartsErrors((problem,)) from None
        except Unfit as unfit:
            word = self._word_of(unfit.field)
            problem = Problem("", 0, 0, word, unfit.found, unfit.expected, "part.unfit")
            raise PartsErrors((problem,)) from None

    def _word_of(self, field: str) -> str:
        return next((w for w, x in self.kind.words.items() if x.field == field), "")

    def _problem(self, word: str, error: WordError) -> Problem:
        return Problem("", 0, 0, word, error.found, error.expected, error.code)
