"""Doors: usual values merged in, then every field read and every reference resolved."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from latchwork.job.cables import JointKind, RunKind
from latchwork.job.deviations import found_schema, read_found
from latchwork.job.devices import REMOVED, Device
from latchwork.job.duties import DutyKind, duty
from latchwork.job.facts import DOOR_FACTS, WAIVERS
from latchwork.job.fields import ById, Field, Section, Table, read_table, table, table_schema
from latchwork.job.model import Door, OutBy, PartUse, Run, fire_rated
from latchwork.job.names import LEGS, SLOTS
from latchwork.job.notes import Place
from latchwork.job.rows import read_wiring, wiring_schema
from latchwork.job.scope import Scope, SiteNames
from latchwork.job.values import Choice, Later, OrNone, Schema, Text, words
from latchwork.tree.nodes import Entries, Node, Scalar

_OUT_BY = Choice({way.value: way for way in OutBy})
_SLOT_EXAMPLES = {
    "lock": "strike 24 V fail-secure",
    "controller": "controller, reader outside",
    "exit": "button",
    "release": "release, double pole",
    "fire": "F1",
}


def _usual(*, partial: bool) -> tuple[Field, ...]:
    """What usual values can say; ``partial`` devices may leave their part to the door."""
    runs = table(
        *(Field(leg, OrNone(RunKind()), f"The {leg} run.", "18 m of 2 x 1.0 mm²") for leg in LEGS)
    )
    return (
        Field("supply", Text(), "The supply and its output.", "S1 out 1"),
        Field(
            "outside", words("inside", "outside", "weather"), "What its outer side is.", "weather"
        ),
        Field("power lost", DutyKind(), "What it does without power.", "stays locked"),
        Field("fire alarm", DutyKind(), "What it does in a fire alarm.", "unlocks"),
        Field("out by", _OUT_BY, "What frees it from inside without electricity.", "lever"),
        *(
            Field(
                slot,
                Device(partial),
                f"The {slot}: a part, none, or a site device by its id.",
                _SLOT_EXAMPLES.get(slot, slot),
            )
            for slot in SLOTS
        ),
        Field("controller at", Text(), "door, supply, outside, or a place.", "door"),
        Field("runs", Section(runs), "Cable runs by leg.", "{power: 18 m of 2 x 1.0 mm²}"),
        *DOOR_FACTS.values(),
    )


USUAL: Table = table(*_usual(partial=True))
"""The section ``usual``: what holds for every door that does not say otherwise."""

DOOR: Table = table(
    Field("name", Text(), "What people call it.", "Chandlery, street door"),
    *_usual(partial=False),
    Field("cables", ById(RunKind()), "Its own cables by id.", "{main: 31 m of category cable}"),
    Field("joints", ById(JointKind()), "Joints by id.", "{J1: {made: screw block}}"),
    Field(
        "wiring",
        Later(wiring_schema),
        "Rows of wiring, by leg or for the whole door.",
        "{power: [[S1.+, power brown, controller.+], [S1.-, power blue, controller.-]]}",
    ),
    Field(
        "found",
        Later(found_schema),
        "Where it differs from the plan.",
        "[{break: power brown, at: 4 m from controller}]",
    ),
    WAIVERS,
)
"""One door."""


@dataclass(frozen=True, slots=True)
class DoorReader:
    """Reads the doors of one file."""

    site: SiteNames
    usual: Entries | None

    def read(self, node: Node, place: Place) -> Door | None:
        """One door; None where nothing of it can be read."""
        name = place.path.rpartition(".")[2]
        if not isinstance(node, Entries):
            read_table(node, DOOR, place)
            return None
        unknown_before = len(place.notes.unknown)
        merged = merge(self.usual, node) if self.usual is not None else node
        values = read_table(merged, DOOR, place)
        devices, shared = self._fitted(values, merged, place)
        runs = {leg: run for leg, run in values.get("runs", {}).items() if run != "none"}
        cables = values.get("cables", {})
        self._clashes(merged, runs, cables, values.get("joints", {}), place)
        supply = self._supply(values, merged, place)
        # A name whose own line cannot be read is known all the same.
        slots = {slot for slot in SLOTS if _failed(merged, values, slot, place)}
        own = {
            key
            for section in ("runs", "cables")
            for key in _keys(merged.get(section))
            if _failed(merged.get(section), values.get(section, {}), key, place.at(section))
        }
        scope = Scope(
            site=self.site,
            door=name,
            slots=frozenset({*devices, *slots} - shared.keys()),
            shared=shared,
            cables=frozenset({*runs, *cables, *own}),
            joints=frozenset(values.get("joints", {})),
            supply=supply.partition(".")[0],
        )
        out_by: OutBy | None = values.get("out by")
        if out_by is None:
            # Nothing said: the worst is taken, and it is a question for the next visit.
            out_by = OutBy.NOTHING
            if f"{place.path}.out by" not in place.notes.unknown[unknown_before:]:
                place.notes.unknown.append(f"{place.path}.out by")
        facts = {fact: values[fact] for fact in DOOR_FACTS if fact in values}
        rated = fire_rated(facts)
        return Door(
            id=name,
            name=values.get("name", name),
            supply=supply,
            outside=values.get("outside", "inside"),
            power_lost=duty(values.get("power lost"), out_by, latch_must_hold=False),
            fire_alarm=duty(values.get("fire alarm"), out_by, latch_must_hold=rated),
            out_by=out_by,
            devices=devices,
            shared=shared,
            controller_at=values.get("controller at", "door"),
            runs=runs,
            cables=cables,
            joints=values.get("joints", {}),
            wiring=_later(values, "wiring", read_wiring, scope, place),
            found=_later(values, "found", read_found, scope, place) or (),
            facts=facts,
            waivers=values.get("waivers", ()),
            unknown=tuple(place.notes.unknown[unknown_before:]),
        )

    def schema(self) -> Schema:
        """The JSON Schema of a door."""
        return table_schema(DOOR)

    def _fitted(
        self, values: dict[str, Any], node: Entries, place: Place
    ) -> tuple[Mapping[str, PartUse], Mapping[str, str]]:
        devices: dict[str, PartUse] = {}
        shared: dict[str, str] = {}
        for slot in SLOTS:
            use: PartUse | None = values.get(slot)
            written = node.get(slot)
            if use is None or use is REMOVED or written is None:
                continue
            is_shared, ref = False, None
            if isinstance(written, Scalar):
                is_shared, ref = self.site.shared(use.part, written, place.at(slot))
            if not is_shared:
                devices[slot] = use
            elif ref is not None:
                shared[slot] = ref
        return devices, shared

    def _supply(self, values: dict[str, Any], node: Entries, place: Place) -> str:
        text, written = values.get("supply"), node.get("supply")
        if text is None or written is None:
            return ""
        return self.site.supply_output(text, written, place.at("supply")) or ""

    def _clashes(
        self,
        node: Entries,
        runs: Mapping[str, Run],
        cables: Mapping[str, Run],
        joints: Mapping[str, object],
        place: Place,
    ) -> None:
        """Note the door's own ids that mean something else too."""
        site = self.site
        taken = dict.fromkeys(site.cables | site.joints | site.taps, "of the site")
        taken |= dict.fromkeys(runs, "a run of this door")
        for section, ids in (("cables", cables), ("joints", joints)):
            if section == "joints":
                taken |= dict.fromkeys(SLOTS, "what a device is called")
            entries = node.get(section)
            for key, _ in entries.pairs if isinstance(entries, Entries) else ():
                if key.text in ids and key.text in taken:
                    inner = place.at(section).at(key.text)
                    expected = f"another id: this one is {taken[key.text]}"
                    inner.wrong(key, expected, "id.twice", key.text)
            taken |= dict.fromkeys(ids, f"one of this door's {section}")


