"""Jobs taken through all situations, with currents and power held to add up at every point."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour import (
    Case,
    DoorOutcome,
    DoorState,
    Point,
    Ran,
    climate_of,
    door_states,
    groups,
    outcome,
    run,
    targets,
)
from latchwork.behaviour.positions import conductance_rows
from latchwork.behaviour.shape import SOURCE, compile_shape
from latchwork.job import read_job_text
from latchwork.parts import catalogue
from latchwork.plan import plan
from latchwork.wiring import Wiring, wire
from tests.circuit.conservation import Flow, assert_conserved, branch_flow, rail_flow, resistor_flow

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Solved:
    """One door, nominal, through all its situations."""

    ran: Ran
    outcome: DoorOutcome
    states: tuple[DoorState, ...]


def wired(job: str) -> Wiring:
    """The wiring of a job written as text."""
    return wire(plan(read_job_text(job, "job.yaml"), catalogue()))


def solved(job: str) -> dict[str, Solved]:
    """Every door of a job; what was solved has conserved currents and power."""
    wiring = wired(job)
    assert wiring.troubles == ()
    parts = groups(wiring)
    found = {}
    for ran in run(targets(wiring, parts, climate_of(wiring.plan), (Case.NOMINAL,)).targets):
        conserved(ran)
        result = outcome(ran, wiring.plan)
        assert result.door not in found
        found[result.door] = Solved(ran, result, door_states(result, wiring.plan))
    return found


def conserved(ran: Ran) -> None:
    """Currents add up at each node and power over the whole door, in every situation."""
    assert_conserved(ran.begins.volts, _flows(ran, ran.begins, ran.begins_a), ran.begins.solved)
    assert_conserved(ran.held.volts, _flows(ran, ran.held, ran.held_a), ran.held.solved)


def _flows(ran: Ran, point: Point, amps: Array) -> Sequence[Flow]:
    shape, values, volts = ran.target.network.shape, ran.target.values, point.volts
    columns = volts.shape[1]
    siemens = [
        np.zeros(columns) if row is None else np.broadcast_to(row, (columns,))
        for row in conductance_rows(compile_shape(shape), values, point.flags)
    ]
    flows = [
        resistor_flow(ran.target.network.linear[n], a, b, volts, siemens[n])
        for n, (a, b, _) in enumerate(shape.linear)
    ]
    flows += [
        rail_flow(
            "pull-up", plus, minus, volts, values.rail_volt[n], siemens[len(shape.linear) + n]
        )
        for n, (plus, minus, _) in enumerate(shape.rails)
    ]
    flows += [
        branch_flow(name, plus, minus, volts, -amps[n] if kind == SOURCE else amps[n])
        for n, (name, (kind, plus, minus, _, _)) in enumerate(
            zip(ran.target.network.devices, shape.devices, strict=True)
        )
    ]
    return flows
