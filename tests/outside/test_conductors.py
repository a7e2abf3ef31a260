"""Cables of the catalogue against published tables. [M] in a note: the table is from memory."""

from __future__ import annotations

import itertools

import pytest

from latchwork.parts import PartNotFound, cable_type
from latchwork.parts.cables import COPPER_OHM_M, NEC_ALPHA_75C

# IEC 60228, plain copper, highest resistance at 20 °C in Ω/km: mm² -> class 2 (table 2) and
# class 5 (table 3). Values seen in a reproduction of the tables; table numbers from memory.
IEC_60228 = {
    0.5: (36.0, 39.0),
    0.75: (24.5, 26.0),
    1.0: (18.1, 19.5),
    1.5: (12.1, 13.3),
    2.5: (7.41, 7.98),
    4.0: (4.61, 4.95),  # from memory
}

# NEC (NFPA 70) chapter 9 table 8, uncoated copper at 75 °C, Ω/kft: gauge -> solid, seven-strand.
# Seen in a reproduction of the table.
NEC_TABLE_8 = {18: (7.77, 7.95), 16: (4.89, 4.99), 14: (3.07, 3.14), 12: (1.93, 1.98)}

# The same corrected to 20 °C by the note under the table, Ω/km (computed): solid, seven-strand.
NEC_AT_20C = {18: (20.96, 21.45), 16: (13.19, 13.46), 14: (8.28, 8.47), 12: (5.21, 5.34)}

# ASTM B258 geometry with 1/58 Ω·mm²/m (formula from memory, values computed):
# gauge -> mm², ideal Ω/km.
ASTM_B258 = {
    12: (3.3088, 5.211),
    14: (2.0809, 8.286),
    16: (1.3087, 13.174),
    18: (0.8230, 20.948),
    20: (0.5176, 33.309),
    22: (0.3255, 52.963),
    23: (0.2582, 66.786),
    24: (0.2047, 84.215),
    26: (0.1288, 133.907),
}


@pytest.mark.parametrize("area_mm2", IEC_60228)
def test_metric_cables_reach_the_limit_of_iec_60228(area_mm2: float) -> None:
    class_2, class_5 = IEC_60228[area_mm2]
    flexible = cable_type(f"2 x {area_mm2} mm²").ohm_per_m
    stranded = cable_type(f"2 x {area_mm2} mm², stranded").ohm_per_m
    assert flexible.high * 1000 == pytest.approx(class_5, rel=1e-9)
    assert stranded.high * 1000 == pytest.approx(class_2, rel=1e-9)
    # Nothing is better than ideal copper, and no limit is below it.
    ideal = 1000 / (58 * area_mm2)
    assert flexible.low * 1000 == pytest.approx(ideal, rel=1e-9)
    assert ideal < class_2 < class_5


def test_copper_is_the_annealed_copper_standard() -> None:
    # IEC 60028 (1925): 1/58 = 0.017241 Ω·mm²/m. [M]
    assert pytest.approx(0.017241, abs=5e-7) == COPPER_OHM_M * 1e6


def test_thin_alarm_cores_have_no_limit_in_iec_60228_and_say_so() -> None:
    # Ideal copper (computed): 0.22 mm² 78.4 Ω/km, 0.20 mm² 86.2 Ω/km. 85 Ω/km is a working figure
    # for 0.22 mm², real cores 80 to 95: common practice, no source.
    thin = cable_type("6 x 0.22 mm²").ohm_per_m
    assert thin.low * 1000 == pytest.approx(78.4, abs=0.05)
    assert thin.value * 1000 == pytest.approx(85.0)
    assert thin.high * 1000 == pytest.approx(95.0)
    assert thin.source == "common practice, no source"
    assert thin.certainty == "assumed"
    assert cable_type("4 x 0.2 mm²").ohm_per_m.low * 1000 == pytest.approx(86.2, abs=0.05)


def test_22_metres_of_alarm_core_read_3_7_ohm_there_and_back() -> None:
    # Trade worked example: 22 m on 85 Ω/km cable reads 3.7 Ω (common practice, no source).
    loop = 2 * 22 * cable_type("4 x 0.22 mm²").ohm_per_m.value
    assert loop == pytest.approx(3.7, abs=0.05)


@pytest.mark.parametrize("gauge", ASTM_B258)
def test_gauges_follow_the_geometry_of_astm_b258(gauge: int) -> None:
    area_mm2, ohm_km = ASTM_B258[gauge]
    cable = cable_type(f"2 x {gauge} AWG")
    assert cable.area_m2 * 1e6 == pytest.approx(area_mm2, abs=5e-5)
    assert cable.ohm_per_m.low * 1000 == pytest.approx(ohm_km, abs=5e-4)


