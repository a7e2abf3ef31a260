"""Reading a parts text: entries of figures and settings by the words people write.

Under ``parts`` stands a name and its entry: ``kind`` or ``like`` (another part to start from),
``about``, ``also``, ``slots``, ``source``, ``certainty`` and any word of the kind. A figure is a
text with its unit, or ``{is: …, source: …, certainty: …}``. ``usual`` holds figures for every
part of a kind ("any" for all kinds) that says nothing else.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import yaml

from latchwork.elements import Certainty, Figure
from latchwork.findings.problems import Problem
from latchwork.parts.given import Setting
from latchwork.parts.kinds import KINDS, Kind
from latchwork.parts.names import nearest
from latchwork.parts.spec import (
    PartSpec,
    WordError,
    figure_wanted,
    find_word,
    setting_for,
    without_alternatives,
)
from latchwork.parts.vocabulary import Takes, Word
from latchwork.quantities import BY_SYMBOL, QuantityError, parse

_Loader = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
_HEADS = ("kind", "like", "about", "also", "slots", "source", "certainty")
_FIGURE_KEYS = ("is", "source", "certainty")
Usual = Mapping[str, Mapping[str, yaml.Node]]
NO_SOURCE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry as written, not yet looked into."""

    name: str
    fields: Mapping[str, yaml.Node]
    line: int
    column: int


@dataclass(frozen=True, slots=True)
class Sheet:
    """One parts text: its usual figures by kind, and its entries by name."""

    file: str
    certainty: Certainty
    usual: Usual = field(default_factory=dict)
    entries: Mapping[str, Entry] = field(default_factory=dict)


@dataclass(slots=True)
class Reader:
    """Reads nodes of one file and gathers what is wrong with them."""

    file: str
    certainty: Certainty
    problems: list[Problem]

    def tell(self, node: yaml.Node, at: str, found: str, expected: str, code: str) -> None:
        """Notes a problem at a node."""
        mark = node.start_mark
        self.problems.append(
            Problem(self.file, mark.line + 1, mark.column + 1, at, found, expected, code)
        )

    def table(self, node: yaml.Node, at: str) -> dict[str, yaml.Node]:
        """Names and what stands behind them."""
        if not isinstance(node, yaml.MappingNode):
            self.tell(node, at, shown(node), "names with a colon", "parts.table")
            return {}
        found: dict[str, yaml.Node] = {}
        for key, value in node.value:
            if not isinstance(key, yaml.ScalarNode):
                self.tell(key, at, shown(key), "a name before the colon", "parts.key")
            elif key.value in found:
                self.tell(key, at, f"{key.value} again", "each name once", "parts.duplicate")
            else:
                found[key.value] = value
        return found

    def text(self, node: yaml.Node, at: str) -> str:
        """A text, or a list of texts joined by commas."""
        if isinstance(node, yaml.SequenceNode):
            return ", ".join(self.text(item, at) for item in node.value)
        if isinstance(node, yaml.ScalarNode):
            return str(node.value)
        self.tell(node, at, shown(node), "a text", "parts.text")
        return ""

    def texts(self, node: yaml.Node | None, at: str) -> tuple[str, ...]:
        """Several texts."""
        if node is None:
            return ()
        if isinstance(node, yaml.SequenceNode):
            return tuple(self.text(item, at) for item in node.value)
        return (self.text(node, at),)

    def figure(self, node: yaml.Node, word: Word, source: str, at: str) -> Figure | None:
        """A figure: a text with its unit, or a table with its own source."""
        certainty = self.certainty
        if isinstance(node, yaml.MappingNode):
            fields = self.table(node, at)
            for name in fields.keys() - set(_FIGURE_KEYS):
                self.tell(fields[name], at, name, ", ".join(_FIGURE_KEYS), "parts.figure-field")
            if "is" not in fields:
                self.tell(node, at, shown(node), f"is: {figure_wanted(word)}", "part.figure")
                return None
            if "source" in fields:
                source = self.text(fields["source"], at)
            certainty = self.known(fields.get("certainty"), at, certainty)
            node = fields["is"]
        written = self.text(node, at)
        try:
            quantity = parse(written, BY_SYMBOL[word.unit])
        except QuantityError as error:
            self.tell(node, at, error.found, error.expected, error.code)
            return None
        if quantity is None:
            return None
        if quantity.certainty is not Certainty.DATA_SHEET:
            certainty = quantity.certainty
        return Figure(quantity.value, quantity.low, quantity.high, source, certainty)

    def known(self, node: yaml.Node | None, at: str, default: Certainty) -> Certainty:
        """A certainty by its name."""
        if node is None:
            return default
        written = self.text(node, at)
        try:
            return Certainty(written)
        except ValueError:
            self.tell(node, at, written, ", ".join(Certainty), "parts.certainty")
            return default


def shown(node: yaml.Node) -> str:
    """What stands at a node, shortly."""
    if isinstance(node, yaml.ScalarNode):
        return str(node.value)[:60] or "nothing"
    return "a list" if isinstance(node, yaml.SequenceNode) else "names with a colon"


