"""Rows of wiring: from, the cores used as one conductor, to."""

from __future__ import annotations

from collections.abc import Mapping

from latchwork.job.model import Row
from latchwork.job.names import LEGS
from latchwork.job.notes import Place
from latchwork.job.scope import Scope
from latchwork.job.values import Schema, text_of
from latchwork.tree.nodes import Entries, Items, Node, Refused, Scalar

LEAD = "lead"
"""A short wire with no length worth counting."""

_FORM = "three things in brackets: [from, core or lead, to]"


def read_wiring(
    node: Node, scope: Scope, place: Place
) -> Mapping[str, tuple[Row, ...]] | tuple[Row, ...] | None:
    """A door's rows: by leg where single legs are replaced, else the door described whole."""
    if isinstance(node, Items):
        return read_rows(node, scope, place)
    if not isinstance(node, Entries):
        place.wrong(node, f"rows, each {_FORM}, or rows by leg", "field.shape")
        return None
    legs: dict[str, tuple[Row, ...]] = {}
    for key, rows in node.pairs:
        inner = place.at(key.text)
        if key.text not in LEGS:
            place.unlike(key, LEGS, "field.leg")
        else:
            inner.origin(rows)
            legs[key.text] = read_rows(rows, scope, inner)
    return legs


def read_rows(node: Node, scope: Scope, place: Place) -> tuple[Row, ...]:
    """A list of rows; those with a problem are left out after noting it."""
    if not isinstance(node, Items):
        place.wrong(node, f"rows, each {_FORM}", "field.shape")
        return ()
    rows = []
    for number, item in enumerate(node.nodes, start=1):
        inner = place.at(str(number))
        inner.origin(item)
        row = _row(item, scope, inner)
        if row is not None:
            rows.append(row)
    return tuple(rows)


def wiring_schema() -> Schema:
    """The JSON Schema of a door's wiring."""
    legs = {leg: rows_schema() for leg in LEGS}
    by_leg = {"type": "object", "properties": legs, "additionalProperties": False}
    return {"anyOf": [rows_schema(), by_leg]}


def rows_schema() -> Schema:
    """The JSON Schema of a list of rows."""
    row = {"type": "array", "items": {"type": ["string", "number"]}, "minItems": 3, "maxItems": 3}
    return {"type": "array", "items": row}


def _row(node: Node, scope: Scope, place: Place) -> Row | None:
    if not isinstance(node, Items):
        place.wrong(node, _FORM, "row.form")
        return None
    if any(isinstance(part, Refused) for part in node.nodes):
        return None
    if len(node.nodes) != 3:
        place.wrong(node, _FORM, "row.form", f"{len(node.nodes)} things")
        return None
    start, cores, end = node.nodes
    first, last = _end(start, scope, place), _end(end, scope, place)
    conductor = _cores(cores, scope, place)
    if first is None or last is None or conductor is None:
        return None
    return Row(first, conductor, last, place.path)


def _end(node: Node, scope: Scope, place: Place) -> str | None:
    text = text_of(node, place, "a terminal, such as controller.NO, or open")
    return None if text is None else scope.end(text, node, place)


def _cores(node: Node, scope: Scope, place: Place) -> tuple[tuple[str, str], ...] | None:
    text = text_of(node, place, "a core, such as main blue, or lead")
    if text is None:
        return None
    if text.casefold() == LEAD:
        return ()
    cores = [scope.core(part.strip(), node, place) for part in text.split("+")]
    known = tuple(core for core in cores if core is not None)
    if len(set(known)) < len(known):
        place.wrong(node, "each core once", "core.twice")
        return None
    return known if len(known) == len(cores) else None


def scalar_items(node: Node) -> tuple[Scalar, ...] | None:
    """The texts of a list, or None where it is no list of texts."""
    if not isinstance(node, Items):
        return None
    texts = tuple(n for n in node.nodes if isinstance(n, Scalar))
    return texts if len(texts) == len(node.nodes) else None
