"""One frozen answer for each verb."""

from latchwork.answers.check import check
from latchwork.answers.detail import (
    DetailAnswer,
    StepLine,
    UnknownName,
    detail,
    situations_of,
)
from latchwork.answers.edits import Edit, edit, line_difference, save
from latchwork.answers.faults import answered, faults_job, faults_jobs
from latchwork.answers.faults_model import DoorFaults, FaultLine, FaultsAnswer
from latchwork.answers.faults_words import fault_text, why_text
from latchwork.answers.mend import MendAnswer, RemedyLine, UnknownFinding, mend_all, mend_one
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
from latchwork.answers.questions import AskLine, QuestionsAnswer, questions
from latchwork.answers.service import ServiceLine, service_plan
from latchwork.answers.sizes import SizesAnswer, sizes_of
from latchwork.answers.versions import (
    CompareAnswer,
    UnknownVersion,
    VersionsAnswer,
    compare,
    undo,
    versions_of,
)

__all__ = [
    "AskLine",
    "CheckAnswer",
    "CompareAnswer",
    "DetailAnswer",
    "DoorFaults",
    "DoorLine",
    "Edit",
    "FaultLine",
    "FaultsAnswer",
    "FindingLine",
    "LockLine",
    "MendAnswer",
    "Opened",
    "PartAnswer",
    "PartsAnswer",
    "QuestionLine",
    "QuestionsAnswer",
    "RemedyLine",
    "ServiceLine",
    "SizesAnswer",
    "StepLine",
    "SupplyLine",
    "UnknownFinding",
    "UnknownName",
    "UnknownVersion",
    "VersionsAnswer",
    "answered",
    "changes",
    "check",
    "check_job",
    "compare",
    "detail",
    "edit",
    "fault_text",
    "faults_job",
    "faults_jobs",
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
    "service_plan",
    "situations_of",
    "sizes_of",
    "undo",
    "update_job",
    "versions_of",
    "why_text",
]
