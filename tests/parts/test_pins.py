"""Pinned parts win over a changed catalogue, and tell what changed."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from latchwork.parts import (
    Difference,
    PartsErrors,
    cable_type,
    catalogue,
    differences,
    from_pin,
    pin,
)

USED = ("strike 24 V fail-secure", "controller", "supply 24 V", "exit button")


def pinned() -> dict[str, Any]:
    parts = [catalogue().get(name) for name in USED]
    data = pin(parts, [cable_type("2 x 1.0 mm²"), cable_type("category cable")])
    read: dict[str, Any] = json.loads(json.dumps(data))
    return read


def test_what_is_pinned_comes_back_the_same() -> None:
    back = from_pin(pinned())
    parts = catalogue().with_fixed(back.parts, back.cables)
    for name in USED:
        assert parts.find(name).resolve() == catalogue().find(name).resolve()
    assert parts.cable("2 x 1 mm2") == cable_type("2 x 1.0 mm²")
    assert differences(back, catalogue()) == ()


def test_an_old_job_does_not_change_when_the_catalogue_does() -> None:
    old = from_pin(pinned())
    newer = catalogue().with_parts(
        "parts: {strike 24 V fail-secure: {like: strike 24 V fail-safe, current: 0.2 A}}", "new"
    )
    kept = newer.with_fixed(old.parts, old.cables)
    assert kept.find("strike 24 V").resolve() == catalogue().find("strike 24 V").resolve()
    changed = {d.word: d for d in differences(old, newer)}
    assert changed.keys() == {"energised", "current"}
    assert changed["energised"] == Difference(
        "strike 24 V fail-secure", "energised", "unlocks", "locks"
    )


def test_a_pinned_name_keeps_meaning_the_same_part() -> None:
    old = from_pin(pinned())
    newer = catalogue().with_parts(
        "parts: {better button: {like: exit button, also: [button], contact: closed at rest}}",
        "new",
    )
    assert newer.with_fixed(old.parts, old.cables).find("button", "exit").name == "exit button"


def test_usual_figures_of_a_kind_are_pinned_too() -> None:
    data = pinned()["parts"]["strike 24 V fail-secure"]
    assert data["figures"]["holds down to share"][1] == pytest.approx(0.5)
    assert data["figures"]["current"][3] == "common practice, no source"


def test_a_part_that_is_gone_is_told() -> None:
    data = pinned()
    data["parts"]["old thing"] = data["parts"]["controller"]
    assert Difference("old thing", "", "controller", None) in differences(
        from_pin(data), catalogue()
    )


def test_a_cable_that_changed_is_told() -> None:
    data = pinned()
    data["cables"]["category cable"]["ohm_per_m"][2] = 0.12
    found = differences(from_pin(data), catalogue())
    assert [(d.part, d.word) for d in found] == [("category cable", "resistance")]
    data["cables"]["string"] = data["cables"]["category cable"]
    assert Difference("string", "", "string", None) in differences(from_pin(data), catalogue())
    old = from_pin(data)
    assert catalogue().with_fixed((), old.cables).cable("category cable").ohm_per_m.high == 0.12


@pytest.mark.parametrize(
    "spoil",
    [
        lambda d: d.update(version=99),
        lambda d: d.pop("parts"),
        lambda d: d["parts"].update(x=1),
        lambda d: d["parts"]["controller"].update(kind="rocket"),
        lambda d: d["parts"]["controller"]["figures"].update(speed=[1, 2, 3, "s", "catalogue"]),
        lambda d: d["parts"]["controller"]["figures"].update(volts=[3, 2, 1, "s", "catalogue"]),
        lambda d: d["parts"]["controller"]["figures"].update(volts=[1, 1, 1, "s", "perhaps"]),
        lambda d: d["parts"]["controller"]["figures"].update(volts=[1, 1]),
        lambda d: d["parts"]["controller"]["figures"].update(relay=[1, 1, 1, "s", "catalogue"]),
        lambda d: d["parts"]["controller"]["settings"].update(relay="never"),
        lambda d: d["cables"]["category cable"].update(cores=[["blue"]]),
        lambda d: d["parts"]["controller"]["figures"].update(volts=[-1, 1, 1, "s", "catalogue"]),
        lambda d: d["parts"]["strike 24 V fail-secure"]["figures"].pop("volts"),
        lambda d: d["cables"]["category cable"].update(limit_a="lots"),
        lambda d: d["cables"]["category cable"].update(cores=[]),
        lambda d: d["cables"]["category cable"].update(ohm_per_m=[0, 0, 1, "s", "catalogue"]),
    ],
)
def test_a_damaged_pin_is_told(spoil: Any) -> None:
    data = pinned()
    spoil(data)
    with pytest.raises(PartsErrors) as told:
        from_pin(data, "parts.lock")
    assert all(p.file == "parts.lock" for p in told.value.problems)


_JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-5, 5)
    | st.floats(allow_nan=True)
    | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=5), inner),
)


@settings(max_examples=100, deadline=None)
@given(st.sampled_from(["parts", "cables"]), st.sampled_from(["figures", "cores", "also"]), _JSON)
def test_junk_in_a_pin_is_told_or_taken(section: str, field: str, junk: object) -> None:
    data = pinned()
    next(iter(data[section].values()))[field] = junk
    try:
        back = from_pin(data)
    except PartsErrors as errors:
        told = errors.problems
    else:
        told = ()
        pin(back.parts, back.cables.values())
    assert all(problem.file == "parts.lock" for problem in told)
