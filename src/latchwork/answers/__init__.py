"""One frozen answer for each verb. Those on faults stand in ``answers.faults`` and
``answers.service``: a fault run is not read for a check."""

from latchwork.answers.check import check
from latchwork.answers.detail import (
    DetailAnswer,
    StepLine,
    UnknownName,
    detail,
    situations_of,
)
from latchwork.answers.edits import Edit, edit, line_difference, save
from latchwork.answers.mend import MendAnswer, RemedyLine, UnknownFinding, mend_all, mend_one
from latchwork.answers.model import (
    CheckAnswer,
    DoorLine,
    FindingLine,
    LockLine,
    QuestionLine,
    SupplyLine,
)
from latchwork.answers.opening import check_job
from latchwork.answers.parts import (
    PartAnswer,
    PartsAnswer,
    part_explained,
    parts_found,
    parts_of,
)
from latchwork.answers.pinning import changes, pin_job, update_job
from latchwork.answers.questions import AskLine, QuestionsAnswer, questions
from latchwork.answers.sizes import SizesAnswer, sizes_of
from latchwork.answers.versions import (
    CompareAnswer,
    UnknownVersion,
    VersionsAnswer,
    compare,
    undo,
    versions_of,
)
from latchwork.opening import Opened, open_job

__all__ = [
    "AskLine",
    "CheckAnswer",
    "CompareAnswer",
    "DetailAnswer",
    "DoorLine",
    "Edit",
    "FindingLine",
    "LockLine",
    "MendAnswer",
    "Opened",
    "PartAnswer",
    "PartsAnswer",
    "QuestionLine",
    "QuestionsAnswer",
    "RemedyLine",
    "SizesAnswer",
    "StepLine",
    "SupplyLine",
    "UnknownFinding",
    "UnknownName",
    "UnknownVersion",
    "VersionsAnswer",
    "changes",
    "check",
    "check_job",
    "compare",
    "detail",
    "edit",
    "line_difference",
    "mend_all",
    "mend_one",
    "open_job",
    "part_explained",
    "parts_found",
    "parts_of",
    "pin_job",
    "questions",
    "save",
    "situations_of",
    "sizes_of",
    "undo",
    "update_job",
    "versions_of",
]
