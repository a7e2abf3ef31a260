"""Reading a parts text: entries of figures and settings by the words people write.

Under ``parts`` stands a name and its entry: ``kind`` or ``like`` (another part to start from),
``about``, ``also``, ``slots``, ``source``, ``certainty`` and any word of the kind. A figure is a
text with its unit, or ``{is: …, source: …, certainty: …}``. ``usual`` holds figures for every
part of a kind ("any" for all kinds) that says nothing else.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from latchwork.elements import Certainty, Figure
from latchwork.findings.problems import Problem
from latchwork.parts.given import Setting
from latchwork.parts.kinds import KINDS, Kind
from latchwork.parts.names import nearest
from latchwork.parts.spec import (
    PartSpec,
    WordError,
    checked,
    find_word,
    out_of_order,
    setting_for,
    without_alternatives,
)
from latchwork.parts.vocabulary import Takes, Word
from latchwork.quantities import BY_SYMBOL, QuantityError, parse
from latchwork.tree import Entries, Items, Node, Refused, Scalar, read_tree, shown

_HEADS = ("kind", "like", "about", "also", "slots", "source", "certainty")
_FIGURE_KEYS = ("is", "source", "certainty")
Usual = Mapping[str, Mapping[str, Node]]
NO_SOURCE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry as written, not yet looked into."""

    name: str
    fields: Mapping[str, Node]
    file: str
    line: int
    column: int


@dataclass(frozen=True, slots=True)
class Sheet:
    """One parts text: its usual figures by kind, and its entries by name."""

    usual: Usual = field(default_factory=dict)
    entries: Mapping[str, Entry] = field(default_factory=dict)


@dataclass(slots=True)
class Reader:
    """Reads nodes of one file and gathers what is wrong with them."""

    file: str
    certainty: Certainty
    problems: list[Problem]

    def tell(self, node: Node, at: str, found: str, expected: str, code: str) -> None:
        """Notes a problem at a node."""
        self.problems.append(Problem(self.file, node.line, node.column, at, found, expected, code))

    def table(self, node: Node, at: str) -> dict[str, Node]:
        """Names and what stands behind them."""
        if isinstance(node, Refused):
            return {}
        if not isinstance(node, Entries):
            self.tell(node, at, shown(node), "names with a colon", "parts.table")
            return {}
        return {key.text: value for key, value in node.pairs}

    def text(self, node: Node, at: str) -> str:
        """A text, or a list of texts joined by commas."""
        if isinstance(node, Items):
            return ", ".join(self.text(item, at) for item in node.nodes)
        if isinstance(node, Scalar):
            return node.text
        if not isinstance(node, Refused):
            self.tell(node, at, shown(node), "a text", "parts.text")
        return ""

    def texts(self, node: Node | None, at: str) -> tuple[str, ...]:
        """Several texts."""
        if node is None:
            return ()
        if isinstance(node, Items):
            return tuple(self.text(item, at) for item in node.nodes)
        return (self.text(node, at),)

    def among(self, node: Node | None, at: str, known: tuple[str, ...]) -> None:
        """Notes each text that is not one of those there are."""
        for each in node.nodes if isinstance(node, Items) else (node,) if node else ():
            if isinstance(each, Scalar) and each.text not in known:
                hint = ", ".join(nearest(each.text, known)) or f"one of: {', '.join(known)}"
                self.tell(each, at, shown(each), hint, "parts.slot")

    def figure(self, node: Node, word: Word, source: str, at: str) -> Figure | None:
        """A figure: a text with its unit, or a table with its own source."""
        certainty = self.certainty
        if isinstance(node, Entries):
            fields = self.table(node, at)
            for name in fields.keys() - set(_FIGURE_KEYS):
                self.tell(fields[name], at, name, ", ".join(_FIGURE_KEYS), "parts.figure-field")
            if "is" not in fields:
                self.tell(node, at, shown(node), f"is: {word.wants()}", "part.figure")
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
        figure = Figure(quantity.value, quantity.low, quantity.high, source, certainty)
        try:
            return checked(word, figure)
        except WordError as error:
            self.tell(node, at, written, error.expected, error.code)
            return None

    def known(self, node: Node | None, at: str, default: Certainty) -> Certainty:
        """A certainty by its name."""
        if node is None:
            return default
        written = self.text(node, at)
        try:
            return Certainty(written)
        except ValueError:
            self.tell(node, at, written, ", ".join(Certainty), "parts.certainty")
            return default


def read_sheet(text: str, reader: Reader) -> Sheet:
    """The entries of a parts text; what keeps it from being read is noted in ``reader``."""
    root, problems = read_tree(text, reader.file, "parts:")
    reader.problems += [p for p in problems if p.code != "file.empty"]
    if root is None:
        return Sheet()
    top = reader.table(root, "")
    for name in top.keys() - {"usual", "parts"}:
        reader.tell(top[name], name, name, "parts or usual", "parts.field")
    usual = reader.table(top["usual"], "usual") if "usual" in top else {}
    parts = reader.table(top["parts"], "parts") if "parts" in top else {}
    return Sheet(
        {kind: reader.table(node, f"usual.{kind}") for kind, node in usual.items()},
        {
            name: Entry(
                name, reader.table(node, f"parts.{name}"), reader.file, node.line, node.column
            )
            for name, node in parts.items()
        },
    )


def _words(
    reader: Reader, kind: Kind, fields: Mapping[str, Node], source: str, path: str
) -> tuple[dict[str, Figure], dict[str, Setting]]:
    """Figures and settings of the words among ``fields``."""
    figures: dict[str, Figure] = {}
    settings: dict[str, Setting] = {}
    for name, node in fields.items():
        at = f"{path}.{name}"
        try:
            word = find_word(kind, name, _HEADS)
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
    if node is None and base is not None:
        return base.kind
    if node is None:
        expected = "kind or like; kinds are " + ", ".join(KINDS)
        reader.problems.append(
            Problem(reader.file, entry.line, entry.column, path, "nothing", expected, "parts.kind")
        )
        return None
    written = reader.text(node, path)
    kind = KINDS.get(written)
    if kind is None:
        hint = ", ".join(nearest(written, KINDS) or KINDS)
        reader.tell(node, path, written, f"a kind of part: {hint}", "parts.kind")
    elif base is not None and base.kind is not kind:
        reader.tell(node, path, written, f"{base.kind.name}, as the part it is like", "parts.kind")
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
    for name, expected in out_of_order(figures):
        found = shown(fields[name])
        own.tell(fields[name], f"{path}.{name}", found, expected, "part.order")
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
