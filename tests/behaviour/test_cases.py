"""The table of worst cases against every combination of ends, on doors small enough for that."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import product

import pytest

from latchwork.behaviour.cases import (
    Case,
    Climate,
    conductor_ohm,
    copper,
    load_amount,
    resistor_ohm,
    source_gives,
    threshold_v,
)
from latchwork.elements import Figure, LoadLaw, ResistorRole
from tests.behaviour.board import CLIMATE, Board

COPPER_FACTORS = {40.0: 1.0786, 50.0: 1.1179, 75.0: 1.2162}
"""IEC 60028 (from memory) gives 0.00393 per kelvin; the factors computed from that."""


@pytest.mark.parametrize(("celsius", "factor"), COPPER_FACTORS.items())
def test_copper_rises_with_temperature_as_iec_60028_says(celsius: float, factor: float) -> None:
    assert copper(1.0, celsius) == pytest.approx(factor, abs=5e-5)


def test_a_coil_that_rises_80_kelvin_reads_31_55_ohm_for_24() -> None:
    """IEC 60028, from memory: x 1.3144, computed."""
    assert copper(24.0, 100.0) == pytest.approx(31.55, abs=0.005)


SPREAD = Figure(10.0, 8.0, 13.0)
TABLE = {
    Case.NOMINAL: (10.0, 10.0, 10.0, 10.0, 10.0),
    Case.LEAST_VOLTS: (8.0, 13.0 * 1.0786, 13.0, 8.0, 13.0),
    Case.MOST_VOLTS: (13.0, 8.0 * (1.0 - 0.0786), 8.0, 13.0, 8.0),
    Case.MOST_CURRENT: (13.0, 8.0 * (1.0 - 0.0786), 13.0, 8.0 * (1.0 - 0.0786), 10.0),
}
"""Sources, conductors, loads, coils, thresholds, with 0 °C cold and 40 °C hot."""


@pytest.mark.parametrize(("case", "row"), TABLE.items())
def test_the_table_row_by_row(case: Case, row: tuple[float, ...]) -> None:
    climate = Climate(0.0, 40.0)
    ours = (
        source_gives(SPREAD, case),
        conductor_ohm(SPREAD, case, climate),
        load_amount(SPREAD, case),
        resistor_ohm(SPREAD, ResistorRole.COIL, case, climate),
        threshold_v(SPREAD, case),
    )
    assert ours == pytest.approx(row, rel=1e-9)


FIGURES: Mapping[str, Figure] = {
    "volt": Figure(13.8, 11.5, 14.4),
    "inner": Figure(0.1, 0.05, 0.2),
    "trunk": Figure(0.8, 0.7, 1.0),
    "branch": Figure(0.6, 0.5, 0.8),
    "watts": Figure(2.0, 1.2, 2.6),
    "coil": Figure(24.0, 21.0, 26.0),
    "other": Figure(48.0, 42.0, 55.0),
}
ROLES = {
    "trunk": ResistorRole.CONDUCTOR,
    "branch": ResistorRole.CONDUCTOR,
    "coil": ResistorRole.COIL,
    "other": ResistorRole.LOAD,
}


def door(figures: Mapping[str, float | Figure], law: LoadLaw, plain: bool) -> Board:
    """A supply, a trunk to a controller and another lamp, a branch to the coil. ``plain``: the
    figures are final, and nothing has a role that would alter them."""

    def role(name: str) -> ResistorRole:
        return ResistorRole.LOAD if plain else ROLES[name]

    board = Board()
    board.source("psu", "+", "0", figures["volt"], figures["inner"])
    board.ohm("trunk", "+", "a", figures["trunk"], role=role("trunk"))
    board.load("controller", "a", "0", figures["watts"], 6.0, law)
    board.ohm("other", "a", "0", figures["other"], role=role("other"))
    board.ohm("branch", "a", "lock", figures["branch"], role=role("branch"))
    board.ohm("coil", "lock", "0", figures["coil"], role=role("coil"))
    return board


def ends(name: str, case: Case) -> tuple[float, float]:
    """The two ends a figure may lie at in a search for ``case``; nominal figures stand in front
    of their climate: conductors from cold to hot, coils cold only where current is looked for."""
    f = FIGURES[name]
    if ROLES.get(name) is ResistorRole.CONDUCTOR:
        return copper(f.low, CLIMATE.cold_c), copper(f.high, CLIMATE.hot_c)
    if name == "coil" and case is Case.MOST_CURRENT:
        return copper(f.low, CLIMATE.cold_c), f.high
    return f.low, f.high


def lock_v(board: Board, case: Case = Case.NOMINAL) -> float:
    ready = board.ready(case)
    _, point = ready.settle()
    return ready.volts(point, "lock")


def supply_a(board: Board, case: Case = Case.NOMINAL) -> float:
    ready = board.ready(case)
    _, point = ready.settle()
    volt = ready.values.source_volt[0, 0]
    return float((volt - ready.volts(point, "+")) / ready.values.source_ohm[0, 0])


@pytest.mark.parametrize("law", list(LoadLaw))
def test_no_combination_of_ends_leaves_the_lock_less_or_more(law: LoadLaw) -> None:
    amounts = dict(FIGURES)
    if law is LoadLaw.CURRENT:
        amounts["watts"] = Figure(0.2, 0.1, 0.3)
    whole = door(amounts, law, plain=False)
    for case in (Case.LEAST_VOLTS, Case.MOST_VOLTS):
        seen = []
        for chosen in product(
            *(
                (amounts["watts"].low, amounts["watts"].high) if n == "watts" else ends(n, case)
                for n in amounts
            )
        ):
            seen.append(lock_v(door(dict(zip(amounts, chosen, strict=True)), law, plain=True)))
        worst = min(seen) if case is Case.LEAST_VOLTS else max(seen)
        assert lock_v(whole, case) == pytest.approx(worst, abs=1e-6)


def test_no_combination_of_ends_takes_more_current() -> None:
    """Loads of constant current: one of constant power takes most where the volts are least,
    which no row of the table can have together with the coils' most."""
    amounts = {**FIGURES, "watts": Figure(0.2, 0.1, 0.3)}
    whole = door(amounts, LoadLaw.CURRENT, plain=False)
    seen = []
    for chosen in product(
        *(
            (amounts["watts"].low, amounts["watts"].high)
            if n == "watts"
            else ends(n, Case.MOST_CURRENT)
            for n in amounts
        )
    ):
        figures = dict(zip(amounts, chosen, strict=True))
        seen.append(supply_a(door(figures, LoadLaw.CURRENT, plain=True)))
    assert supply_a(whole, Case.MOST_CURRENT) == pytest.approx(max(seen), abs=1e-6)
