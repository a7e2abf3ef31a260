"""From a job to its plan: every figure resolved, each with where it came from."""

from latchwork.plan.model import (
    Plan,
    PlannedCable,
    PlannedDevice,
    PlannedDoor,
    PlannedSupply,
    Provenance,
)
from latchwork.plan.planner import plan

__all__ = [
    "Plan",
    "PlannedCable",
    "PlannedDevice",
    "PlannedDoor",
    "PlannedSupply",
    "Provenance",
    "plan",
]
