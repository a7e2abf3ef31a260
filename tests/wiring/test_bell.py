"""A bell and its button: every core of the bell's run begins and ends at the same two places.

Rows by hand from how bells are wired in the trade; common practice, no source.
"""

from __future__ import annotations

import pytest

from tests.wiring.sites import wired

TRANSFORMER = """
latchwork: 1
supplies: {S1: transformer 12 V AC}
doors:
  D1:
    supply: S1
    bell button: bell button
    runs: {bell: 6 m of 4 x 0.5 mm²}
"""
AT_THE_DOOR = """
latchwork: 1
supplies: {S1: supply 24 V}
doors:
  D1:
    supply: S1
    bell button: bell button
    bell: bell 24 V
    runs: {power: 9 m of 2 x 1.0 mm², bell: 6 m of 2 x 0.5 mm²}
"""
SITES = {
    # The cable ends at the bell; the button hangs on it through the wall.
    "bell inside": (
        TRANSFORMER + "    bell: bell 12 V\n",
        """
        S1.A1         | bell brown | X1
        X1            | lead       | bell button.1
        bell button.2 | lead       | bell.+
        S1.A2         | bell blue  | bell.-
        """,
    ),
    "bell beside the transformer": (
        TRANSFORMER + "    bell: {part: bell 12 V, place: supply}\n",
        """
        S1.A1  | bell brown | bell button.1
        bell.+ | bell blue  | bell button.2
        S1.A2  | lead       | bell.-
        """,
    ),
    "bell beside its button": (
        TRANSFORMER + "    bell: {part: bell 12 V, place: outside}\n",
        """
        S1.A1         | bell brown | bell button.1
        bell button.2 | lead       | bell.+
        S1.A2         | bell blue  | bell.-
        """,
    ),
    # Where no run is known there is no cable whose end a joint would be.
    "no run": (
        TRANSFORMER.replace("    runs: {bell: 6 m of 4 x 0.5 mm²}\n", "    bell: bell 12 V\n"),
        """
        S1.A1         | lead | bell button.1
        bell button.2 | lead | bell.+
        S1.A2         | lead | bell.-
        """,
    ),
    # Both cores of the bell start on the inner side, where the controller is.
    "controller inside": (
        AT_THE_DOOR + '    controller: "controller, reader outside"\n',
        """
        controller.+  | lead       | bell button.1
        bell button.2 | lead       | X1
        X1            | bell brown | bell.+
        controller.-  | bell blue  | bell.-
        """,
    ),
    "controller outside": (
        AT_THE_DOOR + "    controller: {part: controller, place: outside}\n",
        """
        controller.+  | lead       | bell button.1
        bell button.2 | bell brown | bell.+
        controller.-  | bell blue  | bell.-
        """,
    ),
}


@pytest.mark.parametrize("name", SITES)
def test_the_bells_run_goes_from_one_place_to_another(name: str) -> None:
    job, by_hand = SITES[name]
    wiring = wired(job, "")
    found = [
        (row.start.removeprefix("D1."), _core(row.cores), row.end.removeprefix("D1."))
        for row in wiring.planned_rows
        if row.leg == "bell"
    ]
    rows = (line.split("|") for line in by_hand.strip().splitlines())
    assert found == [tuple(part.strip() for part in row) for row in rows]
    assert wiring.troubles == ()


def _core(cores: tuple[str, ...]) -> str:
    return cores[0].removeprefix("D1.").replace(".", " ") if cores else "lead"


def test_the_button_of_a_bell_is_no_core_of_the_bells_cable() -> None:
    """ "bell" is a cable here and "bell button.1" a screw: two screws joined are one node."""
    found = "    found: [{short: [bell button.1, bell button.2]}]\n"
    wiring = wired(AT_THE_DOOR + found, "")
    (bridge,) = wiring.bridges
    assert (bridge.a, bridge.b) == ("D1.bell button.1", "D1.bell button.2")
