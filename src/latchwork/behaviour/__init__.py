"""Networks built from wiring, taken through situations, and what that means for each door."""

from latchwork.behaviour.cases import Case, Climate
from latchwork.behaviour.closeup import IDLE, Position, Step, Volts, close_up, one_door
from latchwork.behaviour.compiled import new_work
from latchwork.behaviour.compiled_scripts import make_ready
from latchwork.behaviour.outcomes import (
    DoorOutcome,
    LockOutcome,
    LockState,
    SenseOutcome,
    outcome,
)
from latchwork.behaviour.passing import DoorState, Pass, door_states
from latchwork.behaviour.place import Group, cells, groups
from latchwork.behaviour.run import Ran, Target, run
from latchwork.behaviour.settle import settle
from latchwork.behaviour.site import Progress, SiteOutcome, behave, behave_all, climate_of
from latchwork.behaviour.situations import ALONE, Event, Mode, Moment, Power, Situation
from latchwork.behaviour.state import Batch, Point, State, dead, with_inputs
from latchwork.behaviour.targets import targets
from latchwork.behaviour.timing import step

__all__ = [
    "ALONE",
    "IDLE",
    "Batch",
    "Case",
    "Climate",
    "DoorOutcome",
    "DoorState",
    "Event",
    "Group",
    "LockOutcome",
    "LockState",
    "Mode",
    "Moment",
    "Pass",
    "Point",
    "Position",
    "Power",
    "Progress",
    "Ran",
    "SenseOutcome",
    "SiteOutcome",
    "Situation",
    "State",
    "Step",
    "Target",
    "Volts",
    "behave",
    "behave_all",
    "cells",
    "climate_of",
    "close_up",
    "dead",
    "door_states",
    "groups",
    "make_ready",
    "new_work",
    "one_door",
    "outcome",
    "run",
    "settle",
    "step",
    "targets",
    "with_inputs",
]
