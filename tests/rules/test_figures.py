"""Figures that findings are told with, by hand."""

from __future__ import annotations

import pytest

from tests.rules.cases_electrical import NETWORKED, PORT_4, RUNG, _on_transformer, _rated
from tests.rules.jobs import STRIKE, but, findings, job


def figures(text: str, rule: str) -> dict[str, float | str]:
    (found,) = (f for f in findings(text) if f.rule == rule)
    return dict(found.figures)


def test_a_bell_is_held_against_the_most_it_may_need() -> None:
    """13.2 V over 1.5 ohm, 95 m of 0.19 ohm/m, 0.1 ohm of button and 30 ohm of a bell that needs
    6 to 8 V."""
    told = figures(_on_transformer("95 m"), "bell-low")
    assert told["volts_v"] == pytest.approx(13.2 * 30.0 / (1.5 + 95 * 0.19 + 0.1 + 30.0))
    assert told["loop_ohm"] == pytest.approx(95 * 0.19 + 0.1)
    assert told["needs_v"] == 8.0


def test_a_transformers_rating_is_told_in_volt_amperes() -> None:
    """S = U * I at its rated 12 V; the bell's 0.2 to 0.4 A besides the coil."""
    told = figures(_rated("11 VA", RUNG), "transformer-overload")
    assert told["bells_a"] == pytest.approx(0.3)
    assert told["rated_va"] == pytest.approx(11.0)
    assert told["load_va"] == pytest.approx(12.0 * float(told["load_a"]))
    assert told["load_va"] == pytest.approx(12.0 * (0.7 + 0.3), rel=0.01)


def test_what_hangs_on_a_converter_adds_to_what_the_port_gives() -> None:
    """A reader that takes 0.5 A at 12 V while it acts instead of 0.09 A: 4.92 W more (P = U * I),
    beside a lock on the port's own volts."""

    def total_w(reader: str) -> float:
        lock = "{part: strike 24 V fail-secure, volts: 48 V, current: 0.2 A}"
        kit = {"lock": lock, "controller": NETWORKED, "reader": reader}
        supplies, site = f"S1: {PORT_4}", ", port budget: 1 W"
        told = figures(job(but(STRIKE, kit), supplies=supplies, site=site), "ports-together")
        return float(told["total_w"])

    more_w = total_w("{part: reader, busy current: 0.5 A}") - total_w("reader")
    assert more_w == pytest.approx((0.5 - 0.09) * 12.0)
