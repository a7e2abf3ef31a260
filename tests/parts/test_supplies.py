"""Supplies: outputs behind fuses, cut-off, charging, and what returns after a flat battery."""

from __future__ import annotations

import pytest

from latchwork.elements import (
    Contact,
    Expr,
    Fuse,
    Latch,
    Load,
    Sense,
    Source,
    SourceShape,
    expr_flags,
)
from latchwork.parts import Part, catalogue
from tests.parts.deciding import holds, settled
from tests.parts.test_locks import said


def fitted(name: str, **settings: str) -> Part:
    spec = catalogue().find(name)
    return spec.resolve({"battery capacity": said(7.0, "Ah")}, settings)


def element(part: Part, name: str) -> object:
    return next(e for e in part.elements if e.name == name)


def alive(part: Part, **given: bool) -> set[str]:
    """Names of sources, loads and contacts that are on."""
    flags = settled(part, **given)
    on: dict[str, Expr] = {
        e.name: e.closed if isinstance(e, Contact) else e.on
        for e in part.elements
        if isinstance(e, Contact | Source | Load)
    }
    return {name for name, expr in on.items() if holds(expr, flags)}


def test_on_mains_a_common_battery_floats() -> None:
    on = alive(fitted("supply 24 V"), battery_up=True)
    assert on == {"mains supply", "battery", "contact battery", "trickle"}


def test_without_mains_the_battery_feeds() -> None:
    on = alive(fitted("supply 24 V"), mains=False, battery_up=True)
    assert on == {"battery", "contact battery"}


def test_a_separate_leg_joins_only_without_mains() -> None:
    part = fitted("supply 24 V, separate charging")
    assert "contact battery" not in alive(part, battery_up=True)
    assert "contact battery" in alive(part, mains=False, battery_up=True)


def test_a_flat_battery_is_cut_off_and_charged_when_the_mains_return() -> None:
    part = fitted("supply 24 V")
    cut = alive(part, mains=False, battery_up=False, battery_end=True)
    assert "contact battery" not in cut
    back = alive(part, battery_up=True, battery_end=True, cut_off=True)
    assert {"mains supply", "contact battery", "charger"} <= back
    assert "trickle" not in back


def test_one_that_is_reset_by_hand_stays_off() -> None:
    part = fitted("supply 24 V, reset by hand")
    latch = next(r for r in part.rules if isinstance(r, Latch))
    assert set(expr_flags(latch.reset_by)) == {"reset"}
    assert set(expr_flags(next(e for e in part.elements if isinstance(e, Source)).on)) == {
        "mains",
        "cut_off",
    }


def test_at_its_end_the_battery_is_not_yet_cut_off_under_full_load() -> None:
    for name in ("supply 12 V", "supply 12 V, 10 A", "supply 24 V", "supply 24 V, 5 A"):
        part = fitted(name)
        battery = element(part, "battery")
        fuse = element(part, "battery fuse")
        assert isinstance(battery, Source)
        assert isinstance(fuse, Fuse)
        assert battery.low_volt is not None
        healthy = next(r for r in part.rules if isinstance(r, Sense) and r.flag == "battery_up")
        sag = fuse.rating_a * (battery.ohm.high + fuse.ohm.high)
        assert battery.low_volt.low - sag >= healthy.off_v.value - 1e-9
        assert healthy.off_v.value > 0.8 * battery.low_volt.value


def test_a_limit_on_mains_holds_no_battery_back() -> None:
    def trips_v(**figures: float) -> float:
        given = {"battery capacity": said(7.0, "Ah")}
        given |= {word.replace("_", " "): said(value, "A") for word, value in figures.items()}
        rules = catalogue().find("supply 24 V, 1 A").resolve(given).rules
        return next(r for r in rules if isinstance(r, Sense) and r.flag == "battery_up").off_v.value

    assert trips_v(limit=5.0) == trips_v()
    assert trips_v(battery_fuse=5.0) < trips_v()


def test_a_fuse_in_each_output_as_the_job_says() -> None:
    part = (
        catalogue()
        .find("supply 24 V")
        .resolve(
            {"output 1 fuse": said(1.6, "A"), "output gate fuse": said(0.5, "A")},
            {"outputs": "1, gate"},
        )
    )
    assert [t.name for t in part.terminals] == ["1", "gate", "-"]
    one, gate = element(part, "fuse 1"), element(part, "fuse gate")
    assert isinstance(one, Fuse)
    assert isinstance(gate, Fuse)
    assert (one.a, one.b) == ("_bus", "1")
    assert (one.rating_a, one.blows_at_a) == (1.6, 3.2)
    assert gate.ohm.value > one.ohm.value
    assert one.resets is False


def test_polymer_fuses_come_back() -> None:
    part = catalogue().find("supply 24 V, eight self-resetting outputs").resolve()
    fuses = [e for e in part.elements if isinstance(e, Fuse)]
    assert len(fuses) == 8
    assert all(fuse.resets for fuse in fuses)


def test_folding_back() -> None:
    source = element(catalogue().find("supply 24 V, folds back").resolve(), "mains supply")
    assert isinstance(source, Source)
    assert source.shape is SourceShape.FOLD_BACK
    assert source.limit_a is not None
    assert 0 < source.fold_a < source.limit_a.value


def test_what_it_folds_back_to_says_that_it_does() -> None:
    """As a data sheet has it, a figure alone; one that is said to keep its current does not."""
    spec = catalogue().find("supply 24 V")
    plain, folds = spec.resolve(), spec.resolve({"folds back to": said(0.5, "A")})
    keeps = (
        catalogue()
        .find("supply 24 V, folds back")
        .resolve(settings={"past its limit": "constant current"})
    )
    sources = [e for part in (plain, folds, keeps) for e in part.elements if isinstance(e, Source)]
    mains = [(e.shape, e.fold_a) for e in sources if e.name == "mains supply"]
    assert mains == [
        (SourceShape.CONSTANT, 0.0),
        (SourceShape.FOLD_BACK, 0.5),
        (SourceShape.CONSTANT, 0.0),
    ]


def test_minus_is_not_earthed_unless_said() -> None:
    assert catalogue().find("supply 24 V").resolve().facts["minus_earthed"] is False
    assert catalogue().find("supply 24 V, minus earthed").resolve().facts["minus_earthed"] is True


def test_a_supply_without_a_battery_has_no_battery_inputs() -> None:
    flags = {rule.flag for rule in catalogue().find("supply 12 V").resolve().rules}
    assert flags == {"mains"}


def test_a_transformer_gives_rated_volts_at_rated_load() -> None:
    part = catalogue().find("transformer 12 V AC").resolve()
    source = element(part, "secondary")
    assert isinstance(source, Source)
    assert source.alternating
    rated_a = part.figures["limit_a"].value
    assert source.volt.value - source.ohm.value * rated_a == pytest.approx(12.0)
