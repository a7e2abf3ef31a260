"""Parts that are not sound."""

from __future__ import annotations

import pytest

from latchwork.elements import (
    FALSE,
    Bolt,
    Contact,
    Diode,
    Figure,
    Flag,
    Fuse,
    Latch,
    Load,
    Resistor,
    Sense,
    Source,
)
from latchwork.parts import Part, StateNotFound, catalogue, states_of, with_state
from tests.parts.deciding import closed, holds, settled
from tests.parts.test_locks import said

LIVE = {"powered": True, "EXIT_high": True, "CONTACT_high": True}


def named(name: str) -> Part:
    return catalogue().find(name).resolve()


def states(name: str) -> set[str]:
    return {state.name for state in states_of(named(name))}


def element(part: Part, name: str) -> object:
    return next(e for e in part.elements if e.name == name)


# What one would look for in such a part, written by hand.
EXPECTED = {
    "controller": {
        "contact NO welded",
        "contact NO stuck open",
        "contact NC welded",
        "contact NC stuck open",
        "relay stuck on",
        "relay stuck off",
        "controller frozen on",
        "controller frozen off",
        "controller dead",
        "input EXIT stuck closed",
        "input EXIT stuck open",
        "missing",
    },
    "controller, two doors": {"relay 2 stuck on", "contact NO2 welded", "input EXIT2 stuck open"},
    "strike 24 V fail-secure": {"coil open", "coil short", "missing"},
    "strike 24 V fail-secure, diode": {"diode open", "diode reversed", "diode short"},
    "magnet 24 V": {"coil open", "varistor short"},
    "varistor": {"varistor short"},
    "release, double pole": {"contact NC1 welded", "contact NC2 welded", "stuck at rest"},
    "exit button": {"stuck pressed", "stuck at rest", "contact NO stuck open"},
    "exit button, closed at rest": {"contact welded", "contact stuck open"},
    "exit sensor": {"sensor triggered", "sensor blind", "relay stuck on", "exit sensor dead"},
    "fire relay": {"relay stuck on", "contact NO welded"},
    "fuse 1 A": {"fuse blown", "fuse bridged"},
    "supply 24 V, four outputs": {"supply dead", "fuse 3 blown", "regulator low", "regulator high"},
    "reader": {"reader dead"},
    "battery 12 V 7 Ah": {"battery dead", "battery weak"},
    "transformer 12 V AC": {"transformer dead"},
    "network port, class 3": {"port dead"},
    "bell 12 V": {"coil open"},
    "motor lock 12 V": {"motor dead", "input IN stuck closed"},
}


@pytest.mark.parametrize("name", EXPECTED)
def test_states_to_be_looked_for(name: str) -> None:
    assert EXPECTED[name] <= states(name)


def test_a_supply_with_a_battery_has_its_states() -> None:
    part = catalogue().find("supply 24 V").resolve({"battery capacity": said(7.0, "Ah")})
    found = {state.name for state in states_of(part)}
    assert {"battery dead", "battery weak", "charger dead", "battery fuse blown"} <= found


def test_a_welded_contact_stays_closed_and_its_other_throw_open() -> None:
    part = with_state(named("controller"), "contact NO welded")
    assert closed(part, settled(part, **LIVE)) == {"NO", "TAMPER"}
    assert closed(part, settled(part)) == {"NO", "TAMPER"}


def test_poles_fail_apart() -> None:
    part = with_state(named("release, double pole"), "contact NC1 welded")
    assert closed(part, settled(part, pulled=True)) == {"NC1", "NO2"}


def test_a_welded_contact_takes_a_resistance() -> None:
    ohm = Figure(2.2, 2.0, 2.4)
    part = with_state(named("exit button, open at rest"), "contact welded", ohm)
    contact = element(part, "contact")
    assert isinstance(contact, Contact)
    assert contact.closed_ohm == ohm


def test_a_stuck_relay_and_a_frozen_controller_differ_without_power() -> None:
    stuck = with_state(named("controller"), "relay stuck on")
    frozen = with_state(named("controller"), "controller frozen on")
    for part in (stuck, frozen):
        assert "NO" in closed(part, settled(part, **LIVE))
    assert "NO" in closed(stuck, settled(stuck))
    assert "NC" in closed(frozen, settled(frozen))


def test_a_frozen_controller_hears_nothing() -> None:
    part = with_state(named("controller"), "controller frozen off")
    assert "NC" in closed(part, settled(part, **{**LIVE, "EXIT_high": False}, credential=True))


def test_an_input_stuck_closed_grants_and_one_stuck_open_never_does() -> None:
    asked = {**LIVE, "EXIT_high": False}
    on, off = (
        with_state(named("controller"), f"input EXIT stuck {end}") for end in ("closed", "open")
    )
    assert settled(on, **LIVE)["relay"]
    assert not settled(off, **asked)["relay"]


