"""The job file: what people wrote down about a site, typed, with the place of everything read."""

from latchwork.job.model import (
    Deviation,
    DeviationKind,
    Door,
    Duty,
    Fact,
    Job,
    Joint,
    Locking,
    Origin,
    OutBy,
    PartUse,
    Row,
    Run,
    Site,
    Supply,
    Tap,
)
from latchwork.job.names import LEGS, SLOTS, counted
from latchwork.job.problems import JobErrors, Problem, nearest, one_of
from latchwork.job.reader import read_job, read_job_text
from latchwork.job.schema import job_schema

__all__ = [
    "LEGS",
    "SLOTS",
    "Deviation",
    "DeviationKind",
    "Door",
    "Duty",
    "Fact",
    "Job",
    "JobErrors",
    "Joint",
    "Locking",
    "Origin",
    "OutBy",
    "PartUse",
    "Problem",
    "Row",
    "Run",
    "Site",
    "Supply",
    "Tap",
    "counted",
    "job_schema",
    "nearest",
    "one_of",
    "read_job",
    "read_job_text",
]
