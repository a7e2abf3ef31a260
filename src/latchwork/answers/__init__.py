"""One frozen answer for each verb."""

from latchwork.answers.check import check
from latchwork.answers.detail import (
    DetailAnswer,
    StepLine,
    UnknownName,
    detail,
    situations_of,
)
from latchwork.answers.model import (
    CheckAnswer,
    DoorLine,
    FindingLine,
    LockLine,
    QuestionLine,
    SupplyLine,
)
from latchwork.answers.opening import Opened, check_job, open_job
from latchwork.answers.parts import (
    PartAnswer,
    PartsAnswer,
    part_explained,
    parts_found,
    parts_of,
)
from latchwork.answers.pinning import changes, pin_job, update_job

__all__ = [
    "CheckAnswer",
    "DetailAnswer",
    "DoorLine",
    "FindingLine",
    "LockLine",
    "Opened",
    "PartAnswer",
    "PartsAnswer",
    "QuestionLine",
    "StepLine",
    "SupplyLine",
    "UnknownName",
    "changes",
    "check",
    "check_job",
    "detail",
    "open_job",
    "part_explained",
    "parts_found",
    "parts_of",
    "pin_job",
    "situations_of",
    "update_job",
]
