"""Quantities as people write them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from latchwork.quantities import (
    AREA,
    CHARGE,
    CURRENT,
    DIMENSIONS,
    FORCE,
    FRACTION,
    FREQUENCY,
    GUESS_SPREAD,
    LENGTH,
    POWER,
    RESISTANCE,
    RESISTANCE_PER_LENGTH,
    TEMPERATURE,
    TIME,
    VOLTAGE,
    Certainty,
    Dimension,
    QuantityError,
    parse,
    parse_any,
    parse_pieces,
)


def value(text: str, dimension: Dimension) -> float:
    quantity = parse(text, dimension)
    assert quantity is not None
    assert quantity.unit == dimension.symbol
    assert quantity.text == text
    return quantity.value


@pytest.mark.parametrize(
    ("text", "dimension", "si"),
    [
        ("18 m", LENGTH, 18.0),
        ("18m", LENGTH, 18.0),
        ("18\u00a0m", LENGTH, 18.0),
        # International foot, inch and yard: exactly 0.3048 m, 0.0254 m and 0.9144 m
        # (agreement of 1959, NIST Special Publication 811; from memory).
        ("60 ft", LENGTH, 18.288),
        ("6 in", LENGTH, 0.1524),
        ('6"', LENGTH, 0.1524),
        ("10 yd", LENGTH, 9.144),
        ("5 ft 6 in", LENGTH, 1.6764),
        ("5' 6\"", LENGTH, 1.6764),
        ("1 1/2 in", LENGTH, 0.0381),
        ("3/4 in", LENGTH, 0.01905),
        ("0.75 mm²", AREA, 0.75e-6),
        ("0.75 mm2", AREA, 0.75e-6),
        ("0.25 A", CURRENT, 0.25),
        ("250 mA", CURRENT, 0.25),
        (".25 A", CURRENT, 0.25),
        ("2.2 ohm", RESISTANCE, 2.2),
        ("2.2 Ω", RESISTANCE, 2.2),
        ("2.2 \u2126", RESISTANCE, 2.2),
        ("5 mΩ", RESISTANCE, 0.005),
        ("5 MΩ", RESISTANCE, 5e6),
        ("10 kohm", RESISTANCE, 10e3),
        # IEC 60062 multiplier letters (from memory).
        ("2k2", RESISTANCE, 2200.0),
        ("4R7", RESISTANCE, 4.7),
        ("1M", RESISTANCE, 1e6),
        ("3 W", POWER, 3.0),
        ("12 v", VOLTAGE, 12.0),
        ("4 h", TIME, 14400.0),
        ("5 s", TIME, 5.0),
        ("30 min", TIME, 1800.0),
        ("3 years", TIME, 3 * 365.25 * 86400.0),
        ("50 Hz", FREQUENCY, 50.0),
        ("7 Ah", CHARGE, 7.0),
        ("15 %", FRACTION, 0.15),
        ("85 ohm/km", RESISTANCE_PER_LENGTH, 0.085),
        ("9.38 ohm/100 m", RESISTANCE_PER_LENGTH, 0.0938),
        ("22 N", FORCE, 22.0),
        # 1 kgf = 9.80665 N, 1 lbf = 4.4482216 N (NIST Special Publication 811; from memory).
        ("280 kg", FORCE, 2745.862),
        ("-10 °C", TEMPERATURE, -10.0),
        ("−10 °C", TEMPERATURE, -10.0),
        ("32 °F", TEMPERATURE, 0.0),
        ("212 °F", TEMPERATURE, 100.0),
    ],
)
def test_is_kept_in_si(text: str, dimension: Dimension, si: float) -> None:
    assert value(text, dimension) == pytest.approx(si, rel=1e-12, abs=1e-12)


def test_operable_force_of_five_pounds_is_22_2_newton() -> None:
    """ADA Standards 2010, 309.4: 5 lbf (22.2 N) (from memory)."""
    assert value("5 lbf", FORCE) == pytest.approx(22.2, abs=0.05)


def test_reach_of_15_to_48_inches_is_381_to_1219_millimetres() -> None:
    """ADA Standards 2010, 308: 15 to 48 in (381 to 1219 mm) (from memory)."""
    reach = parse("15 to 48 in", LENGTH)
    assert reach is not None
    assert (round(reach.low * 1000), round(reach.high * 1000)) == (381, 1219)


@pytest.mark.parametrize(
    ("text", "dimension", "low", "mid", "high"),
    [
        ("10 to 12 V", VOLTAGE, 10.0, 11.0, 12.0),
        ("10–12 V", VOLTAGE, 10.0, 11.0, 12.0),
        ("10-12 V", VOLTAGE, 10.0, 11.0, 12.0),
        ("10 V to 12 V", VOLTAGE, 10.0, 11.0, 12.0),
        ("800 mA to 1.2 A", CURRENT, 0.8, 1.0, 1.2),
        ("-10 to 35 °C", TEMPERATURE, -10.0, 12.5, 35.0),
        ("24 V ± 10 %", VOLTAGE, 21.6, 24.0, 26.4),
        ("24 V +/- 10 %", VOLTAGE, 21.6, 24.0, 26.4),
        ("20 ± 5 °C", TEMPERATURE, 15.0, 20.0, 25.0),
        ("68 °F ± 9 °F", TEMPERATURE, 15.0, 20.0, 25.0),
    ],
)
def test_ranges(text: str, dimension: Dimension, low: float, mid: float, high: float) -> None:
    quantity = parse(text, dimension)
    assert quantity is not None
    assert (quantity.low, quantity.value, quantity.high) == pytest.approx((low, mid, high))


@pytest.mark.parametrize("word", ["about", "About", "roughly", "~", "≈", "approx.", "ca."])
def test_a_guess_is_spread(word: str) -> None:
    quantity = parse(f"{word} 20 m", LENGTH)
    assert quantity is not None
    assert quantity.certainty is Certainty.GUESSED
    assert quantity.low == pytest.approx(20.0 * (1 - GUESS_SPREAD))
    assert quantity.high == pytest.approx(20.0 * (1 + GUESS_SPREAD))


def test_a_guess_that_gives_its_own_range_keeps_it() -> None:
    quantity = parse("about 18 to 24 m", LENGTH)
    assert quantity is not None
    assert (quantity.low, quantity.high) == (18.0, 24.0)


def test_a_negative_guess_stays_in_order() -> None:
    quantity = parse("about -10 °C", TEMPERATURE)
    assert quantity is not None
    assert (quantity.low, quantity.value, quantity.high) == (-12.0, -10.0, -8.0)


def test_says_how_it_is_known() -> None:
    assert parse("measured 13.4 V", VOLTAGE).certainty is Certainty.MEASURED  # type: ignore[union-attr]  # said
    assert parse("assumed 20 m", LENGTH).certainty is Certainty.ASSUMED  # type: ignore[union-attr]  # said
    assert parse("20 m", LENGTH).certainty is Certainty.DATA_SHEET  # type: ignore[union-attr]  # said


def test_unknown_is_none() -> None:
    assert parse("unknown", LENGTH) is None
    assert parse_any("Unknown") is None


@pytest.mark.parametrize(
    ("text", "dimension", "code", "expected"),
    [
        ("18", LENGTH, "no-unit", "a length with its unit, such as 18 m or 60 ft"),
        ("about 18", LENGTH, "no-unit", "such as 18 m"),
        ("10 to 12", VOLTAGE, "no-unit", "a voltage with its unit, such as 12 V"),
        ("18 V", LENGTH, "wrong-unit", "a length"),
        ("18 furlongs", LENGTH, "wrong-unit", "a length"),
        ("5 MOHM", RESISTANCE, "wrong-unit", "a resistance"),
        ("0,75 mm²", AREA, "decimal-comma", "0.75 mm²"),
        ("1,000 m", LENGTH, "decimal-comma", "no comma between thousands"),
        ("12 to 10 V", VOLTAGE, "range-order", "the smaller figure first"),
        ("a lot", LENGTH, "not-a-number", "a length"),
        ("", LENGTH, "not-a-number", "a length"),
        ("12 V 7 Ah", VOLTAGE, "wrong-unit", "a voltage"),
        ("99 AWG", AREA, "wrong-unit", "18 AWG"),
        ("1/0 m", LENGTH, "too-large", "a length"),
        ("1" + "0" * 98 + "km", LENGTH, "not-a-number", "a length"),
        ("1E2 V", VOLTAGE, "wrong-unit", "a voltage"),
        ("nan V", VOLTAGE, "not-a-number", "a voltage"),
        ("٣ V", VOLTAGE, "not-a-number", "a voltage"),
    ],
)
def test_says_what_is_wrong(text: str, dimension: Dimension, code: str, expected: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse(text, dimension)
    assert caught.value.code == f"quantity.{code}"
    assert text.startswith(caught.value.found)
    assert expected in caught.value.expected


@pytest.mark.parametrize("dimension", DIMENSIONS, ids=lambda d: d.name)
def test_every_example_in_a_message_reads(dimension: Dimension) -> None:
    for example in dimension.example.replace(", ", " or ").split(" or "):
        assert parse(example, dimension) is not None


def test_any_dimension_by_its_unit() -> None:
    for text, unit in [("20.4 V", "V"), ("18 AWG", "m²"), ("5 s", "s"), ("280 kg", "N")]:
        quantity = parse_any(text)
        assert quantity is not None
        assert quantity.unit == unit
    for text, code in [
        ("18", "no-unit"),
        ("energised", "not-a-number"),
        ("0,7 V", "decimal-comma"),
        ("ladder, 1,2 m long", "not-a-number"),
    ]:
        with pytest.raises(QuantityError) as caught:
            parse_any(text)
        assert caught.value.code == f"quantity.{code}"


def test_no_spelling_belongs_to_two_dimensions() -> None:
    spellings = [s for d in DIMENSIONS for s in d.units]
    assert len(spellings) == len(set(spellings))


def test_pieces() -> None:
    volts, hertz = parse_pieces("230 V 50 Hz", VOLTAGE, FREQUENCY)
    assert (volts.value, hertz.value) == (230.0, 50.0)
    volts, charge = parse_pieces("12V 7Ah", VOLTAGE, CHARGE)
    assert (volts.value, charge.value) == (12.0, 7.0)
    volts, hertz = parse_pieces("100 to 240 V, 50 to 60 Hz", VOLTAGE, FREQUENCY)
    assert (volts.low, volts.high, hertz.low, hertz.high) == (100.0, 240.0, 50.0, 60.0)


@pytest.mark.parametrize("text", ["230 V", "50 Hz 230 V", "230 V 50 Hz 3 A", "unknown 50 Hz", ""])
def test_pieces_say_what_is_wrong(text: str) -> None:
    with pytest.raises(QuantityError, match="such as 12 V 50 Hz"):
        parse_pieces(text, VOLTAGE, FREQUENCY)


@given(st.text(), st.sampled_from(DIMENSIONS))
def test_junk_is_a_quantity_or_a_quantity_error(text: str, dimension: Dimension) -> None:
    try:
        quantity = parse(text, dimension)
    except QuantityError:
        return
    assert quantity is None or math.isfinite(quantity.value)


_PIECES = st.sampled_from(
    [
        "1",
        "20",
        ".5",
        "1/2",
        "0",
        "-",
        "+",
        "to",
        "±",
        "%",
        "V",
        "m",
        "mm²",
        "AWG",
        "about",
        " ",
        ",",
    ]
)


@given(st.lists(_PIECES, max_size=12).map("".join), st.sampled_from(DIMENSIONS))
def test_near_junk_too(text: str, dimension: Dimension) -> None:
    try:
        quantity = parse(text, dimension)
    except QuantityError:
        return
    assert quantity is not None
    assert quantity.low <= quantity.value <= quantity.high


@given(st.floats(min_value=-1e6, max_value=1e6), st.sampled_from(DIMENSIONS))
def test_the_unit_it_is_kept_in_reads_back(number: float, dimension: Dimension) -> None:
    if dimension.symbol in ("m²", "1"):
        return
    assert value(f"{number:.9f} {dimension.symbol}", dimension) == pytest.approx(number, abs=1e-9)
