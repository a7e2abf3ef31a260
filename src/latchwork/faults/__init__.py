"""Every single fault and every attack from outside, and what each does to every door."""

from latchwork.faults.model import (
    GRAVE,
    TOLD,
    Attack,
    AttackReport,
    AttackResult,
    Consequence,
    Counts,
    Coverage,
    Edit,
    Effect,
    Fault,
    FaultKind,
    FaultReport,
    Pair,
    PairReport,
    Reading,
    WhatIf,
    Why,
)
from latchwork.faults.report import Ask, faults
from latchwork.faults.spread import Progress

__all__ = [
    "GRAVE",
    "TOLD",
    "Ask",
    "Attack",
    "AttackReport",
    "AttackResult",
    "Consequence",
    "Counts",
    "Coverage",
    "Edit",
    "Effect",
    "Fault",
    "FaultKind",
    "FaultReport",
    "Pair",
    "PairReport",
    "Progress",
    "Reading",
    "WhatIf",
    "Why",
    "faults",
]
