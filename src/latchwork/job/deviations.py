"""Where a site differs from its plan."""

from __future__ import annotations

import dataclasses
from typing import Any

from latchwork.job.cables import Spot, SpotKind
from latchwork.job.fields import Field, Table, read_table, table, table_schema
from latchwork.job.model import Deviation, DeviationKind, Fact
from latchwork.job.notes import Place
from latchwork.job.problems import one_of
from latchwork.job.rows import LEAD, scalar_items
from latchwork.job.scope import Scope
from latchwork.job.values import Day, Later, Measure, Schema, Text, scalar_instead, text_of
from latchwork.quantities import RESISTANCE, Certainty
from latchwork.tree.nodes import Entries, Items, Node, Scalar

_CORE = Later(lambda: {"type": "string"})
_TWO = Later(lambda: {"type": "array", "items": {"type": "string"}, "minItems": 2, "maxItems": 2})

_COMMON = (
    Field("when", Text(), "Holds only under this condition; reckoned as if it did.", "wet"),
    Field("measured", Day(), "When it was measured.", "2026-02-11"),
)
_AT = Field("at", SpotKind(), "How far along, and from which end.", "4 m from controller")
_OHM = Field("resistance", Measure(RESISTANCE), "Its resistance.", "2.2 ohm")
_FROM = Field("from", Text(), "The terminal it is planned at.", "controller.GND", required=True)
_TO = Field("to", Text(), "The terminal it is found at.", "controller.TAMPER", required=True)

FORMS: dict[DeviationKind, Table] = {
    DeviationKind.MOVED: table(
        Field("moved", _CORE, "A core on another terminal.", "exit brown"), _FROM, _TO, *_COMMON
    ),
    DeviationKind.SWAPPED: table(
        Field("swapped", _TWO, "Two cores in each other's place.", "[exit brown, exit blue]"),
        Field(
            "at",
            SpotKind(),
            "At which end: to be said of cores of two cables, or of one with taps.",
            "from controller",
        ),
        *_COMMON,
    ),
    DeviationKind.MISSING: table(
        Field("missing", _CORE, "A core or a device that is not there.", "diode"), *_COMMON
    ),
    DeviationKind.ADDED: table(
        Field("added", _CORE, "A spare core, or a lead.", "lead"),
        Field("from", Text(), "One end of it.", "controller.GND", required=True),
        Field("to", Text(), "Its other end.", "S1.-", required=True),
        _OHM,
        *_COMMON,
    ),
    DeviationKind.PART: table(
        Field("part", _CORE, "A device or a joint.", "J1"),
        Field("state", Text(), "What is wrong with it.", "relay stuck on"),
        _OHM,
        *_COMMON,
    ),
    DeviationKind.SHORT: table(
        Field("short", _TWO, "Two cores that touch.", "[exit green, exit yellow]"),
        _AT,
        _OHM,
        *_COMMON,
    ),
    DeviationKind.LEAK: table(
        Field("leak", _TWO, "Two cores, or a core and earth.", "[exit green, earth]"),
        _AT,
        Field("resistance", Measure(RESISTANCE), "Of the leak.", "10 kohm", required=True),
        *_COMMON,
    ),
    DeviationKind.BREAK: table(
        Field("break", _CORE, "A core that is broken.", "power brown"), _AT, *_COMMON
    ),
}
"""What each kind of deviation takes. Its first field names it."""

_KINDS = {kind.value: kind for kind in FORMS}


def read_found(node: Node, scope: Scope, place: Place) -> tuple[Deviation, ...]:
    """A list of deviations; those with a problem are left out after noting it."""
    if not isinstance(node, Items):
        place.wrong(node, "a list, each line starting with - ", "field.shape")
        return ()
    found = []
    for number, item in enumerate(node.nodes, start=1):
        inner = place.at(str(number))
        inner.origin(item)
        deviation = _deviation(item, scope, inner)
        if deviation is not None:
            found.append(deviation)
    return tuple(found)


