"""Figures of the rules against the standards they are said to come from.

From memory unless said otherwise; what is unsure is never held against anybody.
"""

from __future__ import annotations

import pytest

from latchwork.rules import Known, limits_of
from latchwork.rules.cabling import reader_limit_m
from latchwork.rules.fit import NEEDS_GRADE
from latchwork.rules.sets import GENERAL, UK_AND_EUROPE, US_MODEL_CODES, Limit, Limits
from latchwork.words import has

INCH_M, FOOT_M, POUND_N = 0.0254, 0.3048, 4.4482216


def _limit(name: str, limits: Limits = US_MODEL_CODES) -> Limit:
    found = getattr(limits, name)
    assert isinstance(found, Limit)
    return found


def test_release_of_access_controlled_egress_doors() -> None:
    """IBC and NFPA 101 7.2.1.6.2, from memory: 40 to 48 in high, within 5 ft, 30 s."""
    height = _limit("release_height_m")
    assert height.least == pytest.approx(40 * INCH_M)
    assert height.most == pytest.approx(48 * INCH_M)
    assert (round(height.least or 0, 3), round(height.most or 0, 3)) == (1.016, 1.219)
    assert _limit("release_distance_m").most == pytest.approx(5 * FOOT_M)
    assert _limit("release_hold_s").least == 30.0
    assert US_MODEL_CODES.release_sign == ("PUSH TO EXIT", "us-egress")


def test_closers_and_opening_force() -> None:
    """ADA Standards 2010, 404.2.8.1 and 404.2.9, from memory: 5 s, 5 lbf (22.2 N)."""
    assert _limit("closer_s").least == 5.0
    assert _limit("opening_n").most == pytest.approx(5 * POUND_N, abs=0.05)


def test_reader_cable() -> None:
    """SIA AC-01 as common practice has it: 500 ft on 18 AWG (clause to be looked up). On thinner
    cores the trade says 300 ft on 20 AWG and 200 ft on 22 AWG (common practice, no source)."""
    assert reader_limit_m(0.8230e-6) == pytest.approx(150.0, rel=1e-3)
    assert reader_limit_m(0.5176e-6) == pytest.approx(300 * FOOT_M, rel=0.05)
    assert reader_limit_m(0.3255e-6) == pytest.approx(200 * FOOT_M, rel=0.05)
    assert reader_limit_m(1.5e-6) == 150.0


def test_enclosure_digits() -> None:
    """IEC 60529, from memory: first digit 4 a 1 mm wire; second 2 drops at 15°, 4 splashes."""
    assert NEEDS_GRADE == {"outside": (4, 2), "weather": (4, 4)}


@pytest.mark.parametrize("limits", [GENERAL, US_MODEL_CODES, UK_AND_EUROPE])
def test_every_figure_names_a_source_that_has_words(limits: Limits) -> None:
    for name in Limits.__slots__:
        value = getattr(limits, name)
        source = value.source if isinstance(value, Limit) else value
        if isinstance(value, tuple):
            source = value[1]
        if isinstance(source, str):
            assert has(f"source.{source}"), name


@pytest.mark.parametrize(
    ("rule_set", "name"),
    [
        ("UK and Europe", "release_height_m"),
        ("UK and Europe", "standby_h"),
        ("US model codes", "standby_h"),
    ],
)
def test_what_is_unsure_is_no_limit(rule_set: str, name: str) -> None:
    limit = _limit(name, limits_of(rule_set))
    assert limit.known is Known.UNSURE
    assert limit.broken_by(0.0, 0.0) is None
    assert limit.broken_by(1e6, 1e6) is None


def test_a_limit_is_broken_only_where_all_of_a_range_is_beyond_it() -> None:
    limit = Limit(1.0, 2.0, "practice", Known.PRACTICE)
    assert limit.broken_by(0.8, 0.9) == 1.0
    assert limit.broken_by(0.9, 1.1) is None
    assert limit.broken_by(2.1, 2.2) == 2.0
    assert limit.broken_by(1.9, 2.1) is None
