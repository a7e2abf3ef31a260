"""A fault run as a table for export: one row a what-if, or a consequence where these are many."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from importlib.util import find_spec

from latchwork.answers.faults_model import FaultsAnswer
from latchwork.faults import WhatIf

Table = Mapping[str, Sequence[str | float | bool]]
"""Columns by name; a name that ends in _v is in volts."""
CONSEQUENCE = (
    "id",
    "effect",
    "situation",
    "moment",
    "case",
    "lock",
    "sound_v",
    "faulty_v",
    "sound_state",
    "faulty_state",
)
"""Fields of a fault's line that make a row."""
NAMES = {"id": "fault"}


def columns(answer: FaultsAnswer, what_ifs: Sequence[WhatIf]) -> Table:
    """What-ifs as columns; without any the consequences of ``answer``."""
    if what_ifs:
        return {
            name: [_plain(getattr(row, name)) for row in what_ifs]
            for name in WhatIf.__struct_fields__
        }
    lines = [(door.id, fault) for door in answer.doors for fault in door.faults]
    table: dict[str, Sequence[str | float | bool]] = {"door": [door for door, _ in lines]}
    for name in CONSEQUENCE:
        table[NAMES.get(name, name)] = [getattr(fault, name) for _, fault in lines]
    return table


def _plain(value: str | float | bool) -> str | float | bool:
    """A word that is one of a list as plain text."""
    return str(value) if isinstance(value, str) else value


def csv_bytes(table: Table) -> bytes:
    """The table as CSV, UTF-8, a line a row."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(table)
    writer.writerows(zip(*table.values(), strict=True))
    return out.getvalue().encode()


def writes_parquet() -> bool:
    """Whether what writes Parquet files is installed."""
    return find_spec("pyarrow") is not None


def parquet_bytes(table: Table) -> bytes:
    """The table as a Parquet file."""
    import pyarrow
    from pyarrow import parquet

    out = pyarrow.BufferOutputStream()
    parquet.write_table(pyarrow.table(dict(table)), out)
    whole: bytes = out.getvalue().to_pybytes()
    return whole
