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

DATA = ("usual", "locks", "controllers", "supplies", "contacts", "small")


class Catalogue:
    """Parts by name. Entries are read when they are first asked for, and never change."""

    def __init__(
        self,
        sheets: tuple[Sheet, ...],
        fixed: Mapping[str, PartSpec],
        cables: Mapping[str, CableType],
    ) -> None:
        self._sheets = sheets
        self._fixed = dict(fixed)
        self._cables = dict(cables)
        self._specs: dict[str, PartSpec] = dict(fixed)
        self._entries: dict[str, tuple[Sheet, Entry]] = {}
        for sheet in sheets:
            self._entries.update({name: (sheet, entry) for name, entry in sheet.entries.items()})
        self._index: dict[tuple[str, ...], list[str]] = {}
        for name in self.names():
            for called in dict.fromkeys((name, *self._also(name))):
                found = self._index.setdefault(key(called), [])
                if name not in found:
                    found.append(name)

    def names(self) -> tuple[str, ...]:
        """The name of every part, as the catalogue writes it."""
        return tuple(dict.fromkeys((*self._fixed, *self._entries)))

    def specs(self) -> tuple[PartSpec, ...]:
        """Every part."""
        return tuple(self.get(name) for name in self.names())

    def get(self, name: str) -> PartSpec:
        """The part of exactly that name, else PartNotFound."""
        found = self._specs.get(name)
        if found is None:
            if name not in self._entries:
                raise PartNotFound(name, nearest(name, self._called()))
            problems: list[Problem] = []
            found = self._read(name, problems, ())
            if found is None or problems:
                raise PartsErrors(problems)
            self._specs[name] = found
        return found

    def find(self, name: str, slot: str = "") -> PartSpec:
        """The part that people mean by ``name``, in a slot of a door ("exit", "lock") if given.

        Case, spaces, hyphens and the order of words do not matter. A name that several parts
        answer to means the one made for the slot, else the first. Raises PartNotFound.
        """
        found = self._index.get(key(name), [])
        if not found:
            raise PartNotFound(name, nearest(name, self._called()))
        found = [each for each in found if each in self._fixed] or found
        exact = [each for each in found if each == name]
        fitting = [each for each in found if slot in self._slots(each)]
        return self.get((fitting or exact or found)[0])

    def with_parts(self, text: str, file: str) -> Catalogue:
        """This catalogue with a user's own parts in it, which win over parts of the same name.

        Raises PartsErrors with every problem of the text.
        """
        sheet, problems = read_sheet(text, file, Certainty.DATA_SHEET)
        merged = {kind: dict(fields) for kind, fields in self._usual().items()}
        for kind, fields in sheet.usual.items():
            merged.setdefault(kind, {}).update(fields)
        sheet = Sheet(sheet.file, sheet.certainty, merged, sheet.entries)
        made = Catalogue((*self._sheets, sheet), self._fixed, self._cables)
        for name in sheet.entries:
            spec = made._read(name, problems, ())
            if spec is not None:
                made._specs[name] = spec
                problems.extend(_missing(spec, sheet.entries[name], file))
        if problems:
            raise PartsErrors(problems)
        return made

    def cable(self, text: str) -> CableType:
        """The cable people mean by ``text`` (see ``cable_type``). Raises PartNotFound."""
        known = cable_type(text)
        return self._cables.get(known.name, known)

    def with_fixed(self, specs: Iterable[PartSpec], cables: Mapping[str, CableType]) -> Catalogue:
        """This catalogue with parts and cables that win over those of the same name."""
        fixed = {**self._fixed, **{spec.name: spec for spec in specs}}
        return Catalogue(self._sheets, fixed, {**self._cables, **cables})

    def _called(self) -> tuple[str, ...]:
        return tuple(
            dict.fromkeys(name for own in self.names() for name in (own, *self._also(own)))
        )

    def _usual(self) -> Usual:
        return next((sheet.usual for sheet in self._sheets if sheet.usual), {})

    def _also(self, name: str) -> tuple[str, ...]:
        return self._heads(name, "also", inherit=False)

    def _slots(self, name: str) -> tuple[str, ...]:
        return self._heads(name, "slots", inherit=True)

    def _heads(self, name: str, head: str, *, inherit: bool) -> tuple[str, ...]:
        """A head of an entry without reading the rest of it."""
        if name in self._fixed:
            return self._fixed[name].slots if head == "slots" else self._fixed[name].also
        seen: set[str] = set()
        while name in self._entries and name not in seen:
            seen.add(name)
            sheet, entry = self._entries[name]
            reader = Reader(sheet.file, sheet.certainty, [])
            if head in entry.fields or not inherit:
                return reader.texts(entry.fields.get(head), head)
            like = entry.fields.get("like")
            name = reader.text(like, "like") if like is not None else ""
        return ()

    def _read(self, name: str, problems: list[Problem], above: tuple[str, ...]) -> PartSpec | None:
        """Reads one entry, and what it is like before it."""
        if name in self._specs:
            return self._specs[name]
        sheet, entry = self._entries[name]
        reader = Reader(sheet.file, sheet.certainty, problems)
        base: PartSpec | None = None
        like = entry.fields.get("like")
        if like is not None:
            path = f"parts.{name}.like"
            wanted = reader.text(like, path)
            known = self._index.get(key(wanted), [])
            if not known:
                hint = ", ".join(nearest(wanted, self.names())) or "a part of the catalogue"
                reader.tell(like, path, wanted, hint, "parts.like")
                return None
            if known[0] in (*above, name):
                reader.tell(like, path, wanted, "a part that is not like this one", "parts.circle")
                return None
            base = self._read(known[0], problems, (*above, name))
            if base is None:
                return None
        usual = sheet.usual or self._usual()
        return read_entry(reader, entry, base, usual)


def _missing(spec: PartSpec, entry: Entry, file: str) -> tuple[Problem, ...]:
    """What the part's kind cannot do without, told at the part's place."""
    try:
        spec.resolve()
    except PartsErrors as errors:
        return tuple(
            Problem(
                file,
                entry.line,
                entry.column,
                f"parts.{spec.name}.{p.field}",
                p.found,
                p.expected,
                p.code,
            )
            for p in errors.problems
        )
    return ()


@cache
def catalogue() -> Catalogue:
    """The catalogue that comes with the program."""
    folder = files("latchwork.parts") / "data"
    sheets: list[Sheet] = []
    for stem in DATA:
        text = (folder / f"{stem}.yaml").read_text(encoding="utf-8")
        sheet, problems = read_sheet(text, f"{stem}.yaml", Certainty.CATALOGUE)
        if problems:
            raise PartsErrors(problems)
        sheets.append(sheet)
    return Catalogue(tuple(sheets), {}, {})
