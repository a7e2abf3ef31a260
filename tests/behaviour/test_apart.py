"""Volts across a lock of which one end hangs in the air, worked out by hand."""

from __future__ import annotations

import pytest

from latchwork.behaviour import Case, behave
from latchwork.faults import Ask, faults
from tests.truth.solved import wired

JOINED = """\
latchwork: 1
site: {{ambient: 5 to 30 °C}}
supplies:
  S1: {{part: supply 24 V, limit: 3 A, battery: 2 x 12 V 7 Ah}}
  S2: {{part: "supply 24 V, no battery", limit: 3 A}}
wiring: [[S1.+, lead, S2.+]]
doors:
  D1:
    supply: S1
    power lost: unlocks
    out by: lever
    lock: magnet 24 V
    controller: controller
    exit: button
    runs: {{power: 8 m of 3 x 1.0 mm², exit: 3 m of 4 x 0.22 mm²}}
    cables: {{back: 10 m of 2 x 1.0 mm²}}
    wiring:
      lock:
        - [controller.+, lead, controller.COM]
        - [controller.NC, lead, lock.+]
        - [lock.-, back brown, S2.-]
    {found}
"""
"""Two supplies with their pluses joined and their minuses apart; the magnet goes back to S2's."""
OPEN, BROKEN = "{part: lock, state: coil open}", "{break: back brown}"
MAINS, EXIT = "mains/normal/nobody", "mains/normal/exit request"
BATTERY, NO_S2 = "battery/normal/nobody", "one supply lost/normal/nobody (S2)"


@pytest.mark.parametrize(
    ("found", "situation", "begins_v"),
    [
        # S2 stands at 24 V, from the joined plus down to its own minus; S1's 27.3 V are elsewhere.
        (OPEN, MAINS, 24.0),
        # Asked to leave, the contact opens: the magnet's plus is joined to nothing.
        (OPEN, EXIT, 0.0),
        # S2 has no battery: its minus, and the magnet's, then hang on nothing.
        (OPEN, BATTERY, 0.0),
        (OPEN, NO_S2, 0.0),
        # The magnet's minus hangs in the air, whether the coil joins it to the plus or not.
        (BROKEN, MAINS, 0.0),
        (f"{OPEN}, {BROKEN}", MAINS, 0.0),
    ],
)
def test_a_lock_with_an_end_in_the_air_has_no_volts(
    found: str, situation: str, begins_v: float
) -> None:
    """A meter of some megohms would show none either; and nothing holds."""
    site = behave(wired(JOINED.format(found=f"found: [{found}]")))
    outcome = site.outcomes["D1"][Case.NOMINAL]
    (column,) = (n for s, n in outcome.column.items() if s.key == situation)
    (lock,) = outcome.locks
    assert lock.volts[column, 0] == pytest.approx(begins_v, abs=0.1)
    assert lock.state[column, 0] == 1


def test_a_run_of_faults_says_the_same() -> None:
    report = faults(wired(JOINED.format(found="")), ask=Ask("lock coil open", all_rows=True))
    rows = {r.situation: r for r in report.what_ifs if r.fault == "D1.lock coil open"}
    assert rows[MAINS].begins_v == pytest.approx(24.0, abs=0.1)
    assert rows[EXIT].begins_v == rows[BATTERY].begins_v == 0.0
    assert {r.begins for r in rows.values()} == {"unlocked"}
