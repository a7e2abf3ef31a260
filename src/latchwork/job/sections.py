"""The sections of a job file, top level: one table for reading and for the schema."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from latchwork.job.cables import JointKind, RunKind, TapKind
from latchwork.job.deviations import found_schema, read_found
from latchwork.job.devices import read_use, use_schema
from latchwork.job.doors import USUAL, DoorReader, doors_schema
from latchwork.job.facts import SITE, SITE_FACTS
from latchwork.job.fields import ById, Field, Section, is_id, read_table, table
from latchwork.job.model import Door, Job, PartUse, Site, Supply, Tap
from latchwork.job.names import SLOTS
from latchwork.job.notes import Place
from latchwork.job.rows import read_rows, rows_schema
from latchwork.job.scope import Scope, SiteNames
from latchwork.job.supplies import SupplyKind
from latchwork.job.values import Later, Schema, Text, text_of
from latchwork.tree.nodes import Entries, Node, Scalar

VERSION = 1
"""The version of the format that is read."""


@dataclass(frozen=True, slots=True)
class _Version:
    """The version of the format."""

    def read(self, node: Node, place: Place) -> int | None:
        expected = f"{VERSION}, the version of the format that this program reads"
        text = text_of(node, place, expected)
        if text is not None and text != str(VERSION):
            place.wrong(node, expected, "version")
        return VERSION

    def schema(self) -> Schema:
        return {"const": VERSION}


@dataclass(frozen=True, slots=True)
class _SiteDevice:
    """A device that doors share, and the supply that feeds it."""

    def read(self, node: Node, place: Place) -> tuple[PartUse, str] | None:
        found = read_use(node, place, _SITE_DEVICE)
        return None if found is None else (found[0], found[1].get("supply", ""))

    def schema(self) -> Schema:
        return use_schema(_SITE_DEVICE)


_SITE_DEVICE = table(Field("supply", Text(), "The supply that feeds it.", "S1 out 2"))

JOB = table(
    Field("latchwork", _Version(), "The version of the format.", "1", required=True),
    Field("site", Section(SITE), "What holds for the whole site.", "{name: Boatyard}"),
    Field(
        "usual",
        Later(Section(USUAL).schema),
        "What holds for every door that does not say otherwise.",
        "{out by: lever}",
    ),
    Field("supplies", ById(SupplyKind()), "Supplies by id.", "{S1: supply 24 V}"),
    Field("devices", ById(_SiteDevice()), "Devices that doors share.", "{F1: fire relay}"),
    Field("cables", ById(RunKind()), "Shared cables.", "{trunk: 46 m of 2 x 2.5 mm²}"),
    Field("taps", ById(TapKind()), "Taps along them.", "{K1: {on: trunk, at: 21 m}}"),
    Field("joints", ById(JointKind()), "Shared joints.", "{J1: {made: crimp}}"),
    Field("wiring", Later(rows_schema), "Rows of the site.", "[[S1.+, trunk brown, open]]"),
    Field("found", Later(found_schema), "Where the site differs.", "[{break: trunk brown}]"),
    Field("doors", Later(doors_schema), "Doors by id.", "{D1: {lock: magnet 24 V}}"),
)
"""The whole file."""

_NAMED = ("supplies", "devices", "cables", "taps", "joints", "doors")


def read_sections(root: Entries, place: Place) -> Job:
    """The job that a tree says, as far as it can be read; problems are noted."""
    names = _site_names(root, place)
    values = read_table(root, JOB, place)
    scope = Scope(names, cables=frozenset(), joints=frozenset())
    devices: Mapping[str, tuple[PartUse, str]] = values.get("devices", {})
    usual = _usual(values.get("usual"), place.at("usual"))
    supplies: Mapping[str, Supply] = values.get("supplies", {})
    taps: Mapping[str, Tap] = values.get("taps", {})
    wiring = _later(values.get("wiring"), read_rows, scope, place.at("wiring"))
    found = _later(values.get("found"), read_found, scope, place.at("found"))
    unknown = tuple(place.notes.unknown)
    return Job(
        version=VERSION,
        site=_site(values.get("site", {})),
        supplies=supplies,
        devices={name: use for name, (use, _) in devices.items()},
        device_supplies=dict(_device_supplies(devices, root, names, place.at("devices"))),
        cables=values.get("cables", {}),
        taps=dict(_resolved_taps(taps, root, scope, place.at("taps"))),
        joints=values.get("joints", {}),
        wiring=wiring,
        found=found,
        unknown=unknown,
        doors=_doors(values.get("doors"), DoorReader(names, usual), place.at("doors")),
        origins=place.notes.origins,
        file=place.notes.file,
    )


def _later(
    node: Node | None,
    read: Callable[[Node, Scope, Place], tuple[Any, ...]],
    scope: Scope,
    place: Place,
) -> tuple[Any, ...]:
    return () if node is None else read(node, scope, place)


def _doors(node: Node | None, reader: DoorReader, place: Place) -> Mapping[str, Door]:
    return {} if node is None else ById(reader).read(node, place)


def _usual(node: Node | None, place: Place) -> Entries | None:
    """The usual values, their problems noted once before the doors take them over."""
    if node is None:
        return None
    known = len(place.notes.unknown)
    read_table(node, USUAL, place)
    # Each door says for itself which of them stay unknown.
    del place.notes.unknown[known:]
    return node if isinstance(node, Entries) else None


def _site(values: Mapping[str, Any]) -> Site:
    volts, hertz = values.get("mains", (None, None))
    return Site(
        name=values.get("name", ""),
        reference=values.get("reference", ""),
        mains_v=volts,
        mains_hz=hertz,
        ambient_c=values.get("ambient"),
        standby_h=None if values.get("standby") == "none" else values.get("standby"),
        rule_set=values.get("rule set", "general"),
        time_zone=values.get("time zone", "UTC"),
        units=values.get("units", "metric"),
        language=values.get("language", "en"),
        facts={name: values[name] for name in SITE_FACTS if name in values},
        waivers=values.get("waivers", ()),
    )


def _site_names(root: Entries, place: Place) -> SiteNames:
    """The ids of the whole file. One that stands in two sections is a problem."""
    names: dict[str, set[str]] = {section: set() for section in _NAMED}
    first: dict[str, tuple[str, int]] = {}
    for section, key in _ids(root):
        if key.text in SLOTS and section != "cables":
            expected = "another id: this one is what a device of a door is called"
            place.at(section).at(key.text).wrong(key, expected, "id.taken", key.text)
        if key.text in first:
            where = "{}, line {}".format(*first[key.text])
            inner = place.at(section).at(key.text)
            inner.wrong(key, f"another id: this one is in {where}", "id.twice", key.text)
        first.setdefault(key.text, (section, key.line))
        names[section].add(key.text)
    return SiteNames(**{section: frozenset(ids) for section, ids in names.items()})


def _ids(root: Entries) -> Iterator[tuple[str, Scalar]]:
    for section in _NAMED:
        node = root.get(section)
        for key, _ in node.pairs if isinstance(node, Entries) else ():
            if is_id(key.text):
                yield section, key


def _device_supplies(
    devices: Mapping[str, tuple[PartUse, str]], root: Entries, names: SiteNames, place: Place
) -> Iterator[tuple[str, str]]:
    written = root.get("devices")
    for name, (_, supply) in devices.items():
        node = written.get(name) if isinstance(written, Entries) else None
        at = node.get("supply") if isinstance(node, Entries) else None
        if supply and at is not None:
            found = names.supply_output(supply, at, place.at(name).at("supply"))
            if found is not None:
                yield name, found


def _resolved_taps(
    taps: Mapping[str, Tap], root: Entries, scope: Scope, place: Place
) -> Iterator[tuple[str, Tap]]:
    written = root.get("taps")
    for name, tap in taps.items():
        node = written.get(name) if isinstance(written, Entries) else None
        if node is None:
            continue
        inner = place.at(name)
        if tap.on not in scope.site.cables:
            inner.at("on").unlike(node, sorted(scope.site.cables), "cable.unknown", tap.on)
            continue
        end = scope.thing(tap.from_end, node, inner.at("at")) if tap.from_end else ""
        if end is not None:
            yield name, replace(tap, from_end=end)
