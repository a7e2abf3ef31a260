"""A hand-made door with all that doors have, drawn at random, for tests over many columns."""

from __future__ import annotations

import numpy as np

from latchwork.elements import LoadLaw, Speed
from tests.behaviour.board import Board

INPUTS = ("mains", "credential", "exit", "pulled", "fire", "tamper", "short")


def door(rng: np.random.Generator, limit_a: float | None = None) -> Board:
    """A magnet on a controller at the door, a reader outside, a supply with a battery.

    The parts are the same for every draw, so that draws can stand side by side; lengths, supplies
    and thresholds differ, some so far that the door cannot work.
    """
    board = Board()

    def some(low: float, high: float) -> float:
        return float(rng.uniform(low, high))

    mains = board.input("mains", True)
    credential, leave = board.input("credential"), board.input("exit")
    pulled, fire = board.input("pulled"), board.input("fire")
    tamper, short = board.input("tamper"), board.input("short")
    limit = some(0.6, 3.0) if limit_a is None else limit_a
    board.source("psu", "bus", "0", some(12.5, 14.0), 0.05, limit, limit * some(0.3, 1.0), on=mains)
    board.source("battery", "bp", "0", some(10.5, 13.0), 0.1)
    board.fuse("bf", "bp", "bus", 0.02, some(2.0, 8.0))
    board.load("charge", "bus", "0", 0.1, 10.0, LoadLaw.CURRENT, on=mains)
    board.fuse("of", "bus", "out", 0.05, some(1.0, 3.0))
    board.ohm("run+", "out", "c+", some(0.2, 4.0))
    board.ohm("run-", "0", "c-", some(0.2, 4.0))
    powered = board.sense("powered", "c+", "c-", some(9.0, 10.0), some(7.0, 8.5))
    board.load("controller", "c+", "c-", some(0.8, 2.5), 6.0, on=powered)
    board.ohm("r+", "c+", "R+", some(0.5, 4.0))
    board.ohm("r-", "c-", "R-", some(0.5, 4.0))
    reading = board.sense("reading", "R+", "R-", 7.5, 6.5)
    board.load("reader", "R+", "R-", some(0.5, 1.5), 5.0, on=reading)
    for line in ("D0", "D1"):
        board.rail(f"pull {line}", line, "c-", 5.0, 4700.0, on=powered)
        board.ohm(f"core {line}", line, f"{line} far", some(0.5, 4.0))
        board.contact(f"send {line}", f"{line} far", "R-", credential & reading)
    read = board.sense("quiet", "D0", "c-", 2.5, 1.5)
    board.rail("pull exit", "E", "c-", 5.0, 4700.0, on=powered)
    board.contact("button", "E", "e", leave)
    board.ohm("core exit", "e", "c-", some(1.0, 9.0))
    idle = board.sense("no exit", "E", "c-", 2.5, 1.5)
    board.rail("pull tamper", "T", "c-", 5.0, 4700.0, on=powered)
    board.contact("case", "T", "t", ~tamper)
    board.ohm("core tamper", "t", "c-", some(1.0, 9.0))
    opened = board.sense("case open", "T", "c-", 2.5, 1.5)
    asked = powered & ~opened & (~idle | ~read)
    granted = board.timer("granted", asked, 5.0, clear=~powered)
    relay = board.rule("relay", granted & powered, Speed.RELAY)
    board.contact("NC", "c+", "n", ~relay)
    board.contact("panel", "n", "p", ~fire)
    board.ohm("l+", "p", "q", some(0.2, 3.0))
    board.contact("release", "q", "L+", ~pulled)
    board.ohm("l-", "L-", "c-", some(0.2, 3.0))
    board.contact("fault", "L+", "L-", short, 0.02)
    board.ohm("coil", "L+", "L-", some(18.0, 40.0))
    board.diode("diode", "L-", "L+")
    board.bolt("bolt", "L+", "L-", 6.6, 10.2, 6.0, 1.2)
    return board


def inputs(rng: np.random.Generator, columns: int) -> dict[str, np.ndarray]:
    """Some inputs set in each column; the mains mostly there."""
    likely = {"mains": 0.7, "credential": 0.4, "exit": 0.3}
    return {name: rng.random(columns) < likely.get(name, 0.1) for name in INPUTS}
