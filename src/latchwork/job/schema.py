"""The JSON Schema of the job file, from the same tables that reading uses."""

from __future__ import annotations

from latchwork.job.fields import table_schema
from latchwork.job.sections import JOB, VERSION
from latchwork.job.values import Schema


def job_schema() -> Schema:
    """The schema (draft 2020-12): the shape of a file. The reader checks more than it can say."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"Latchwork job file, version {VERSION}",
        **table_schema(JOB),
    }
