"""Parts and cables are told by the figures one orders them by: those of the catalogue's own data,
read off by hand."""

from __future__ import annotations

import pytest

from latchwork.answers.ordering import cable_figures
from latchwork.answers.parts import parts_found, parts_of
from latchwork.papers.content.pictures import pictures
from latchwork.parts import catalogue
from latchwork.quantities import System
from latchwork.words import say
from tests.cli.calling import ONE_DOOR
from tests.papers.made import demo_source, source_from
from tests.papers.test_pack import of

TWO_SUPPLIES = """
latchwork: 1
supplies:
  S1: {part: supply 12 V, limit: 5 A}
  S2: {part: supply 12 V}
doors:
  D1: {supply: S1, lock: strike 12 V fail-secure, controller: controller, out by: lever}
  D2: {supply: S2, lock: strike 12 V fail-secure, controller: controller, out by: lever}
"""


@pytest.mark.parametrize(
    ("part", "figures"),
    [
        ("strike 24 V fail-secure", "24 V, 0.125 A"),
        ("strike 12 V AC fail-secure", "12 V AC, 0.522 A"),
        ("supply 24 V, 5 A", "24 V, 5 A"),
        ("transformer 12 V AC", "12 V AC, 12 VA"),
        ("strike 24 V fail-secure, wide range", "24 V, 0.11 A"),
        # For 12 and for 24 V: "12 V" on a list for a 24 V site fetches one that burns on 27 V.
        ("controller", "10 to 30 V, 1.7 W"),
        ("reader", "8 to 30 V, 0.07 A"),
        ("motor lock 12 V", "12 V, 1 A"),
        ("network port, class 0", "15.4 W"),
        ("battery 12 V 7 Ah", "12 V, 7 Ah"),
        ("release", "switches 3 A"),
    ],
)
def test_a_part_is_listed_with_what_it_is_ordered_by(part: str, figures: str) -> None:
    told = {line.name: line.figures for line in parts_found(parts_of(None), "").parts}
    assert told[part] == figures


def test_the_order_sheet_shows_them() -> None:
    text = " ".join(of("order"))
    for row in demo_source()[0].schedules.order:
        assert f"{row.what} {row.figures}".strip() in text


def test_parts_of_one_name_and_other_figures_are_ordered_apart() -> None:
    rows = source_from(TWO_SUPPLIES)[0].schedules.order
    supplies = {row.figures: row.places for row in rows if row.what == "supply 12 V"}
    assert supplies == {"12 V, 5 A": ("S1",), "12 V, 3 A": ("S2",)}


@pytest.mark.parametrize(
    ("units", "told"),
    [
        ("metric", {"2 x 18 AWG": "2 × 0.823 mm²", "category cable": "8 × 0.205 mm²"}),
        ("US", {"2 x 18 AWG": "", "category cable": "8 × 24 AWG"}),
    ],
)
def test_cable_is_ordered_in_the_units_of_the_site(units: str, told: dict[str, str]) -> None:
    """ASTM B258: 18 AWG is 0.823 mm², 24 AWG 0.205 mm²."""
    text = ONE_DOOR.replace("{name: Sample house,", f"{{name: Sample house, units: {units},")
    text = text.replace("12 m of 2 x 1.0 mm²", "40 ft of 2 x 18 AWG")
    rows = source_from(text.replace("6 x 0.22 mm²", "category cable"))[0].schedules.order
    assert {row.what: row.figures for row in rows if row.kind == "cable"} == told


def test_a_cable_is_ordered_by_its_screen_and_metal_where_they_count() -> None:
    clad = catalogue().cable("4 x 0.5 mm², screened, copper-clad")
    assert cable_figures(clad, System.METRIC) == "4 × 0.5 mm², screened, copper-clad aluminium"


def test_one_is_not_told_as_many() -> None:
    assert say("drawing.done", {"count": "1", "folder": "x"}) == "1 file written to x"
    assert say("drawing.done", {"count": "2", "folder": "x"}) == "2 files written to x"
    source, _ = source_from(ONE_DOOR)
    drawn = pictures(source.index)
    ((_, site),) = drawn.site
    assert site.alt.startswith("1 supply, 1 door, ")
    assert drawn.doors["D1"].alt.startswith("Wiring of door D1: 5 devices, 11 wires. ")
