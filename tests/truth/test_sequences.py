"""What no single situation shows: one thing after another at one door.

Common practice in the trade, no source.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest

from latchwork.behaviour import Batch, LockState, Point, State, dead, one_door, step, with_inputs
from latchwork.behaviour.shape import compile_shape
from latchwork.behaviour.state import PICKED
from tests.truth.solved import wired

HEAD = """
latchwork: 1
supplies:
  S1: {part: supply 24 V, limit: 5 A, battery: 2 x 12 V 17 Ah}
  S2: {part: supply 24 V, limit: 5 A, battery: 2 x 12 V 17 Ah}
doors:
  D1:
    supply: S1
"""
DARK = {"S1.mains": False, "S1.battery_present": False}
MINUTE_S = 60.0


class Door:
    """One door, nominal, taken step by step; shut and in healthy idle at first."""

    def __init__(self, kit: str, head: str = HEAD) -> None:
        target = one_door(wired(head + kit), "D1")
        self.network = target.network
        self.batch = Batch.of(compile_shape(self.network.shape), target.values, 1)
        self.state: State = dead(self.batch.compiled, 1)
        self.point: Point
        self.passes(3600.0, {"D1:latch_out": True})

    def passes(self, seconds: float, inputs: Mapping[str, bool] | None = None) -> None:
        """Set inputs, then let time pass."""
        flags = self.network.flags
        known = {flags[name]: value for name, value in (inputs or {}).items() if name in flags}
        self.state = with_inputs(self.state, known)
        self.state, self.point = step(self.batch, self.state, seconds)
        assert bool(self.point.solved.all())

    def says(self, flag: str) -> bool:
        """Whether a flag of the door is true now."""
        return bool(self.point.flags[self.network.flags[flag], 0])

    def lock(self, unlocks: bool = True) -> LockState:
        """The lock, if current through its coil ``unlocks`` it."""
        bolts = self.point.bolts[:, 0]
        assert len(bolts) == 1
        picked = bool(bolts[0] == PICKED)
        return LockState.UNLOCKED if picked is unlocks else LockState.LOCKED

    def volts(self, a: str, b: str) -> float:
        """Volts from one node to another."""
        nodes = self.network.nodes
        return float(self.point.volts[nodes[a], 0] - self.point.volts[nodes[b], 0])


MOTOR = """
    lock: motor lock 24 V
    controller: controller
    exit: button
"""


def test_a_motor_lock_that_stays_put_stays_drawn_in_the_dark() -> None:
    """Power lost while the bolt is drawn leaves the door open."""
    door = Door(MOTOR)
    assert not door.says("D1.lock.drawn")
    door.passes(2.0, {"D1.controller.credential": True})
    assert door.says("D1.lock.drawn")
    door.passes(MINUTE_S, DARK)
    assert door.says("D1.lock.drawn")
    door.passes(MINUTE_S, {"S1.mains": True, "S1.battery_present": True})
    assert not door.says("D1.lock.drawn")


@pytest.mark.parametrize(("metres", "thrown"), [(10, True), (32, False)])
def test_a_bolt_is_not_thrown_by_volts_that_are_there_at_standstill_only(
    metres: int, thrown: bool
) -> None:
    """The mains draw the bolt, and a battery at its end, 12 cells of 1.75 V, is to throw it. By
    hand: the motor takes 0.5 A over cores of 0.22 mm² (copper of 1/58 ohm mm²/m, IEC 60028, from
    memory), stops below 18.8 V, and the lock would start at 20.0 V."""
    ohm = 2 * metres / 58 / 0.22
    assert (12 * 1.75 - 0.5 * ohm > 18.8) is thrown
    assert 12 * 1.75 - 0.015 * ohm > 20.0
    assert 27.3 - 0.5 * ohm > 20.0
    run = f"controller at: supply\n    runs: {{lock: {metres} m of 4 x 0.22 mm²}}"
    door = Door(f"{MOTOR}    {run}\n")
    door.passes(2.0, {"D1.controller.credential": True})
    assert door.says("D1.lock.drawn")
    door.passes(MINUTE_S, {"S1.mains": False, "S1.battery_end": True})
    assert door.says("D1.lock.drawn") is not thrown


def test_the_monitor_of_a_motor_lock_follows_its_bolt() -> None:
    """Its own supply lost while the bolt is drawn: the controller still sees it unlocked."""
    door = Door(MOTOR.replace("motor lock 24 V", "{part: motor lock 24 V, supply: S2}"))
    assert door.volts("D1.controller.CONTACT", "D1.controller.GND") < 0.1
    door.passes(2.0, {"D1.controller.credential": True})
    door.passes(MINUTE_S, {"S2.mains": False, "S2.battery_present": False})
    assert door.says("D1.lock.drawn")
    assert door.volts("D1.controller.CONTACT", "D1.controller.GND") > 4.0


def test_a_motor_lock_with_a_stored_charge_throws_in_the_dark() -> None:
    door = Door(MOTOR.replace("motor lock 24 V", "motor lock 24 V fail-secure"))
    door.passes(2.0, {"D1.controller.credential": True})
    assert door.lock() is LockState.UNLOCKED
    door.passes(MINUTE_S, DARK)
    assert door.lock() is LockState.LOCKED


def test_a_bell_rings_while_its_button_is_pressed_and_moves_nothing() -> None:
    door = Door(
        """
    lock: strike 24 V fail-secure
    controller: controller, reader outside
    bell: bell 24 V
    bell button: bell button
