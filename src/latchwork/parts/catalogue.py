"""The catalogue: parts by the names people write for them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from importlib.resources import files

from latchwork.elements import Certainty
from latchwork.findings.problems import Problem
from latchwork.parts.cables import cable_type
from latchwork.parts.model import CableType
from latchwork.parts.names import key, nearest
from latchwork.parts.problems import PartNotFound, PartsErrors
from latchwork.parts.reading import Entry, Reader, Sheet, Usual, read_entry, read_sheet
from latchwork.parts.spec import PartSpec

MOST_LIKE = 50
"""Parts in a row, each like the next: more than anybody writes."""

DATA = ("usual", "locks", "controllers", "supplies", "contacts", "small")


class Catalogue:
    """Parts by name, in layers: a layer's parts win over those of the same name below it.

    Entries are read when they are first asked for, and never change.
    """

    def __init__(
        self,
        sheet: Sheet,
        certainty: Certainty = Certainty.CATALOGUE,
        specs: Mapping[str, PartSpec] | None = None,
        cables: Mapping[str, CableType] | None = None,
        below: Catalogue | None = None,
    ) -> None:
        self._entries = sheet.entries
        self._certainty = certainty
        self._specs = dict(specs or {})
        self._cables = dict(cables or {})
        self._below = below
        self._usual: Usual = _over(sheet.usual, below._usual if below else {})
        self._own = tuple(dict.fromkeys((*self._specs, *self._entries)))
        self._index: dict[tuple[str, ...], list[str]] = {}
        for name in self._own:
            for called in dict.fromkeys((name, *self._also(name))):
                found = self._index.setdefault(key(called), [])
                if name not in found:
                    found.append(name)

    def names(self) -> tuple[str, ...]:
        """The name of every part, as the catalogue writes it."""
        return tuple(dict.fromkeys((*self._own, *(self._below.names() if self._below else ()))))

    def specs(self) -> tuple[PartSpec, ...]:
        """Every part."""
        return tuple(self.get(name) for name in self.names())

    def get(self, name: str) -> PartSpec:
        """The part of exactly that name, else PartNotFound."""
        if name not in self._own:
            if self._below is None:
                raise PartNotFound(name, nearest(name, self._called()))
            return self._below.get(name)
        problems: list[Problem] = []
        found = self._read(name, problems, ())
        if found is None or problems:
            raise PartsErrors(problems)
        return found

    def find(self, name: str, slot: str = "") -> PartSpec:
        """The part that people mean by ``name``, in a slot of a door ("exit", "lock") if given.

        Case, spaces, hyphens and the order of words do not matter. A name that several parts
        answer to means the one made for the slot, else the first. Raises PartNotFound.
        """
        found = self._index.get(key(name), [])
        fitting = [each for each in found if self._fits(each, slot)]
        if self._below is not None and not fitting:
            try:
                return self._below.find(name, slot)
            except PartNotFound:
                pass
        if not found:
            raise PartNotFound(name, nearest(name, self._called(slot)))
        best = fitting or found
        return self.get(name if name in best else best[0])

    def cable(self, text: str) -> CableType:
        """The cable people mean by ``text`` (see ``cable_type``). Raises PartNotFound."""
        known = cable_type(text)
        layer: Catalogue | None = self
        while layer is not None:
            if known.name in layer._cables:
                return layer._cables[known.name]
            layer = layer._below
        return known

    def with_parts(self, text: str, file: str) -> Catalogue:
        """This catalogue with a user's own parts in it, which win over parts of the same name.

        Raises PartsErrors with every problem of the text.
        """
        problems: list[Problem] = []
        certainty = Certainty.DATA_SHEET
        sheet = read_sheet(text, Reader(file, certainty, problems))
        made = Catalogue(sheet, certainty, below=self)
        known = self._every_slot()
        for name, entry in sheet.entries.items():
            own: list[Problem] = []
            spec = made._read(name, own, ())
            slots = entry.fields.get("slots")
            # In a slot that nothing has, a part would never be found by its other names.
            Reader(file, certainty, own).among(slots, f"parts.{name}.slots", known)
            if spec is not None and not own:
                own.extend(_missing(spec, entry))
            problems.extend(p for p in own if p not in problems)
        if problems:
            raise PartsErrors(problems)
        return made

    def with_fixed(self, specs: Iterable[PartSpec], cables: Mapping[str, CableType]) -> Catalogue:
        """This catalogue with parts and cables that win over those of the same name."""
        fixed = {spec.name: spec for spec in specs}
        return Catalogue(Sheet(), specs=fixed, cables=cables, below=self)

    def _called(self, slot: str = "") -> tuple[str, ...]:
        """Every name a part answers to, of those for the slot if given."""
        own = [n for name in self._own if self._fits(name, slot) for n in (name, *self._also(name))]
        return tuple(dict.fromkeys((*own, *(self._below._called(slot) if self._below else ()))))

    def _every_slot(self) -> tuple[str, ...]:
        """Every slot that a part of the catalogue is made for."""
        below = self._below._every_slot() if self._below else ()
        own = (slot for name in self._own for slot in self._slots(name))
        return tuple(dict.fromkeys((*below, *own)))

    def _fits(self, name: str, slot: str) -> bool:
        """Whether a part is made for the slot, or for none above others."""
        slots = self._slots(name) if slot else ()
        return not slots or slot in slots

    def _also(self, name: str) -> tuple[str, ...]:
        if name in self._specs:
            return self._specs[name].also
        return self._texts(self._entries[name], "also")

    def _slots(self, name: str) -> tuple[str, ...]:
        """The slots of a part, its own or those of what it is like, without reading the rest."""
        if name in self._specs:
            return self._specs[name].slots
        seen = {name}
        while True:
            entry = self._entries[name]
            own = self._texts(entry, "slots")
            like = self._texts(entry, "like")
            if own or not like:
                return own
            layer, name = self._like(entry.name, like[0])
            if layer is not self:
                return layer._slots(name) if layer is not None else ()
            if name in seen:
                return ()
            seen.add(name)

    def _texts(self, entry: Entry, head: str) -> tuple[str, ...]:
        return Reader(entry.file, self._certainty, []).texts(entry.fields.get(head), head)

    def _like(self, name: str, wanted: str) -> tuple[Catalogue | None, str]:
        """The layer and name of what ``name`` is like: another part of this layer, else below.

        A part that is like its own name is like the one below.
        """
        same = key(name) == key(wanted)
        found = [] if same else self._index.get(key(wanted), [])
        if found:
            return self, found[0]
        layer = self._below
        while layer is not None:
            below = layer._index.get(key(wanted), [])
            if below:
                return layer, below[0]
            layer = layer._below
        return (self, name) if same else (None, wanted)

    def _read(self, name: str, problems: list[Problem], above: tuple[str, ...]) -> PartSpec | None:
        """Reads one entry of this layer, and what it is like before it."""
        if name in self._specs:
            return self._specs[name]
        entry = self._entries[name]
        reader = Reader(entry.file, self._certainty, problems)
        before = len(problems)
        base: PartSpec | None = None
        like = entry.fields.get("like")
        if like is not None:
            path = f"parts.{name}.like"
            wanted = reader.text(like, path)
            layer, called = self._like(name, wanted)
            if layer is None:
                hint = ", ".join(nearest(wanted, self._called())) or "a part of the catalogue"
                reader.tell(like, path, wanted, hint, "parts.like")
                return None
            if layer is self and called in (*above, name):
                reader.tell(like, path, wanted, "a part that is not like this one", "parts.circle")
                return None
            if len(above) >= MOST_LIKE:
                row = f"at most {MOST_LIKE} parts in a row, each like the next"
                reader.tell(like, path, wanted, row, "parts.like")
                return None
            base = layer._read(called, problems, (*above, name) if layer is self else ())
            if base is None:
                return None
        spec = read_entry(reader, entry, base, self._usual)
        if spec is not None and len(problems) == before:
            self._specs[name] = spec
        return spec


def _over(own: Usual, below: Usual) -> Usual:
    return {kind: {**below.get(kind, {}), **own.get(kind, {})} for kind in (*below, *own)}


def _missing(spec: PartSpec, entry: Entry) -> tuple[Problem, ...]:
    """What the part's kind cannot do without, told at the part's place; and words about a screw
    that it has not."""
    try:
        part = spec.resolve()
    except PartsErrors as errors:
        path = f"parts.{spec.name}"
        return tuple(
            Problem(entry.file, entry.line, entry.column, f"{path}.{p.field}", *_rest(p))
            for p in errors.problems
        )
    screws = ", ".join(t.name for t in part.terminals)
    return tuple(
        Problem(
            entry.file,
            node.line,
            node.column,
            f"parts.{spec.name}.{word}",
            screw,
            f"one of its screws: {screws}",
            "part.screw",
        )
        for word, node in entry.fields.items()
        if (screw := spec.kind.screw(word)) and not part.has_terminal(screw)
    )


def _rest(problem: Problem) -> tuple[str, str, str]:
    return problem.found, problem.expected, problem.code


@cache
def catalogue() -> Catalogue:
    """The catalogue that comes with the program."""
    folder = files("latchwork.parts") / "data"
    problems: list[Problem] = []
    sheets: list[Sheet] = []
    for stem in DATA:
        name = f"{stem}.yaml"
        text = (folder / name).read_text(encoding="utf-8")
        sheets.append(read_sheet(text, Reader(name, Certainty.CATALOGUE, problems)))
    if problems:
        raise PartsErrors(problems)
    entries = {name: entry for sheet in sheets for name, entry in sheet.entries.items()}
    return Catalogue(Sheet(sheets[0].usual, entries))
