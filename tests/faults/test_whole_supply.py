"""A door with the rest of its supply as a curve against the whole supply solved at once."""

from __future__ import annotations

import pytest

from latchwork.behaviour import Case
from latchwork.faults import WhatIf
from latchwork.faults.prepare import Prepared, groups_of, prepare, prepare_whole
from latchwork.faults.run import run_task, tasks
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


def site(count: int, limit_a: float) -> str:
    outputs = ", ".join(f"{n}: {{fuse: 2 A}}" for n in range(1, count + 1))
    text = (
        f"latchwork: 1\nsupplies: {{S1: {SUPPLY.format(limit=limit_a, outputs=outputs)}}}\ndoors:"
    )
    for n in range(1, count + 1):
        kit = KITS[(n - 1) % len(KITS)].format(metres=6 + n)
        text += f"\n  D{n}:\n    supply: S1 out {n}{kit}"
    return text


def rows(cells: list[Prepared]) -> dict[tuple[str, str], WhatIf]:
    """Every what-if of door D1, by fault and situation."""
    todo = tasks(cells, frozenset({"D1"}), all_rows=True)
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
