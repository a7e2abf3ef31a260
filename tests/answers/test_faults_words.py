"""Reasons in words: what a fitter reads in one breath."""

from __future__ import annotations

import pytest

from latchwork.answers.faults_words import fault_text, why_text
from latchwork.faults import Fault, FaultKind, Why


def _lost(count: int, door: str = "D9") -> str:
    names = tuple(f"D{n}.controller" for n in range(1, count + 1))
    return why_text(Why(f"{door}.lock", False, 0.0, 3.0, "unlocked", "marginal", (), names))


@pytest.mark.parametrize("count", [1, 4])
def test_few_devices_are_all_named(count: int) -> None:
    named = ", ".join(f"D{n}.controller" for n in range(1, count + 1))
    assert _lost(count).startswith(f"{named} without power;")


def test_of_many_devices_those_of_the_door_come_first() -> None:
    assert _lost(16).startswith("D9.controller, D1.controller, D2.controller and 13 more without")
    # D10 is another door than D1.
    first = "D1.controller, D2.controller, D3.controller and 13 more without"
    assert _lost(16, "D1").startswith(first)


def test_a_blown_fuse_comes_before_what_it_takes_the_power_from() -> None:
    """A fuse takes the unit's power, and the unit lets go of its relay: cause before effect."""
    no, nc = (f"D1.controller.contact {throw}" for throw in ("NO", "NC"))
    moved = ((no, False), ("S1.fuse 1", False), (nc, True))
    why = Why("D1.lock", True, 24.0, 0.0, "locked", "unlocked", moved, ("D1.controller",))
    named = ["S1.fuse 1 open", "D1.controller without power", f"{no} open", f"{nc} closed"]
    assert why_text(why).split("; ")[:4] == named


@pytest.mark.parametrize(("ohm", "told"), [(1.0, "1 Ω"), (10.0, "10 Ω"), (100.0, "100 Ω")])
def test_a_joint_is_told_as_it_is_tried(ohm: float, told: str) -> None:
    """docs/faults.md: with 1, 10 and 100 Ω more; and as --fault "joint 100" finds it."""
    fault = Fault("D1.power.blue joint", FaultKind.JOINT, ("D1.power.blue",), (), ohm=ohm)
    assert fault_text(fault) == f"D1.power.blue joint {told}"
