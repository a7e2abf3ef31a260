"""Parts are found however people write their names."""

from __future__ import annotations

import pytest

from latchwork.parts import PartNotFound, catalogue

SAME = [
    ("strike 24 V fail-secure", "strike 24 V fail-secure"),
    ("Strike 24V failsecure", "strike 24 V fail-secure"),
    ("strike, 24 V, fail secure", "strike 24 V fail-secure"),
    ("fail-secure strike 24 V", "strike 24 V fail-secure"),
    ("ELECTRIC STRIKE 12V FAIL-SAFE", "strike 12 V fail-safe"),
    ("magnet 24 V", "magnet 24 V"),
    ("maglock 24V", "magnet 24 V"),
    ("magnet 12 V", "magnet 12 V"),
    ("controller", "controller"),
    ("controller, reader outside", "controller, reader outside"),
    ("Reader", "reader"),
    ("supply 24 V", "supply 24 V"),
    ("24 V PSU", "supply 24 V"),
    ("supply 12 V", "supply 12 V"),
    ("fire relay", "fire relay"),
    ("release", "release"),
    ("release, double pole", "release, double pole"),
    ("double-pole release", "release, double pole"),
    ("battery 12V 1.2Ah", "battery 12 V 1.2 Ah"),
]


@pytest.mark.parametrize(("written", "name"), SAME)
def test_found_by(written: str, name: str) -> None:
    assert catalogue().find(written).name == name


def test_the_slot_tells_which_is_meant() -> None:
    parts = catalogue()
    assert parts.find("button", "exit").name == "exit button"
    assert parts.find("button", "bell button").name == "bell button"
    assert parts.find("button, outdoor", "exit").name == "exit button, outdoor"
    assert parts.find("bar", "bar").kind.name == "bar"


def test_every_name_finds_its_own_part() -> None:
    parts = catalogue()
    for spec in parts.specs():
        assert parts.find(spec.name) is spec


def test_other_names_find_their_part_in_its_slots() -> None:
    parts = catalogue()
    for spec in parts.specs():
        for also in spec.also:
            found = parts.find(also, spec.slots[0] if spec.slots else "")
            assert found.name == spec.name, also


def test_what_is_not_there_is_told_with_the_nearest() -> None:
    with pytest.raises(PartNotFound) as told:
        catalogue().find("strike 24 V fail-secur")
    assert told.value.nearest[0] == "strike 24 V fail-secure"
    with pytest.raises(PartNotFound) as told:
        catalogue().find("zzzzqqqq")
    assert told.value.nearest == ()


@pytest.mark.parametrize(("written", "first"), [("maglock", "magnet 12 V"), ("PSU", "supply 12 V")])
def test_a_kind_without_its_volts_is_told_with_them(written: str, first: str) -> None:
    slot = "lock" if written == "maglock" else "supply"
    with pytest.raises(PartNotFound) as caught:
        catalogue().find(written, slot)
    assert caught.value.nearest[0] == first


def test_size_and_kinds_of_the_catalogue() -> None:
    specs = catalogue().specs()
    assert len(specs) >= 80
    locks = [s.resolve() for s in specs if s.kind.name in ("strike", "magnet", "bolt", "motor")]
    facts = [(p.kind, p.facts) for p in locks]
    assert {f["energised"] for _, f in facts} == {"locks", "unlocks"}
    assert {f["current_kind"] for _, f in facts} == {"dc", "ac", "both"}
    assert {f["duty"] for kind, f in facts if kind == "strike"} == {"continuous", "short"}
    assert {f["suppression"] for kind, f in facts if kind == "strike"} == {
        "built in",
        "built-in varistor",
        "needed",
        "forbidden",
    }
    for kind in ("strike", "magnet", "bolt", "motor"):
        volts = {p.figures["nominal_v"].value for p in locks if p.kind == kind}
        assert volts == {12.0, 24.0}
