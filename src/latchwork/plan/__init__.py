"""From a job to its plan: every figure resolved, each with where it came from."""

from latchwork.plan.planner import plan

__all__ = ["plan"]
