"""A door with the rest of its supply as a curve against the whole supply solved at once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import pytest

from latchwork.behaviour import Case
from latchwork.faults import Fault, WhatIf
from latchwork.faults.prepare import Prepared, groups_of, prepare, prepare_whole
from latchwork.faults.run import run_task
from latchwork.faults.tasks import tasks
from latchwork.parts import CHARGER_DEAD, GIVES_LESS
from tests.truth.solved import wired

SUPPLY = "{{part: supply 24 V, limit: {limit} A, battery: 2 x 12 V 17 Ah, outputs: {{{outputs}}}}}"
KITS = (
    """
    power lost: unlocks
    out by: nothing mechanical
    lock: {{part: magnet 24 V, holds down to: 18 V}}
    controller: controller, reader outside
    controller at: supply
    reader: reader
    exit: exit button
    runs:
      lock: {metres} m of 2 x 1.5 mm²
      exit: 4 m of 4 x 0.22 mm²
      reader: {metres} m of 6 x 0.22 mm²
""",
    """
    out by: lever
    lock: strike 24 V fail-secure, diode
    controller: controller
    runs: {{power: {metres} m of 2 x 1.0 mm²}}
""",
)

STAGED = """
    power lost: unlocks
    out by: nothing mechanical
    lock: bolt 24 V fail-safe, staged coil
    controller: controller
    exit: exit button
    runs:
      power: {metres} m of 2 x 1.5 mm²
      exit: 4 m of 4 x 0.22 mm²
"""
"""A bolt that takes five times its current for a moment whenever power comes."""
UNDECIDED = {"marginal", "chatter"}


def site(count: int, limit_a: float, kits: tuple[str, ...] = KITS) -> str:
    outputs = ", ".join(f"{n}: {{fuse: 2 A}}" for n in range(1, count + 1))
    text = (
        f"latchwork: 1\nsupplies: {{S1: {SUPPLY.format(limit=limit_a, outputs=outputs)}}}\ndoors:"
    )
    for n in range(1, count + 1):
        kit = kits[(n - 1) % len(kits)].format(metres=6 + n)
        text += f"\n  D{n}:\n    supply: S1 out {n}{kit}"
    return text


def rows(cells: Iterable[Prepared]) -> dict[tuple[str, str], WhatIf]:
    """Every what-if of door D1, by fault and situation."""
    todo = (replace(t, all_rows=True) for t in tasks(list(cells), frozenset({"D1"})))
    return {(w.fault, w.situation): w for task in todo for w in run_task(task).what_ifs}


@pytest.mark.parametrize(("count", "limit_a"), [(4, 3.0), (16, 6.0)])
@pytest.mark.parametrize("word", ["D1.lock", "D1.controller", "S1 "])
def test_a_curve_stands_for_the_other_doors(count: int, limit_a: float, word: str) -> None:
    """All situations are compared, the return of power included. A curve is straight between its
    points: volts may be off by a little, no lock may do otherwise."""
    wiring = wired(site(count, limit_a))
    split = rows(prepare(wiring, wanted=lambda f: f.id.startswith(word)))
    whole = rows(
        prepare_whole(
            wiring, groups_of(wiring, ["D1"]), Case.NOMINAL, lambda f: f.id.startswith(word)
        )
    )
    # The fuses of other doors' outputs are in their own cells.
    assert split.keys() <= whole.keys()
    assert len(split) > 28
    for key, one in split.items():
        other = whole[key]
        assert (one.begins, one.held, one.solved) == (other.begins, other.held, other.solved), key
        if not one.chatter:
            assert one.held_v == pytest.approx(other.held_v, abs=0.02), key
            assert one.begins_v == pytest.approx(other.begins_v, abs=0.02), key


RESTARTS = ("power returns/", "mains/fire reset/", "mains/normal/nobody")
STEP_V = 0.65
"""How far apart the points of a curve are where supplies live: 24 V float, see ``curves.grid``."""


@pytest.mark.parametrize(
    ("count", "limit_a"),
    [(4, a) for a in (0.3, 0.5, 0.7, 0.9, 1.2, 1.6, 2.2)] + [(16, a) for a in (1, 2, 3, 4, 5, 6)],
)
def test_a_curve_stands_for_the_others_at_the_edge_of_a_restart(count: int, limit_a: float) -> None:
    """Supplies from far too small, by those that hold all doors but do not start them, to large
    enough. Where doors that have not enough go on and off by turns, their curve shows what they
    draw on the mean: a lock is then marginal where the whole supply chatters. Either counts
    against the door both ways. As power comes, coils pick up somewhere between two points."""
    wiring = wired(site(count, limit_a, (*KITS, STAGED)))

    def wanted(fault: Fault) -> bool:
        # Known, and no better: without a battery one of these is told to start that chatters.
        if fault.state in (CHARGER_DEAD, GIVES_LESS):
            return False
        return fault.id.startswith(("D1.lock.brown", "S1 "))

    split = rows(prepare(wiring, ["D1"], wanted=wanted))
    whole = rows(prepare_whole(wiring, groups_of(wiring, ["D1"]), Case.NOMINAL, wanted))
    seen = [key for key in split if key[1].startswith(RESTARTS)]
    assert len(seen) >= 40
    for key in seen:
        one, other = split[key], whole[key]
        for ours, theirs in ((one.begins, other.begins), (one.held, other.held)):
            assert ours == theirs or {ours, theirs} == UNDECIDED, key
        if not (one.chatter or other.chatter):
            assert one.held_v == pytest.approx(other.held_v, abs=0.02), key
            assert one.begins_v == pytest.approx(other.begins_v, abs=STEP_V), key
