"""Motor lock: electronics that drive a bolt while its input is closed to minus."""

from __future__ import annotations

from latchwork.elements import Bolt, Flag, Latch, Load, LoadLaw, Sense, Speed, StateRule, Timer
from latchwork.parts.arithmetic import not_below
from latchwork.parts.given import Given
from latchwork.parts.kinds.kind import Kind, Piece, assemble
from latchwork.parts.kinds.usual import (
    ANY_WORDS,
    CONTACT_WORDS,
    FED_ALTERNATIVES,
    FED_WORDS,
    INPUT_WORDS,
    RATED_ALTERNATIVES,
    RATED_WORDS,
    contact,
    dry_input,
    electronics,
    rated,
)
from latchwork.parts.model import Part
from latchwork.parts.vocabulary import choice, figure, yes_no

_WORDS = {
    **ANY_WORDS,
    **RATED_WORDS,
    **CONTACT_WORDS,
    **INPUT_WORDS,
    **FED_WORDS,
    "motor current": figure("motor_a", "A", "current while the motor runs"),
    "motor time": figure("motor_s", "s", "how long the motor runs"),
    "energised": choice("energised", ("locks", "unlocks"), "what driving it does"),
    "stays put": yes_no("stays_put", "whether it stays where it is without power"),
    "monitored": yes_no("monitored", "whether a contact tells that it is locked"),
    "fire listed": yes_no("fire_listed", "whether it is listed for fire-rated doors"),
    "holding force": figure("holding_n", "N", "force it holds against"),
}


def motor_lock(given: Given) -> Part:
    """A motor lock: IN closed to minus draws the bolt, opening IN throws it again.

    Flag ``energised``: the motor is told to draw the bolt; where it stays put, ``drawn`` tells
    that the bolt is, until it is ``thrown``. The motor runs for ``motor_s`` each way, and the bolt
    moves with the volts that are left while it runs, not with those there are while it stands. Fact
    ``stays_put``: without power the bolt stays where it is; the thresholds are those of its
    electronics, which either drive or do not.
    """
    powered = Flag("powered")
    watched, _, closed = dry_input(given, "IN", "-", powered)
    stop = given.figure("dies_v")
    start = not_below(given.figure("restart_v"), stop)
    bolt = Bolt(
        "energised",
        "+",
        "-",
        may_pick_v=stop.value,
        surely_pick_v=start.value,
        surely_hold_v=stop.value,
        surely_release_v=stop.value,
        either_way=False,
        needs=closed & (Flag("drawing") | Flag("energised")),
    )
    seconds = given.figure("motor_s")
    running = Flag("drawing") | Flag("throwing")
    motor = Load(
        "motor", "+", "-", LoadLaw.CURRENT, given.figure("motor_a"), stop.value, on=running
    )
    put: tuple[StateRule, ...] = ()
    withdrawn = Flag("energised")
    if given.yes("stays_put"):
        withdrawn = Flag("drawn")
        # Driven back only while the motor runs: without its volts the bolt stays where it was.
        back = powered & ~closed & (Flag("throwing") | Flag("thrown"))
        put = (
            Sense("thrown", "+", "-", stop, stop, needs=back, speed=Speed.LOCK),
            Latch("drawn", Flag("energised"), Flag("thrown"), speed=Speed.LOCK),
        )
    drive = Piece(
        (motor,),
        (
            Timer("drawing", closed, seconds, clear=~powered),
            Timer("throwing", powered & ~closed, seconds, clear=~powered),
            bolt,
            *put,
        ),
        facts={"latching": given.yes("stays_put"), "current_kind": "dc", "polarised": True},
        figures={"surely_pick_v": start, "surely_hold_v": stop},
    )
    terminals = [("+", "feed_plus"), ("-", "feed_minus"), ("IN", "unlock_input")]
    monitor = Piece()
    if given.yes("monitored"):
        terminals += [("MON1", "locked_contact"), ("MON2", "locked_contact")]
        locked = contact(given, "MON", "MON1", "MON2", ~withdrawn, at_rest="closed")
        monitor = Piece((locked,))
    return assemble(
        given, tuple(terminals), electronics(given), rated(given), watched, drive, monitor
    )


MOTOR = Kind(
    "motor",
    "motor lock",
    _WORDS,
    motor_lock,
    (*RATED_ALTERNATIVES, *FED_ALTERNATIVES),
)