def test_coils() -> None:
    lock = named("strike 24 V fail-secure")
    assert with_state(lock, "coil open").elements == ()
    short = element(with_state(lock, "coil short"), "coil")
    assert isinstance(short, Resistor)
    assert short.ohm.value == pytest.approx(0.1)
    measured = element(with_state(lock, "coil short", Figure(9.0, 9.0, 9.0)), "coil")
    assert isinstance(measured, Resistor)
    assert measured.ohm.value == 9.0


def test_a_coil_that_is_open_pulls_nothing_whatever_its_volts() -> None:
    """Common practice, no source: volts at the terminals of an open coil do not fall, they rise."""
    for state in ("coil open", "coil short"):
        (bolt,) = (r for r in with_state(named("magnet 24 V"), state).rules if isinstance(r, Bolt))
        assert bolt.needs == FALSE
    (relay,) = (
        r for r in with_state(named("relay 24 V"), "coil open").rules if isinstance(r, Sense)
    )
    assert relay.needs == FALSE


def test_of_two_coils_each_does_its_own_part() -> None:
    """Common practice, no source: the strong one picks up, the weak one holds what was picked."""
    staged = named("bolt 24 V fail-safe, staged coil")
    (sound,) = (r for r in staged.rules if isinstance(r, Bolt))
    (weak,) = (r for r in with_state(staged, "coil open").rules if isinstance(r, Bolt))
    (strong,) = (r for r in with_state(staged, "pick-up coil open").rules if isinstance(r, Bolt))
    assert weak.needs == sound.needs & Flag("picking")
    assert strong.needs == sound.needs & Flag("energised")


def test_a_diode_reversed_conducts_the_wrong_way() -> None:
    diode = element(with_state(named("diode"), "diode reversed"), "diode")
    assert isinstance(diode, Diode)
    assert (diode.anode, diode.cathode) == ("K", "A")


def test_an_open_diode_cannot_be_seen_by_direct_current() -> None:
    seen = {state.name: state.seen_by_dc for state in states_of(named("diode"))}
    assert seen == {
        "diode open": False,
        "diode reversed": True,
        "diode short": True,
        "missing": True,
    }


def test_fuses() -> None:
    part = named("fuse 1 A")
    assert with_state(part, "fuse blown").elements == ()
    bridged = with_state(part, "fuse bridged")
    assert not [e for e in bridged.elements if isinstance(e, Fuse)]
    assert len(bridged.elements) == 1


def test_batteries_and_chargers() -> None:
    part = catalogue().find("supply 24 V").resolve({"battery capacity": said(7.0, "Ah")})
    sound = element(part, "battery")
    assert isinstance(sound, Source)
    weak = element(with_state(part, "battery weak"), "battery")
    assert isinstance(weak, Source)
    assert weak.ohm.value == pytest.approx(10 * sound.ohm.value)
    assert not [e for e in with_state(part, "battery dead").elements if e.name == "battery"]
    uncharged = with_state(part, "charger dead")
    flags = settled(uncharged, battery_up=True)
    on = {e.name for e in uncharged.elements if isinstance(e, Source | Load) and holds(e.on, flags)}
    assert on == {"mains supply"}


def test_a_dead_supply_lives_on_its_battery() -> None:
    part = with_state(
        catalogue().find("supply 24 V").resolve({"battery capacity": said(7.0, "Ah")}),
        "supply dead",
    )
    flags = settled(part, battery_up=True)
    on = {e.name for e in part.elements if isinstance(e, Source) and holds(e.on, flags)}
    assert on == {"battery"}
    latch = next(r for r in part.rules if isinstance(r, Latch))
    assert settled(part, battery_up=False)[latch.flag]


def test_dead_units_take_no_power_and_drop_their_relay() -> None:
    part = with_state(named("exit sensor, energised when idle"), "exit sensor dead")
    from latchwork.elements import Sense

    powered = next(r for r in part.rules if isinstance(r, Sense) and r.flag == "powered")
    assert not holds(powered.needs, settled(part))


def test_stuck_buttons_and_sensors() -> None:
    part = with_state(named("exit button"), "stuck pressed")
    assert closed(part, settled(part)) == {"NO"}
    part = with_state(named("release"), "stuck at rest")
    assert closed(part, settled(part, pulled=True)) == {"NC"}
    part = with_state(named("exit sensor"), "sensor triggered")
    assert closed(part, settled(part, powered=True)) == {"NO"}
    part = with_state(named("exit sensor"), "sensor blind")
    assert closed(part, settled(part, powered=True, triggered=True)) == {"NC"}


def test_what_is_missing_conducts_nothing() -> None:
    assert with_state(named("controller"), "missing").elements == ()


@pytest.mark.parametrize("name", ["strike 24 V fail-secure", "magnet 24 V", "motor lock 24 V"])
def test_a_lock_that_is_missing_has_no_bolt(name: str) -> None:
    assert with_state(named(name), "missing").rules == ()


def test_a_state_that_is_not_there_is_told_with_the_nearest() -> None:
    with pytest.raises(StateNotFound) as told:
        with_state(named("controller"), "contact NO weldet")
    assert told.value.nearest[0] == "contact NO welded"
