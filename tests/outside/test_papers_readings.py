"""Expected readings against ngspice with a meter of 10 MΩ in the circuit, one terminal at a time.

The circuit is read from the wiring by a second path (``netlist``), contacts where they came to
rest. Loop resistances and cut lengths against figures worked out by hand.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from latchwork.answers.schedules.model import CableRow
from latchwork.behaviour import Case, Event, groups, one_door, run
from latchwork.behaviour.meter import METER_OHM, behave_and_meter, fitter_situations
from latchwork.job import read_job_text
from latchwork.parts import catalogue
from latchwork.plan import plan
from latchwork.wiring import Wiring, wire
from tests.circuit.sample import Resistance
from tests.outside.netlist import read
from tests.outside.spice import operating_points
from tests.outside.test_circuit_spice import deck
from tests.papers.made import source_from

WITHIN_V = 2e-3
JOBS = {
    "magnet": """\
latchwork: 1
supplies: {S1: {part: supply 24 V, battery: 2 x 12 V 7 Ah, outputs: {1: {fuse: 2.0 A}}}}
doors:
  D1:
    lock: magnet 24 V
    out by: nothing mechanical
    power lost: unlocks
    controller: controller, reader outside
    reader: reader
    exit: exit button
    release: release, double pole
    contact: door contact
    supply: S1 out 1
    runs: {power: 31 m of 2 x 1.0 mm², release: 4 m of 4 x 1.0 mm², exit: 5 m of 4 x 0.22 mm²,
           reader: 3 m of 6 x 0.22 mm², contact: 4 m of 2 x 0.22 mm²}
""",
    "strike as found": """\
latchwork: 1
supplies: {S1: {part: supply 12 V, battery: 1 x 12 V 7 Ah, outputs: {1: {fuse: 1.0 A}}}}
doors:
  D1:
    lock: strike 12 V fail-secure
    out by: lever
    power lost: stays locked
    controller: controller
    exit: exit button
    contact: door contact
    supply: S1 out 1
    runs: {power: 18 m of 2 x 0.5 mm², exit: 5 m of 4 x 0.22 mm², contact: 4 m of 2 x 0.22 mm²}
    found:
      - {break: exit white, at: 2 m}
      - {leak: [contact white, contact brown], at: 1 m, resistance: 200 kohm}
""",
}


def wired(text: str) -> Wiring:
    return wire(plan(read_job_text(text, "job.yaml"), catalogue()))


@pytest.mark.parametrize("name", JOBS)
def test_a_meter_in_the_circuit_shows_what_was_expected(name: str, tmp_path: Path) -> None:
    wiring = wired(JOBS[name])
    shown = behave_and_meter(wiring)[1]["D1"][Case.NOMINAL]
    target = one_door(wiring, "D1")
    (ran,) = run([replace(target, situations=fitter_situations(target.inputs))])
    network = target.network
    decks, wanted = [], []
    for n, situation in enumerate(shown.situations):
        point = ran.held if situation.event is Event.NOBODY else ran.begins
        flags = {flag: bool(point.flags[at, n]) for flag, at in network.flags.items()}
        net = read(wiring, flags)
        sample, node_of = net.sample([g.things.reference for g in groups(wiring) if g.doors])
        begin = np.zeros(sample.nodes)
        for node, at in network.nodes.items():
            begin[node_of.get(node, 0)] = np.nan_to_num(point.volts[at, n])
        begin[0] = 0.0
        for terminal, against in shown.against.items():
            if terminal not in node_of or node_of[terminal] == node_of[against]:
                continue
            meter = Resistance(node_of[terminal], node_of[against], METER_OHM)
            decks.append(deck(replace(sample, resistances=(*sample.resistances, meter)), begin))
            wanted.append((situation.key, terminal, against, shown.volts[terminal][n], node_of))
    found = operating_points(decks, tmp_path)
    assert len(found) > 60
    for theirs, (key, terminal, against, volts, node_of) in zip(found, wanted, strict=True):
        assert theirs is not None, (key, terminal)
        red, black = (theirs.get(f"n{node_of[t]}", 0.0) for t in (terminal, against))
        reading = red - black
        assert abs(reading - volts) < WITHIN_V, (key, terminal, reading, volts)


def test_a_meter_alters_what_it_measures() -> None:
    """A broken core leaves a floating end: 0 V, and an input read through 200 kΩ more than half
    its pull-up."""
    shown = behave_and_meter(wired(JOBS["strike as found"]))[1]["D1"][Case.NOMINAL]
    assert shown.volts["D1.exit.NO"][0] == pytest.approx(0.0, abs=1e-3)
    assert shown.volts["D1.controller.EXIT"][0] > 3.0


def loop_of(run_text: str) -> CableRow:
    text = JOBS["strike as found"].partition("    found:")[0]
    source, _ = source_from(text.replace("18 m of 2 x 0.5 mm²", run_text))
    return next(c for c in source.schedules.cables if c.id == "D1.power")


def test_a_thin_loop_as_worked_out_by_hand() -> None:
    """22 m there and back at 85 Ω/km, a fair working figure for 0.22 mm² (assumed): 3.74 Ω. To
    cut: 22 m, a tenth more, and twice 2 m (common practice, no source): 28.2 m."""
    row = loop_of("22 m of 2 x 0.22 mm²")
    assert row.loop_ohm == pytest.approx(3.74)
    assert row.cut_m == pytest.approx(28.2)


def test_the_band_of_a_category_cables_loop() -> None:
    """100 m there and back: 16.84 Ω of ideal copper (24 AWG, 8.42 Ω a core) to 18.76 Ω, the limit
    of 9.38 Ω a core (TIA-568, from memory)."""
    row = loop_of("100 m of category cable")
    assert row.loop_low_ohm == pytest.approx(16.84, abs=0.01)
    assert row.loop_high_ohm == pytest.approx(18.76, abs=0.01)


def test_volts_at_a_lock_as_worked_out_by_hand() -> None:
    """V at lock = V × R / (R + loops): a magnet alone on 31 m of 1.0 mm² (IEC 60228 class 5,
    19.5 Ω/km at most) loses what its own amperes make of the copper's ohms."""
    source, _ = source_from(JOBS["magnet"])
    (door,) = source.schedules.readings
    (lock,) = door.locks
    idle = door.situations.index("idle")
    rows = {t.terminal: t.volts_v[idle] for t in door.terminals}
    (supply,) = source.schedules.supplies
    (cable,) = [c for c in source.schedules.cables if c.id == "D1.power"]
    lost = cable.loop_ohm * supply.loads_a["mains/normal"]
    across = rows["D1.controller.+"].value - rows["D1.controller.-"].value
    assert rows["S1.1"].value - across == pytest.approx(lost, rel=0.01)
    assert lock.volts_v[idle].value < across
