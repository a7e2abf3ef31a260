"""One frozen answer for each verb."""

from latchwork.answers.check import check
from latchwork.answers.model import (
    CheckAnswer,
    DoorLine,
    FindingLine,
    LockLine,
    QuestionLine,
    SupplyLine,
)

__all__ = [
    "CheckAnswer",
    "DoorLine",
    "FindingLine",
    "LockLine",
    "QuestionLine",
    "SupplyLine",
    "check",
]
