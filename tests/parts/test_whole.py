"""Every part of the catalogue is whole: it resolves, and its pieces fit together."""

from __future__ import annotations

import pytest

from latchwork.elements import (
    Bolt,
    Contact,
    Diode,
    Element,
    Expr,
    Fuse,
    Latch,
    Rail,
    Resistor,
    Rule,
    Sense,
    Source,
    Timer,
    expr_flags,
)
from latchwork.parts import Part, catalogue, states_of, with_state

NAMES = catalogue().names()


def _ends(element: Element) -> tuple[str, str]:
    if isinstance(element, Resistor | Contact | Fuse):
        return element.a, element.b
    if isinstance(element, Diode):
        return element.anode, element.cathode
    return element.plus, element.minus


def _read(part: Part) -> set[str]:
    exprs: list[Expr] = []
    for element in part.elements:
        if isinstance(element, Contact):
            exprs.append(element.closed)
        elif not isinstance(element, Diode | Fuse):
            exprs.append(element.on)
        if isinstance(element, Source) and element.low_when is not None:
            exprs.append(element.low_when)
    for rule in part.rules:
        if isinstance(rule, Sense | Bolt):
            exprs.append(rule.needs)
        elif isinstance(rule, Rule):
            exprs.append(rule.when)
        elif isinstance(rule, Latch):
            exprs += [rule.set_by, rule.reset_by]
        elif isinstance(rule, Timer):
            exprs += [rule.start, rule.clear]
    return {flag for expr in exprs for flag in expr_flags(expr)}


def assert_whole(part: Part) -> None:
    """Terminals, elements and flags of the part fit together."""
    screws = [terminal.name for terminal in part.terminals]
    assert len(screws) == len(set(screws))
    names = [element.name for element in part.elements]
    assert len(names) == len(set(names))
    flags = [rule.flag for rule in part.rules]
    assert len(flags) == len(set(flags)), flags
    for element in part.elements:
        for end in _ends(element):
            assert end in screws or end.startswith("_"), (element.name, end)
    for rule in part.rules:
        if isinstance(rule, Sense | Bolt):
            known = {end for element in part.elements for end in _ends(element)} | set(screws)
            assert {rule.a, rule.b} <= known, rule.flag
    for flag in _read(part):
        assert flag in flags or flag.startswith(("door:", "site:")), flag


@pytest.mark.parametrize("name", NAMES)
def test_part_and_all_its_states_are_whole(name: str) -> None:
    part = catalogue().get(name).resolve()
    assert_whole(part)
    for state in states_of(part):
        changed = with_state(part, state.name)
        assert changed != part
        assert_whole(changed)


@pytest.mark.parametrize("name", NAMES)
def test_every_figure_has_a_source(name: str) -> None:
    for field, figure in catalogue().get(name).resolve().figures.items():
        assert figure.source.strip(), field


@pytest.mark.parametrize("name", NAMES)
def test_thresholds_stand_in_order(name: str) -> None:
    part = catalogue().get(name).resolve()
    for rule in part.rules:
        if isinstance(rule, Bolt):
            assert 0.0 < rule.may_pick_v <= rule.surely_pick_v
            assert 0.0 < rule.surely_release_v <= rule.surely_hold_v <= rule.surely_pick_v
        if isinstance(rule, Sense):
            assert rule.off_v.value <= rule.on_v.value, rule.flag
            assert rule.off_v.high <= rule.on_v.high
            assert rule.off_v.low <= rule.on_v.low


@pytest.mark.parametrize("name", NAMES)
def test_rated_volts_lie_about_nominal(name: str) -> None:
    figures = catalogue().get(name).resolve().figures
    if "rated_low_v" in figures:
        nominal = figures["nominal_v"].value
        assert figures["rated_low_v"].value <= nominal <= figures["rated_high_v"].value


def test_inputs_are_rails_behind_a_resistance() -> None:
    part = catalogue().find("controller").resolve()
    rails = [element for element in part.elements if isinstance(element, Rail)]
    assert {rail.plus for rail in rails} == {"EXIT", "CONTACT"}
    # From memory, common practice, no source: 5 V behind some kilohms, under two milliamps.
    assert all(rail.volt.high / rail.ohm.low < 0.002 for rail in rails)
