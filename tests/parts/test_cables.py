"""Cables by what people write, their cores and which of them touch."""

from __future__ import annotations

import pytest

from latchwork.parts import PartNotFound, cable_type


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("2 x 1.0 mm²", "2 x 1.0 mm²"),
        ("2x1mm2", "2 x 1.0 mm²"),
        ("2 × 0.75 mm²", "2 x 0.75 mm²"),
        ("6 x 0.22 mm²", "6 x 0.22 mm²"),
        ("4 x 18 AWG", "4 x 18 AWG"),
        ("4 x AWG 18", "4 x 18 AWG"),
        ("Category cable", "category cable"),
        ("cat 6", "category cable"),
        ("category cable, copper clad", "category cable, copper-clad"),
        ("6 x 0.22 mm², shielded", "6 x 0.22 mm², screened"),
        ("2 x 1.5 mm², flexible", "2 x 1.5 mm²"),
    ],
)
def test_names(written: str, name: str) -> None:
    assert cable_type(written).name == name
    assert cable_type(name) == cable_type(written)


def test_core_colours_stand_in_order() -> None:
    # The orders are our own choice among usual ones; the thin cores follow DIN 47100 (from memory).
    def colours(text: str) -> list[str]:
        return [core.name for core in cable_type(text).cores]

    assert colours("2 x 2.5 mm²") == ["brown", "blue"]
    assert colours("4 x 0.22 mm²") == ["white", "brown", "green", "yellow"]
    assert colours("4 x 18 AWG") == ["red", "black", "white", "green"]
    assert colours("category cable")[:4] == ["blue", "blue-white", "orange", "orange-white"]
    for text in ("12 x 0.22 mm²", "12 x 1.0 mm²", "12 x 22 AWG", "category cable"):
        assert len(set(colours(text))) == len(colours(text))


def test_category_cable_has_four_pairs() -> None:
    pairs = [core.pair for core in cable_type("category cable").cores]
    assert pairs == [1, 1, 2, 2, 3, 3, 4, 4]


def test_up_to_four_cores_all_touch() -> None:
    for count, pairs in ((2, 1), (3, 3), (4, 6)):
        assert len(cable_type(f"{count} x 1.0 mm²").neighbours) == pairs


def test_in_thicker_cables_every_core_touches_some() -> None:
    for text in ("5 x 1.0 mm²", "8 x 0.22 mm²", "12 x 0.22 mm²", "category cable"):
        cable = cable_type(text)
        names = {core.name for core in cable.cores}
        assert {name for pair in cable.neighbours for name in pair} == names
        assert len(cable.neighbours) < len(names) * (len(names) - 1) / 2


def test_the_two_of_a_pair_touch() -> None:
    assert ("blue", "blue-white") in cable_type("category cable").neighbours
    assert ("white", "brown") in cable_type("4 x 0.22 mm², twisted").neighbours


def test_screen_and_material_are_told() -> None:
    cable = cable_type("6 x 0.22 mm², screened, copper-clad")
    assert cable.screened
    assert cable.material == "copper-clad aluminium"
    assert not cable_type("6 x 0.22 mm²").screened


def test_lowest_value_and_highest_stand_apart() -> None:
    for text in ("2 x 1.0 mm²", "6 x 0.22 mm²", "4 x 18 AWG", "2 x 23 AWG", "category cable"):
        ohm = cable_type(text).ohm_per_m
        assert ohm.low < ohm.value < ohm.high
        assert ohm.source


@pytest.mark.parametrize(
    ("written", "nearest"),
    [
        ("2 x 0.25 mm²", ("2 x 0.22 mm²", "2 x 0.5 mm²")),
        ("4 x 6 mm²", ("4 x 4 mm²",)),
        ("2 x 10 AWG", ("2 x 12 AWG",)),
    ],
)
def test_a_size_that_is_not_known_is_told_its_neighbours(
    written: str, nearest: tuple[str, ...]
) -> None:
    """It was told "2 x 1.0 mm²", which has the very form of what was written."""
    with pytest.raises(PartNotFound) as refused:
        cable_type(written)
    assert refused.value.nearest == nearest


def test_a_cable_without_copper_is_none() -> None:
    with pytest.raises(PartNotFound):
        cable_type("2 x 0.0 mm²")
