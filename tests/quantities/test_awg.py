"""Wire gauges against the table that the gauge's own rule gives.

Source: ASTM B258, d = 0.127 mm * 92^((36 - n) / 39) (from memory); diameters and areas as printed
in wire tables to four decimals.
"""

from __future__ import annotations

import pytest

from latchwork.quantities import AREA, area_to_awg, awg_area_m2, awg_diameter_m, parse

TABLE = [
    (14, 1.6277, 2.0809),
    (16, 1.2908, 1.3087),
    (18, 1.0237, 0.8230),
    (20, 0.8118, 0.5176),
    (22, 0.6438, 0.3255),
    (23, 0.5733, 0.2582),
    (24, 0.5106, 0.2047),
    (26, 0.4049, 0.1288),
]


@pytest.mark.parametrize(("gauge", "diameter_mm", "area_mm2"), TABLE)
def test_gauge_table(gauge: int, diameter_mm: float, area_mm2: float) -> None:
    assert awg_diameter_m(gauge) * 1e3 == pytest.approx(diameter_mm, abs=5.1e-5)
    assert awg_area_m2(gauge) * 1e6 == pytest.approx(area_mm2, abs=5.1e-5)
    for text in (f"{gauge} AWG", f"AWG {gauge}", f"{gauge}awg"):
        quantity = parse(text, AREA)
        assert quantity is not None
        assert quantity.value == awg_area_m2(gauge)


@pytest.mark.parametrize("gauge", range(0, 41))
def test_area_gives_the_gauge_back(gauge: int) -> None:
    assert area_to_awg(awg_area_m2(gauge)) == pytest.approx(gauge, abs=1e-9)


def test_no_gauge_for_no_wire() -> None:
    with pytest.raises(ValueError, match="no gauge"):
        area_to_awg(0.0)
