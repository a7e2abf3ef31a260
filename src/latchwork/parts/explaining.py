"""Finding parts by words, and telling all that is known of one."""

from __future__ import annotations

from dataclasses import dataclass

from latchwork.elements import Figure
from latchwork.parts.catalogue import Catalogue
from latchwork.parts.given import Setting
from latchwork.parts.model import Part, Terminal
from latchwork.parts.names import key
from latchwork.parts.spec import PartSpec
from latchwork.parts.states import StateDef, states_of
from latchwork.parts.vocabulary import Word


@dataclass(frozen=True, slots=True)
class FigureLine:
    """One figure of a part. ``word`` is "" where the program worked it out."""

    word: str
    field: str
    unit: str
    help: str
    figure: Figure


@dataclass(frozen=True, slots=True)
class SettingLine:
    """One setting of a part, and what else it may be."""

    word: str
    help: str
    choices: tuple[str, ...]
    value: Setting


@dataclass(frozen=True, slots=True)
class PartAnswer:
    """All that is known of a part."""

    name: str
    kind: str
    about: str
    also: tuple[str, ...]
    slots: tuple[str, ...]
    terminals: tuple[Terminal, ...]
    figures: tuple[FigureLine, ...]
    worked_out: tuple[FigureLine, ...]
    settings: tuple[SettingLine, ...]
    states: tuple[StateDef, ...]
    more_words: tuple[tuple[str, Word], ...]
    """Words it takes besides those it has."""


def search(catalogue: Catalogue, words: str) -> tuple[PartSpec, ...]:
    """The parts that have every one of the words in name, other names, kind or about.

    Those with all words in the name come first; else in the order of the catalogue. No words find
    everything.
    """
    wanted = set(key(words))
    found: list[tuple[int, PartSpec]] = []
    for spec in catalogue.specs():
        own = set(key(spec.name))
        known = own | set(key(spec.kind.name)) | set(key(spec.about))
        for also in spec.also:
            known |= set(key(also))
        if all(any(each.startswith(word) for each in known) for word in wanted):
            found.append((0 if wanted <= own else 1, spec))
    return tuple(spec for _, spec in sorted(found, key=lambda pair: pair[0]))


def explain(spec: PartSpec) -> PartAnswer:
    """All that is known of a part, as it is without anything said in a job."""
    part = spec.resolve()
    kind = spec.kind
    taken = {word: kind.word(word) for word in (*spec.figures, *spec.settings)}
    return PartAnswer(
        spec.name,
        kind.name,
        spec.about,
        spec.also,
        spec.slots,
        part.terminals,
        tuple(
            FigureLine(name, word.field, word.unit, word.help, spec.figures[name])
            for name, word in taken.items()
            if word is not None and name in spec.figures
        ),
        _worked_out(spec, part),
        tuple(
            SettingLine(name, word.help, word.choices, spec.settings[name])
            for name, word in taken.items()
            if word is not None and name in spec.settings
        ),
        states_of(part),
        tuple((name, word) for name, word in kind.words.items() if name not in taken),
    )


def _worked_out(spec: PartSpec, part: Part) -> tuple[FigureLine, ...]:
    """Figures of the part that no word gave, with the help of the word that could."""
    given = {word.field for name in spec.figures if (word := spec.kind.word(name)) is not None}
    words = {word.field: word for word in spec.kind.words.values()}
    return tuple(
        FigureLine(
            "",
            field,
            words[field].unit if field in words else "",
            words[field].help if field in words else "",
            figure,
        )
        for field, figure in part.figures.items()
        if field not in given
    )
