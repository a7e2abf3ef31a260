"""The tables that ``faults`` writes: refused before anything is run, or written whole."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from latchwork.findings.problems import Problem

if TYPE_CHECKING:
    from latchwork.answers.faults_model import FaultsAnswer
    from latchwork.cli.faults_call import Tables
    from latchwork.faults import WhatIf


def refused(jobs: Sequence[Path], tables: Tables) -> Iterator[Problem]:
    """Why a table could not be written in the end, or had better not be. Raises OSError."""
    from latchwork.answers.faults_rows import writes_parquet
    from latchwork.folder import free_for_file
    from latchwork.words import say

    def problem(option: str, why: str, code: str, **figures: str) -> Problem:
        found = say(f"faults.table.{why}.found", figures)
        expected = say(f"faults.table.{why}.expected", figures)
        return Problem("", 0, 0, option, found, expected, code)

    if tables.parquet is not None and not writes_parquet():
        yield problem("--parquet", "no parquet", "call.missing")
    if tables.csv is not None and tables.parquet is not None and _same(tables.csv, tables.parquet):
        yield problem("--parquet", "same", "call.file", file=str(tables.parquet))
    own = [path / name for path in jobs if path.is_dir() for name in os.listdir(path)]
    own = [path for path in (*own, *jobs) if path.suffix in (".yaml", ".yml", ".lock")]
    for option, file in (("--csv", tables.csv), ("--parquet", tables.parquet)):
        if file is None:
            continue
        if len(jobs) > 1:
            yield problem(option, "one job", "call.file", count=str(len(jobs)))
        if any(_same(file, path) for path in own):
            yield problem(option, "own", "call.file", file=str(file))
        elif file.exists() and not file.is_file():
            yield problem(option, "no file", "call.file", file=str(file))
        else:
            free_for_file(file)
            folder = file.resolve().parent
            if not folder.is_dir():
                yield problem(option, "no folder", "disk", file=str(folder))
            elif not os.access(folder, os.W_OK | os.X_OK):
                yield problem(option, "closed", "disk", file=str(folder))


def _same(one: Path, other: Path) -> bool:
    return os.path.realpath(one) == os.path.realpath(other)


def written(answer: FaultsAnswer, rows: Sequence[WhatIf], tables: Tables) -> None:
    """Write the tables that are asked for, and say so. Raises OSError."""
    from latchwork.answers.faults_rows import columns, csv_bytes, parquet_bytes
    from latchwork.folder import write_all
    from latchwork.words import say

    table = columns(answer, rows)
    contents = {}
    if tables.csv is not None:
        contents[tables.csv] = csv_bytes(table)
    if tables.parquet is not None:
        contents[tables.parquet] = parquet_bytes(table)
    write_all(contents)
    for file in contents:
        tables.written.append(file)
        told = {"rows": f"{len(next(iter(table.values())))}", "file": str(file)}
        click.echo(say("faults.written", told), err=True)