def doors_schema() -> Schema:
    """The JSON Schema of the doors by id."""
    return {"type": "object", "additionalProperties": table_schema(DOOR)}


def _keys(node: Node | None) -> tuple[str, ...]:
    return tuple(key.text for key, _ in node.pairs) if isinstance(node, Entries) else ()


def _failed(node: Node | None, values: Mapping[str, Any], key: str, place: Place) -> bool:
    """Whether something is written behind a key that could not be read."""
    written = node.get(key) if isinstance(node, Entries) else None
    if written is None or key in values:
        return False
    return place.at(key).path not in place.notes.unknown


def _later(values: dict[str, Any], field: str, read: Any, scope: Scope, place: Place) -> Any:
    node = values.get(field)
    return None if node is None else read(node, scope, place.at(field))


def merge(usual: Entries, own: Entries) -> Entries:
    """What is written for one door laid over the usual values, key by key.

    A device that names its own part takes no usual figures: they belong to another part.
    """
    written = {key.text: index for index, (key, _) in enumerate(own.pairs)}
    pairs = list(own.pairs)
    for key, value in usual.pairs:
        index = written.get(key.text)
        if index is None:
            pairs.append((key, value))
            continue
        own_key, own_value = pairs[index]
        if not isinstance(own_value, Entries) or own_value.get("part") is not None:
            continue
        if isinstance(value, Entries):
            pairs[index] = (own_key, merge(value, own_value))
        elif key.text in SLOTS and isinstance(value, Scalar) and not value.empty:
            part = (Scalar("part", value.line, value.column, True, value.end), value)
            pairs[index] = (own_key, Entries((part, *own_value.pairs), own.line, own.column))
    return Entries(tuple(pairs), own.line, own.column)
