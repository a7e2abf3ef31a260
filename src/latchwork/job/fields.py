"""Tables of fields: the one place that says what a section takes, to read it and to describe it."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from latchwork.job.notes import Place
from latchwork.job.values import Kind, Schema, scalar_instead
from latchwork.tree.nodes import Entries, Node, Scalar

RESERVED = {
    "open": "an end that is joined to nothing",
    "lead": "a wire without a cable",
    "none": "something that is not fitted",
    "unknown": "what nobody knows yet",
    "earth": "the earth of the building",
}
"""Words that stand for something in wiring or in place of a value, so that no id may be one."""

_ID = re.compile(r"\w[\w-]{0,39}")


@dataclass(frozen=True, slots=True)
class Field:
    """One field: its name as written, what it takes, a line of help, an example as YAML."""

    name: str
    kind: Kind
    help: str
    example: str
    required: bool = False


Table = Mapping[str, Field]


def table(*fields: Field) -> Table:
    """Fields by name."""
    return {field.name: field for field in fields}


def read_table(
    node: Node,
    fields: Table,
    place: Place,
    *,
    other: Callable[[Scalar, Node, Place], None] | None = None,
) -> dict[str, Any]:
    """The values of a section by field name, all problems noted.

    A value written "unknown" is noted as unknown and left out. ``other`` takes the names that are
    not in the table; without it they are problems.
    """
    values: dict[str, Any] = {}
    if not isinstance(node, Entries):
        scalar_instead(node, place, "names with a colon: " + ", ".join(list(fields)[:4]) + " …")
        return values
    for key, value in node.pairs:
        field = fields.get(key.text)
        inner = place.at(key.text)
        if field is None and other is None:
            deeper = _deeper(key.text, fields)
            if deeper:
                place.wrong(key, deeper, "field.name", key.text)
            else:
                place.unlike(key, fields, "field.name")
            continue
        inner.origin(value)
        if isinstance(value, Scalar) and value.empty:
            example = field.example if field else "20.4 V"
            inner.wrong(
                key, f"something behind the colon, such as {example}", "field.empty", "nothing"
            )
        elif isinstance(value, Scalar) and value.text.casefold() == "unknown":
            inner.notes.unknown.append(inner.path)
        elif field is not None:
            found = field.kind.read(value, inner)
            if found is not None:
                values[key.text] = found
        elif other is not None:
            other(key, value, inner)
    for field in fields.values():
        if field.required and node.get(field.name) is None:
            example = f"{field.name}: {field.example}"
            place.wrong(node, example, "field.missing", f"no {field.name}")
    return values


def _deeper(name: str, fields: Table) -> str:
    """What to say was expected of a name that belongs one step in; "" of any other."""
    for outer in fields.values():
        if isinstance(outer.kind, Section) and name in outer.kind.fields:
            return f"it one step in, as {outer.name}: {{{name}: {outer.kind.fields[name].example}}}"
    return ""


def table_schema(fields: Table, *, other: Schema | bool = False) -> Schema:
    """The JSON Schema of a section."""
    schema: Schema = {
        "type": "object",
        "properties": {
            field.name: {
                **field.kind.schema(),
                "description": f"{field.help} Example: {field.name}: {field.example}",
            }
            for field in fields.values()
        },
        "additionalProperties": other,
    }
    required = [field.name for field in fields.values() if field.required]
    return {**schema, "required": required} if required else schema


@dataclass(frozen=True, slots=True)
class Section:
    """A section with a table of its own, read into a mapping by field name."""

    fields: Table

    def read(self, node: Node, place: Place) -> dict[str, Any]:
        return read_table(node, self.fields, place)

    def schema(self) -> Schema:
        return table_schema(self.fields)


@dataclass(frozen=True, slots=True)
class ById:
    """Ids, each with a value of one kind behind it."""

    kind: Kind

    def read(self, node: Node, place: Place) -> dict[str, Any]:
        values: dict[str, Any] = {}
        if not isinstance(node, Entries):
            scalar_instead(node, place, "an id, a colon, and what it is")
            return values
        for key, value in node.pairs:
            inner = place.at(key.text)
            inner.origin(value)
            if (means := RESERVED.get(key.text.casefold())) is not None:
                place.wrong(key, f"another id: this word stands for {means}", "id.word")
            elif not is_id(key.text):
                expected = "an id of letters and figures without spaces or dots, such as D3"
                place.wrong(key, expected, "id.form")
            elif isinstance(value, Scalar) and value.text == "unknown":
                place.notes.unknown.append(inner.path)
            else:
                found = self.kind.read(value, inner)
                if found is not None:
                    values[key.text] = found
        return values

    def schema(self) -> Schema:
        return {"type": "object", "additionalProperties": self.kind.schema()}


def is_id(text: str) -> bool:
    """Whether a text can be an id: letters, figures and hyphens, and no word of the format."""
    return _ID.fullmatch(text) is not None and text.casefold() not in RESERVED
