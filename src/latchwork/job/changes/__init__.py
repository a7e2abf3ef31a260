"""Typed edits of a job file, each with its inverse, that rewrite only their own lines."""

from latchwork.job.changes.applying import Changed, apply, change_job
from latchwork.job.changes.change import Add, Change, DoesNotFit, Remove, Set
from latchwork.job.changes.differences import Difference, differences, reading
from latchwork.job.changes.making import NoSuchPlace, append, drop, put
from latchwork.job.changes.plain import as_plain, from_plain
from latchwork.job.changes.spots import Entry, Spot, read_spots
from latchwork.job.changes.writing import Lines, Source, Value, as_typed

__all__ = [
    "Add",
    "Change",
    "Changed",
    "Difference",
    "DoesNotFit",
    "Entry",
    "Lines",
    "NoSuchPlace",
    "Remove",
    "Set",
    "Source",
    "Spot",
    "Value",
    "append",
    "apply",
    "as_plain",
    "as_typed",
    "change_job",
    "differences",
    "drop",
    "from_plain",
    "put",
    "read_spots",
    "reading",
]
