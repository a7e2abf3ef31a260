"""Pinned parts: the figures a job was worked out with, as plain data that win over the catalogue.

``pin`` makes the data, ``from_pin`` reads it back, ``differences`` tells what a newer catalogue
would change. Figures stand as [low, value, high, source, certainty] in SI units, by word.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from latchwork.elements import Certainty, Figure
from latchwork.findings.problems import Problem
from latchwork.parts.cables import cable_type
from latchwork.parts.catalogue import Catalogue
from latchwork.parts.given import Setting
from latchwork.parts.kinds import KINDS
from latchwork.parts.model import CableType, Core
from latchwork.parts.problems import PartNotFound, PartsErrors
from latchwork.parts.spec import PartSpec, WordError, checked, find_word, setting_for
from latchwork.parts.vocabulary import Takes

VERSION = 1


@dataclass(frozen=True, slots=True)
class Pinned:
    """Parts and cables as a job has pinned them."""

    parts: tuple[PartSpec, ...] = ()
    cables: Mapping[str, CableType] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Difference:
    """What a newer catalogue has otherwise. None: it has no such word, or no such part (where
    ``word`` is "")."""

    part: str
    word: str
    pinned: Figure | Setting | None
    now: Figure | Setting | None


def pin(parts: Iterable[PartSpec], cables: Iterable[CableType]) -> dict[str, object]:
    """The parts and cables in use as plain data, fit for JSON, in the order of their names."""
    return {
        "version": VERSION,
        "parts": {spec.name: _part_data(spec) for spec in sorted(parts, key=lambda s: s.name)},
        "cables": {c.name: _cable_data(c) for c in sorted(cables, key=lambda c: c.name)},
    }


def _part_data(spec: PartSpec) -> dict[str, object]:
    return {
        "kind": spec.kind.name,
        "about": spec.about,
        "also": list(spec.also),
        "slots": list(spec.slots),
        "figures": {word: _figure_data(figure) for word, figure in spec.figures.items()},
        "settings": dict(spec.settings),
    }


def _figure_data(figure: Figure) -> list[object]:
    return [figure.low, figure.value, figure.high, figure.source, str(figure.certainty)]


def _cable_data(cable: CableType) -> dict[str, object]:
    return {
        "cores": [[core.name, core.colour, core.pair] for core in cable.cores],
        "ohm_per_m": _figure_data(cable.ohm_per_m),
        "limit_a": cable.limit_a,
        "area_m2": cable.area_m2,
        "material": cable.material,
        "screened": cable.screened,
        "neighbours": [list(pair) for pair in cable.neighbours],
    }


class _Bad(ValueError):
    """Something in pinned data is not what it should be."""


def from_pin(data: object, file: str = "parts.lock") -> Pinned:
    """The pinned parts and cables. Raises PartsErrors with every entry that cannot be used."""
    problems: list[Problem] = []
    parts: list[PartSpec] = []
    cables: dict[str, CableType] = {}
    try:
        top = _table(data)
        if top.get("version") != VERSION:
            raise _Bad(f"version {VERSION}")
        part_data, cable_data = _table(top.get("parts")), _table(top.get("cables"))
    except _Bad as bad:
        raise PartsErrors([_problem(file, "", data, bad)]) from None
    for name, entry in part_data.items():
        try:
            spec = _part(name, _table(entry))
            spec.resolve()
            parts.append(spec)
        except (_Bad, WordError) as bad:
            problems.append(_problem(file, f"parts.{name}", entry, bad))
        except PartsErrors as errors:
            # What its kind cannot do without.
            problems += (
                replace(p, file=file, field=f"parts.{name}.{p.field}") for p in errors.problems
            )
    for name, entry in cable_data.items():
        try:
            cables[name] = _cable(name, _table(entry))
        except _Bad as bad:
            problems.append(_problem(file, f"cables.{name}", entry, bad))
    if problems:
        raise PartsErrors(problems)
    return Pinned(tuple(parts), cables)


def _problem(file: str, path: str, found: object, bad: ValueError) -> Problem:
    shown = found if isinstance(found, str | int | float) else f"a {type(found).__name__}"
    shown = bad.found if isinstance(bad, WordError) else shown
    return Problem(file, 0, 0, path, str(shown)[:60], str(bad), "parts.lock")


def _table(data: object) -> Mapping[str, object]:
    if not isinstance(data, dict) or not all(isinstance(name, str) for name in data):
        raise _Bad("names with what stands behind them")
    return data


def _texts(data: object) -> tuple[str, ...]:
    if not isinstance(data, list) or not all(isinstance(item, str) for item in data):
        raise _Bad("a list of texts")
    return tuple(data)


def _figure(data: object) -> Figure:
    try:
        low, value, high, source, certainty = _list(data)
        return Figure(
            _number(value), _number(low), _number(high), str(source), Certainty(str(certainty))
        )
    except ValueError:
        raise _Bad("[low, value, high, source, certainty]") from None


def _part(name: str, data: Mapping[str, object]) -> PartSpec:
    kind = KINDS.get(str(data.get("kind")))
    if kind is None:
        raise _Bad("a kind of part: " + ", ".join(KINDS))
    figures: dict[str, Figure] = {}
    for word, written in _table(data.get("figures")).items():
        known = find_word(kind, word)
        if known.takes is not Takes.FIGURE:
            raise _Bad(f"no figure behind {word}")
        figures[word] = checked(known, _figure(written))
    settings: dict[str, Setting] = {}
    for word, said in _table(data.get("settings")).items():
        if not isinstance(said, str | int):
            raise _Bad(f"a word or number behind {word}")
        settings[word] = setting_for(find_word(kind, word), said)
    return PartSpec(
        name,
        kind,
        figures,
        settings,
        str(data.get("about", "")),
        _texts(data.get("also", [])),
        _texts(data.get("slots", [])),
        "parts.lock",
    )


def _cable(name: str, data: Mapping[str, object]) -> CableType:
    cores: list[Core] = []
    for core in _list(data.get("cores")):
        match core:
            case [str() as called, str() as colour, (int() | None) as pair]:
                cores.append(Core(called, colour, pair))
            case _:
                raise _Bad("cores as [name, colour, pair]")
    neighbours: list[tuple[str, str]] = []
    for each in _list(data.get("neighbours")):
        match each:
            case [str() as one, str() as other]:
                neighbours.append((one, other))
            case _:
                raise _Bad("neighbours as [core, core]")
    ohm_per_m = _figure(data.get("ohm_per_m"))
    limit_a, area_m2 = (_number(data.get(field)) for field in ("limit_a", "area_m2"))
    if not cores or not min(ohm_per_m.low, limit_a, area_m2) > 0.0:
        raise _Bad("cores, ohm_per_m, limit_a and area_m2 above zero")
    return CableType(
        name,
        tuple(cores),
        ohm_per_m,
        limit_a,
        area_m2,
        str(data.get("material", "copper")),
        data.get("screened") is True,
        tuple(neighbours),
    )


def _list(data: object) -> list[object]:
    if not isinstance(data, list):
        raise _Bad("a list")
    return data


def _number(data: object) -> float:
    if isinstance(data, bool) or not isinstance(data, int | float):
        raise _Bad("a number")
    return float(data)


def differences(pinned: Pinned, catalogue: Catalogue) -> tuple[Difference, ...]:
    """What the catalogue has otherwise than the pinned parts of the same names, cables as well."""
    found: list[Difference] = []
    for spec in pinned.parts:
        newer = _newer(spec.name, catalogue)
        if newer is None or newer.kind.name != spec.kind.name:
            kind = None if newer is None else newer.kind.name
            found.append(Difference(spec.name, "", spec.kind.name, kind))
            continue
        old_words = {**spec.figures, **spec.settings}
        new_words = {**newer.figures, **newer.settings}
        for word in dict.fromkeys((*old_words, *new_words)):
            if old_words.get(word) != new_words.get(word):
                old, new = old_words.get(word), new_words.get(word)
                found.append(Difference(spec.name, word, old, new))
    for name, cable in pinned.cables.items():
        try:
            now = cable_type(name)
        except PartNotFound:
            found.append(Difference(name, "", name, None))
            continue
        if cable.ohm_per_m != now.ohm_per_m:
            found.append(Difference(name, "resistance", cable.ohm_per_m, now.ohm_per_m))
        if cable.limit_a != now.limit_a:
            old_a, new_a = (Figure(a, a, a) for a in (cable.limit_a, now.limit_a))
            found.append(Difference(name, "current limit", old_a, new_a))
    return tuple(found)


def _newer(name: str, catalogue: Catalogue) -> PartSpec | None:
    try:
        return catalogue.get(name)
    except PartNotFound:
        return None