def found_schema() -> Schema:
    """The JSON Schema of a list of deviations."""
    forms = []
    for kind, fields in FORMS.items():
        form = table_schema(fields)
        form["required"] = [kind.value, *form.get("required", [])]
        forms.append(form)
    return {"type": "array", "items": {"anyOf": forms}}


def _deviation(node: Node, scope: Scope, place: Place) -> Deviation | None:
    if not isinstance(node, Entries):
        scalar_instead(node, place, "a deviation, such as {break: power brown}")
        return None
    kinds = [key.text for key, _ in node.pairs if key.text in _KINDS]
    if len(kinds) != 1:
        names = [key.text for key, _ in node.pairs]
        expected = one_of(names[0] if len(names) == 1 else "", _KINDS)
        place.wrong(
            node, f"one kind of deviation; {expected}", "found.kind", ", ".join(names) or "nothing"
        )
        return None
    kind = _KINDS[kinds[0]]
    values = read_table(node, FORMS[kind], place)
    subjects = _subjects(values.get(kind.value), kind, scope, place.at(kind.value))
    ends = {name: _end(node, name, values, scope, place) for name in ("from", "to")}
    spot: Spot = values.get("at") or Spot(None, "")
    from_end = _from_end(node, spot, scope, place)
    if subjects is None or None in ends.values() or from_end is None:
        return None
    if kind is DeviationKind.PART and not values.keys() & {"state", "resistance"}:
        place.wrong(node, "state: or resistance:", "found.part", "neither")
        return None
    if _lacks_required(node, kind, values, place):
        return None
    ohm: Fact | None = values.get("resistance")
    if ohm is not None and "measured" in values:
        ohm = dataclasses.replace(ohm, certainty=Certainty.MEASURED)
    return Deviation(
        kind=kind,
        subjects=subjects,
        start=ends["from"] or "",
        end=ends["to"] or "",
        state=values.get("state", ""),
        ohm=ohm,
        at_m=spot.at_m,
        from_end=from_end,
        when=values.get("when", ""),
        measured=values.get("measured", ""),
        path=place.path,
    )


def _lacks_required(
    node: Entries, kind: DeviationKind, values: dict[str, Any], place: Place
) -> bool:
    lacking = [f.name for f in FORMS[kind].values() if f.required and f.name not in values]
    for name in lacking:
        value = node.get(name)
        if isinstance(value, Scalar) and value.text.casefold() == "unknown":
            expected = "what is known of it, if only a guess"
            place.at(name).wrong(value, expected, "found.unknown")
    return bool(lacking)


def _subjects(
    node: Node | None, kind: DeviationKind, scope: Scope, place: Place
) -> tuple[str, ...] | None:
    if node is None:
        return None
    if kind in (DeviationKind.SWAPPED, DeviationKind.SHORT, DeviationKind.LEAK):
        pair = scalar_items(node)
        if pair is None or len(pair) != 2:
            place.wrong(node, "two in brackets, such as [exit green, exit yellow]", "found.two")
            return None
        names = [_subject(item, scope, place) for item in pair]
    elif kind is DeviationKind.ADDED and isinstance(node, Scalar) and node.text == LEAD:
        return ()
    else:
        names = [_subject(node, scope, place)]
    known = tuple(name for name in names if name is not None)
    return known if len(known) == len(names) else None


def _subject(node: Node, scope: Scope, place: Place) -> str | None:
    text = text_of(node, place, "a core, such as exit brown, or a device")
    return None if text is None else scope.subject(text, node, place)


def _end(
    node: Entries, name: str, values: dict[str, Any], scope: Scope, place: Place
) -> str | None:
    """The full id of an end; "" where this kind has none, None after noting a problem."""
    at = node.get(name)
    if name not in values or at is None:
        return ""
    return scope.end(values[name], at, place.at(name))


def _from_end(node: Entries, spot: Spot, scope: Scope, place: Place) -> str | None:
    """The full id of the device at the named end; "" where unsaid."""
    at = node.get("at")
    if not spot.from_end or at is None:
        return ""
    if spot.from_end == "supply" and scope.supply:
        return scope.supply
    return scope.thing(spot.from_end, at, place.at("at"))