def read_sheet(text: str, file: str, certainty: Certainty) -> tuple[Sheet, list[Problem]]:
    """The entries of a parts text, and what keeps it from being read."""
    problems: list[Problem] = []
    reader = Reader(file, certainty, problems)
    try:
        root = yaml.compose(text, Loader=_Loader)
    except yaml.YAMLError as error:
        mark = getattr(error, "problem_mark", None)
        line, column = (mark.line + 1, mark.column + 1) if mark else (0, 0)
        found = str(getattr(error, "problem", None) or "unreadable text")
        problems.append(Problem(file, line, column, "", found, "a parts text", "parts.yaml"))
        root = None
    if root is None:
        return Sheet(file, certainty), problems
    top = reader.table(root, "")
    for name in top.keys() - {"usual", "parts"}:
        reader.tell(top[name], name, name, "parts or usual", "parts.field")
    usual = {
        kind: reader.table(node, f"usual.{kind}")
        for kind, node in (reader.table(top["usual"], "usual") if "usual" in top else {}).items()
    }
    entries: dict[str, Entry] = {}
    for name, node in (reader.table(top["parts"], "parts") if "parts" in top else {}).items():
        mark = node.start_mark
        fields = reader.table(node, f"parts.{name}")
        entries[name] = Entry(name, fields, mark.line + 1, mark.column + 1)
    return Sheet(file, certainty, usual, entries), problems


def _words(
    reader: Reader, kind: Kind, fields: Mapping[str, yaml.Node], source: str, path: str
) -> tuple[dict[str, Figure], dict[str, Setting]]:
    """Figures and settings of the words among ``fields``."""
    figures: dict[str, Figure] = {}
    settings: dict[str, Setting] = {}
    for name, node in fields.items():
        at = f"{path}.{name}"
        try:
            word = find_word(kind, name)
            if word.takes is Takes.FIGURE:
                figure = reader.figure(node, word, source, at)
                if figure is not None:
                    figures[name] = figure
            else:
                settings[name] = setting_for(word, reader.text(node, at))
        except WordError as error:
            reader.tell(node, at, error.found, error.expected, error.code)
    return figures, settings


def usual_of(
    reader: Reader, kind: Kind, usual: Usual
) -> tuple[dict[str, Figure], dict[str, Setting]]:
    """The usual figures and settings of a kind: those for any kind that it takes, then its own."""
    common = {
        name: node for name, node in usual.get("any", {}).items() if kind.word(name) is not None
    }
    figures, settings = _words(reader, kind, common, NO_SOURCE, "usual.any")
    own, chosen = _words(reader, kind, usual.get(kind.name, {}), NO_SOURCE, f"usual.{kind.name}")
    return without_alternatives(kind, figures, own), {**settings, **chosen}


def kind_of(reader: Reader, entry: Entry, base: PartSpec | None) -> Kind | None:
    """The entry's kind: its own word, or that of the part it is like."""
    path = f"parts.{entry.name}.kind"
    node = entry.fields.get("kind")
    if node is None:
        if base is None:
            place = next(iter(entry.fields.values()), None)
            line, column = entry.line, entry.column
            if place is None or "like" not in entry.fields:
                expected = "kind or like: " + ", ".join(KINDS)
                reader.problems.append(
                    Problem(reader.file, line, column, path, "nothing", expected, "parts.kind")
                )
            return None
        return base.kind
    written = reader.text(node, path)
    kind = KINDS.get(written)
    if kind is None:
        hint = ", ".join(nearest(written, KINDS) or KINDS)
        reader.tell(node, path, written, f"a kind of part: {hint}", "parts.kind")
    return kind


def read_entry(
    reader: Reader,
    entry: Entry,
    base: PartSpec | None,
    usual: Usual,
) -> PartSpec | None:
    """The catalogue entry: usual figures, those of the part it is like, then its own words."""
    kind = kind_of(reader, entry, base)
    if kind is None:
        return None
    path = f"parts.{entry.name}"
    fields = {name: node for name, node in entry.fields.items() if name not in _HEADS}
    heads = entry.fields
    source = reader.text(heads["source"], f"{path}.source") if "source" in heads else NO_SOURCE
    known = reader.known(heads.get("certainty"), f"{path}.certainty", reader.certainty)
    own = Reader(reader.file, known, reader.problems)
    figures, settings = _words(own, kind, fields, source, path)
    if base is not None:
        base_figures, base_settings = base.figures, base.settings
    else:
        base_figures, base_settings = usual_of(reader, kind, usual)
    about = reader.text(heads["about"], f"{path}.about") if "about" in heads else ""
    return PartSpec(
        entry.name,
        kind,
        without_alternatives(kind, base_figures, figures),
        {**base_settings, **settings},
        about,
        reader.texts(heads.get("also"), f"{path}.also"),
        reader.texts(heads.get("slots"), f"{path}.slots") or (base.slots if base else ()),
        reader.file,
    )
