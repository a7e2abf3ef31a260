"""Batteries, supplies and network ports of the catalogue against handbook and standard values.

[M] in a note: the value is from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from latchwork.elements import Certainty, Load, Source, SourceShape
from latchwork.parts import Part, catalogue


@dataclass(frozen=True)
class Said:
    """A figure as a job would give it."""

    value: float
    unit: str
    low: float
    high: float
    certainty: Certainty = Certainty.DATA_SHEET


def said(value: float, unit: str) -> Said:
    return Said(value, unit, value, value)


def supply(name: str, ah: float, blocks: int, **more: Said) -> Part:
    figures = {word.replace("_", " "): fact for word, fact in more.items()}
    figures["battery capacity"] = said(ah, "Ah")
    return catalogue().find(name).resolve(figures, {"battery blocks": blocks})


def source(part: Part, name: str) -> Source:
    found = next(e for e in part.elements if e.name == name)
    assert isinstance(found, Source)
    return found


@pytest.mark.parametrize(("name", "blocks"), [("supply 12 V", 1), ("supply 24 V", 2)])
def test_float_and_end_voltage_of_valve_regulated_batteries(name: str, blocks: int) -> None:
    # Trade handbook [M]: float 13.5 to 13.8 V, end of discharge 10.5 V, rested and full 12.8 to
    # 13.0 V, for 12 V; twice for two in series.
    part = supply(name, 7.0, blocks)
    mains, battery = source(part, "mains supply"), source(part, "battery")
    assert mains.volt.low == pytest.approx(13.5 * blocks)
    assert mains.volt.high == pytest.approx(13.8 * blocks)
    assert battery.low_volt is not None
    assert battery.low_volt.value == pytest.approx(10.5 * blocks)
    assert battery.volt.low == pytest.approx(12.8 * blocks, abs=0.03 * blocks)
    assert battery.volt.high == pytest.approx(13.0 * blocks, abs=0.03 * blocks)
    assert battery.shape is SourceShape.BREAKS_DOWN
    # A resting battery is below float, so it gives nothing while the mains are there.
    assert battery.volt.high < mains.volt.low


def test_half_empty_battery() -> None:
    # Trade handbook [M]: half about 12.2 to 12.3 V, empty about 11.6 to 11.9 V.
    half = supply("supply 12 V", 7.0, 1, battery_charge_left=said(0.5, "1"))
    empty = supply("supply 12 V", 7.0, 1, battery_charge_left=said(0.0, "1"))
    assert source(half, "battery").volt.value == pytest.approx(12.25, abs=0.1)
    assert source(empty, "battery").volt.low >= 11.55
    assert source(empty, "battery").volt.high <= 11.9


def test_the_higher_of_cut_off_and_end_of_discharge_counts() -> None:
    # Deep-discharge cut-off in supplies: 9.5 to 10.8 V [M].
    for cut_off_v, end_v in ((9.5, 10.5), (10.8, 10.8)):
        part = supply("supply 12 V", 7.0, 1, **{"cut-off": said(cut_off_v, "V")})
        low = source(part, "battery").low_volt
        assert low is not None
        assert low.value == pytest.approx(end_v)


def test_at_10_5_volts_no_12_volt_lock_of_10_percent_is_inside_its_tolerance() -> None:
    # Check of principle (computed): 12 V less 10 % is 10.8 V, above 10.5 V before any cable.
    lock = catalogue().find("strike 12 V fail-secure").resolve({"works from": said(10.8, "V")})
    low = source(supply("supply 12 V", 7.0, 1), "battery").low_volt
    assert low is not None
    assert low.value < lock.figures["rated_low_v"].value
    # The 85 % of ANSI/BHMA A156.31 is 10.2 V (computed): 0.3 V is left for the cable.
    usual = catalogue().find("strike 12 V fail-secure").resolve()
    left_v = low.value - usual.figures["surely_pick_v"].value
    assert left_v == pytest.approx(0.3)


@pytest.mark.parametrize(
    ("ah", "low_ohm", "high_ohm"),
    # Internal resistance of a new 12 V block: common practice, no source.
    [(1.2, 0.06, 0.14), (7.0, 0.018, 0.035), (17.0, 0.010, 0.020), (40.0, 0.005, 0.011)],
)
def test_internal_resistance_falls(ah: float, low_ohm: float, high_ohm: float) -> None:
    ohm = source(supply("supply 12 V", ah, 1), "battery").ohm
    assert low_ohm <= ohm.low < ohm.high <= high_ohm


def test_charge_current_stays_within_the_limit_of_the_battery() -> None:
    # Charge current limit about 0.25 to 0.3 C, 1.75 to 2.1 A for 7 Ah [M]; charging at C/10 is
    # common practice, no source.
    part = supply("supply 12 V", 7.0, 1)
    charger = next(e for e in part.elements if e.name == "charger")
    assert isinstance(charger, Load)
    assert charger.amount.value == pytest.approx(0.7)
    assert charger.amount.high <= 1.75


# IEEE 802.3 (af, at, bt) [M, self-checked]: class -> watts at the port, watts at the unit.
POE = {
    0: (15.4, 12.95),
    1: (4.00, 3.84),
    2: (7.00, 6.49),
    3: (15.4, 12.95),
    4: (30.0, 25.5),
    5: (45.0, 40.0),
    6: (60.0, 51.0),
    7: (75.0, 62.0),
    8: (90.0, 71.3),
}

# The worst-case circuit behind the pairs (computed): volts, amperes, ohms of the cable.
WORST = {
    3: (44.0, 0.35, 20.0),
    4: (50.0, 0.6, 12.5),
    6: (50.0, 1.2, 6.25),
    8: (52.0, 1.73, 6.25),
}


@pytest.mark.parametrize("poe_class", POE)
def test_network_ports_by_class(poe_class: int) -> None:
    part = catalogue().find(f"PoE port, class {poe_class}").resolve()
    port_w, unit_w = POE[poe_class]
    assert part.figures["port_w"].value == port_w
    assert part.figures["unit_w"].value == unit_w
    assert part.facts["poe_class"] == poe_class
    limit = source(part, "port").limit_a
    assert limit is not None
    assert limit.value * source(part, "port").volt.low == pytest.approx(port_w)


@pytest.mark.parametrize("poe_class", WORST)
def test_what_a_port_promises_reproduces_from_the_worst_circuit(poe_class: int) -> None:
    volts, amps, ohm = WORST[poe_class]
    part = catalogue().find(f"PoE port, class {poe_class}").resolve()
    assert source(part, "port").volt.low == volts
    assert part.figures["port_w"].value == pytest.approx(volts * amps, rel=0.01)
    assert part.figures["unit_w"].value == pytest.approx((volts - amps * ohm) * amps, rel=1e-3)


def test_strikes_listed_for_fire_doors_carry_grade_1_strength() -> None:
    # ANSI/BHMA A156.31 (2001): static strength of grade 1 1500 lbf = 6670 N.
    part = catalogue().find("strike 12 V fail-secure, fire-listed").resolve()
    assert part.figures["holding_n"].value == pytest.approx(1500 * 4.4482216, abs=5.0)
    # NFPA 80 / UL 10C: a strike on a fire door must be fail-secure and listed.
    for spec in catalogue().specs():
        resolved = spec.resolve()
        if resolved.kind == "strike" and resolved.facts["fire_listed"]:
            assert resolved.facts["energised"] == "unlocks"


def test_ingress_is_written_as_iec_60529_writes_it() -> None:
    # IEC 60529 [M]: first figure 0 to 6, second 0 to 9; weather asks for splashes at least (X4).
    for spec in catalogue().specs():
        facts = spec.resolve().facts
        if "ingress" in facts:
            code = str(facts["ingress"])
            assert code.startswith("IP")
            assert code[2] in "0123456"
            assert code[3] in "0123456789"
            assert facts["made_for"] != "weather" or int(code[3]) >= 4