@pytest.mark.parametrize("gauge", NEC_TABLE_8)
def test_gauges_reach_nec_table_8_corrected_to_20_degrees(gauge: int) -> None:
    solid_20c, strand_20c = NEC_AT_20C[gauge]
    high = cable_type(f"2 x {gauge} AWG").ohm_per_m.high * 1000
    assert high == pytest.approx(strand_20c, abs=0.01)
    # The correction itself: R20 = R75 [1 + 0.00323 (20 - 75)], 1 kft = 304.8 m. [M]
    for written, expected in zip(NEC_TABLE_8[gauge], (solid_20c, strand_20c), strict=True):
        at_20c = written / 0.3048 * (1 + NEC_ALPHA_75C * (20 - 75))
        assert at_20c == pytest.approx(expected, abs=0.01)
    # Table 8 solid and the geometry agree within 0.1 % (computed).
    assert solid_20c == pytest.approx(ASTM_B258[gauge][1], rel=1.5e-3)


def test_category_cable_stays_within_tia_568() -> None:
    # TIA-568: at most 9.38 Ω per 100 m and conductor at 20 °C; 24 AWG ideal 8.42. [M]
    cable = cable_type("category cable")
    assert cable.ohm_per_m.high * 100 == pytest.approx(9.38)
    assert cable.ohm_per_m.low * 100 == pytest.approx(8.42, abs=0.005)
    # Two pairs side by side over 100 m at the limit: 9.38 Ω loop (computed).
    assert 2 * 100 * cable.ohm_per_m.high / 2 == pytest.approx(9.38)
    # ISO/IEC 11801-1: channel loop at most 25 Ω. [M]
    assert 2 * 100 * cable.ohm_per_m.high < 25


def test_copper_clad_reads_half_as_much_again() -> None:
    # About 1.5 times copper; a loop test finds it. [M]
    plain, clad = cable_type("category cable"), cable_type("category cable, copper-clad")
    assert clad.ohm_per_m.value / plain.ohm_per_m.value == pytest.approx(1.5)
    assert clad.ohm_per_m.low * 100 > 9.38
    assert clad.material == "copper-clad aluminium"


# The same circuit with 13.8 V and class 5 cable at its limit: worked examples, computed.
# volts at the lock, lock ohm, metres, mm²
DROPS = [
    (11.55, 24.0, 60.0, 0.5),
    (13.37, 24.0, 15.0, 0.75),
    (13.37, 48.0, 20.0, 0.5),
]


@pytest.mark.parametrize(("volts", "lock_ohm", "length_m", "area_mm2"), DROPS)
def test_voltage_drop_examples(
    volts: float, lock_ohm: float, length_m: float, area_mm2: float
) -> None:
    per_m = cable_type(f"2 x {area_mm2:g} mm²").ohm_per_m.high
    assert 13.8 * lock_ohm / (lock_ohm + 2 * length_m * per_m) == pytest.approx(volts, abs=0.006)


# Longest run for 5 % drop by constant current, class 5: worked examples, computed.
RUNS = [
    (0.5, 12.0, {0.5: 15.4, 0.75: 23.1, 1.0: 30.8, 1.5: 45.1}),
    (0.25, 24.0, {0.5: 61.5, 0.75: 92.3, 1.0: 123.1, 1.5: 180.5}),
]


@pytest.mark.parametrize(("current_a", "nominal_v", "runs"), RUNS)
def test_longest_runs(current_a: float, nominal_v: float, runs: dict[float, float]) -> None:
    for area_mm2, length_m in runs.items():
        per_m = cable_type(f"2 x {area_mm2:g} mm²").ohm_per_m.high
        assert 0.05 * nominal_v / (2 * per_m * current_a) == pytest.approx(length_m, abs=0.06)


def test_more_copper_never_has_more_resistance() -> None:
    for texts in (
        [f"2 x {mm2:g} mm²" for mm2 in (0.22, 0.5, 0.75, 1.0, 1.5, 2.5)],
        [f"2 x {gauge} AWG" for gauge in (26, 24, 23, 22, 20, 18, 16, 14)],
    ):
        types = [cable_type(text) for text in texts]
        for thin, thick in itertools.pairwise(types):
            assert thin.area_m2 < thick.area_m2
            assert thin.ohm_per_m.high > thick.ohm_per_m.high
            assert thin.limit_a <= thick.limit_a


def test_sizes_nobody_makes_are_refused_with_examples() -> None:
    of_all_kinds = "2 x 1.0 mm²", "6 x 0.22 mm²", "4 x 18 AWG", "category cable"
    near = {"2 x 0.9 mm²": ("2 x 0.75 mm²", "2 x 1.0 mm²"), "2 x 40 AWG": ("2 x 26 AWG",)}
    for text in (*near, "40 x 1.0 mm²", "1 x 1.0 mm²", "string", ""):
        with pytest.raises(PartNotFound) as told:
            cable_type(text)
        assert told.value.nearest == near.get(text, of_all_kinds)