"""
    )
    assert not door.says("D1.bell.sounds")
    door.passes(1.0, {"D1.bell button.pressed": True})
    assert door.says("D1.bell.sounds")
    assert door.lock() is LockState.LOCKED
    door.passes(1.0, {"D1.bell button.pressed": False})
    assert not door.says("D1.bell.sounds")


def test_a_keypad_rings_the_bell_by_its_own_contact() -> None:
    door = Door(
        "\n    lock: strike 24 V fail-secure\n    controller: controller\n    bell: bell 24 V\n"
    )
    door.passes(1.0, {"D1:bell_pressed": True})
    assert door.says("D1.bell.sounds")
    assert door.lock() is LockState.LOCKED


RADIO = """
    lock: strike 24 V fail-secure
    controller: controller
    exit: button
    radio: radio receiver
"""


def test_a_hand_transmitter_asks_as_the_button_does() -> None:
    """The receiver's contact lies across the exit input: each press is a grant of 5 s."""
    door = Door(RADIO)
    door.passes(1.0, {"D1.radio.radio_sent": True})
    assert door.lock() is LockState.UNLOCKED
    door.passes(10.0, {"D1.radio.radio_sent": False})
    assert door.lock() is LockState.LOCKED


def test_a_stuck_button_spoils_no_card_but_every_other_button() -> None:
    """By edge, a contact that stays closed asks once. The receiver beside it is silenced."""
    door = Door(RADIO)
    door.passes(MINUTE_S, {"D1.exit.pressed": True})
    assert door.lock() is LockState.LOCKED
    door.passes(1.0, {"D1.radio.radio_sent": True})
    assert door.lock() is LockState.LOCKED
    door.passes(1.0, {"D1.controller.credential": True})
    assert door.lock() is LockState.UNLOCKED


def test_a_fresh_card_runs_its_time_and_no_longer() -> None:
    """Relay time 5 s (common practice, no source)."""
    door = Door("\n    lock: strike 24 V fail-secure\n    controller: controller\n")
    door.passes(4.9, {"D1.controller.credential": True})
    assert door.lock() is LockState.UNLOCKED
    door.passes(0.2, {"D1.controller.credential": False})
    assert door.lock() is LockState.LOCKED


def test_a_restart_forgets_the_grant() -> None:
    """Power lost for a moment in the middle of a grant: the strike stays locked after it."""
    door = Door("\n    lock: strike 24 V fail-secure\n    controller: controller\n")
    door.passes(1.0, {"D1.controller.credential": True})
    door.passes(0.5, {**DARK, "D1.controller.credential": False})
    assert door.lock() is LockState.LOCKED
    door.passes(0.5, {"S1.mains": True, "S1.battery_present": True})
    assert door.lock() is LockState.LOCKED


def test_a_latching_release_holds_until_it_is_reset() -> None:
    door = Door(
        "\n    lock: magnet 24 V\n    controller: controller\n    release: release, double pole\n"
    )
    assert door.lock(unlocks=False) is LockState.LOCKED
    door.passes(3600.0, {"D1.release.pulled": True})
    assert door.lock(unlocks=False) is LockState.UNLOCKED
    door.passes(1.0, {"D1.release.pulled": False})
    assert door.lock(unlocks=False) is LockState.LOCKED


def test_a_bond_sensor_tells_only_a_shut_and_held_door() -> None:
    """Contact across MON1 and MON2: closed while bonded; a volt meter on the input sees 0 V."""
    door = Door(
        """
    lock: magnet 24 V, bond sensor
    controller: controller
"""
    )
    bonded = abs(door.volts("D1.controller.CONTACT", "D1.controller.GND"))
    door.passes(1.0, {"D1:open": True})
    apart = abs(door.volts("D1.controller.CONTACT", "D1.controller.GND"))
    assert bonded < 0.1
    np.testing.assert_allclose(apart, 5.0, atol=0.1)


FUSED = """
latchwork: 1
supplies:
  S1: {part: "supply 24 V, four outputs", battery: 2 x 12 V 17 Ah}
doors:
  D1:
    supply: S1 out 2
"""
SHORTED = """
    out by: lever
    lock: strike 24 V fail-secure
    controller: controller
    cables: {feed: 4 m of 2 x 1.5 mm²}
    wiring:
      lock:
        - [S1.1, feed brown, controller.COM]
        - [controller.NO, lead, lock.+]
        - [lock.-, feed blue, S1.-]
    found: [{part: lock, state: coil short}]
"""
AT_ITS_END = {"S1.mains": False, "S1.battery_end": True}


def test_at_a_batterys_end_the_fuse_of_a_short_blows_before_the_cut_off_trips() -> None:
    """Two blocks at 21 V over less than an ohm, cores and fuses included, are more than 21 A: over
    twenty times the fuse of 1 A, which blows in milliseconds, while cut-offs wait some seconds
    (common practice, no source). What hangs on another output goes on."""
    door = Door(SHORTED, FUSED)
    door.passes(MINUTE_S, AT_ITS_END)
    assert not door.says("S1.cut_off")
    door.passes(1.0, {"D1.controller.credential": True})
    assert door.says("S1.fuse 1.blown")
    assert not door.says("S1.cut_off")
    assert door.says("D1.controller.powered")


def test_a_cut_off_that_tripped_closes_again_with_the_mains() -> None:
    """A supply that returns by itself takes its battery back as the mains do, and lives on it when
    they go again (common practice, no source)."""
    door = Door(SHORTED, FUSED)
    door.passes(MINUTE_S, DARK)
    assert door.says("S1.cut_off")
    door.passes(1.0, {"S1.mains": True, "S1.battery_present": True})
    assert not door.says("S1.cut_off")
    door.passes(1.0, {"S1.mains": False})
    assert not door.says("S1.cut_off")
    assert door.says("D1.controller.powered")
