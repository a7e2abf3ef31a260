"""Curves that are remembered against curves worked out anew: whatever an edit changes, they are the
same to the bit, and only what it changes is worked out."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from latchwork.behaviour import Case, climate_of, groups, new_work
from latchwork.behaviour.cases import Climate
from latchwork.behaviour.curves import CellCurve, cell_curves
from latchwork.behaviour.place import Cells, cells
from latchwork.circuit import Work
from latchwork.faults import beside
from tests.faults.test_whole_supply import site
from tests.truth.solved import wired

SITE = site(4, 5.0)
ALL = {"D1", "D2", "D3", "D4"}
AMBIENT = "site: {ambient: 10 to 50 °C}\n"
EDITS = {
    "nothing": (SITE, set()),
    "a length": (SITE.replace("8 m of 2 x 1.0 mm²", "18 m of 2 x 1.0 mm²", 1), {"D2"}),
    "another lock": (SITE.replace("strike 24 V fail-secure, diode", "motor lock 24 V", 1), {"D2"}),
    "a coil found open": (f"{SITE}    found: [{{part: lock, state: coil open}}]\n", {"D4"}),
    "how warm it may be": (SITE.replace("supplies:", f"{AMBIENT}supplies:"), ALL),
    "the supply's battery": (SITE.replace("17 Ah", "7 Ah"), set()),
    "the supply's volts": (SITE.replace("supply 24 V", "supply 12 V"), ALL),
}


def apart(job: str) -> tuple[Cells, Climate]:
    wiring = wired(job)
    (group,) = groups(wiring, leads_apart=True)
    part = cells(group)
    assert part is not None
    return part, climate_of(wiring.plan)


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The doors whose curves are worked out."""
    its: list[str] = []

    def noted(
        parts: Sequence[Cells], cases: Sequence[Case], climate: Climate, work: Work
    ) -> dict[tuple[int, Case, tuple[str, ...]], CellCurve]:
        its.extend(door for part in parts for cell in part.cells for door in cell.doors)
        return cell_curves(parts, cases, climate, work)

    monkeypatch.setattr(beside, "cell_curves", noted)
    monkeypatch.setattr(beside, "_remembered", type(beside._remembered)())
    return its


@pytest.mark.parametrize("edit", EDITS)
def test_after_an_edit(edit: str, asked: list[str]) -> None:
    before, warm = apart(SITE)
    beside.curves([before], Case.NOMINAL, warm)
    assert asked == ["D1", "D2", "D3", "D4"]
    asked.clear()
    job, changed = EDITS[edit]
    part, now = apart(job)
    found = beside.curves([part], Case.NOMINAL, now)
    assert set(asked) == changed
    alone = cell_curves([part], (Case.NOMINAL,), now, new_work())
    for (n, case, doors), curve in alone.items():
        its = found[n, doors]
        assert (its.lets_go_v, its.dies_v) == (curve.lets_go_v, curve.dies_v)
        assert case is its.case
        for mode, amps in curve.amps.items():
            assert np.array_equal(its.amps[mode], amps)
