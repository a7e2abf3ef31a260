"""``latchwork faults``: every single fault and every attack, and what it does to each door."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from latchwork.cli.problems import stop, unusable_told

if TYPE_CHECKING:
    from latchwork.answers import FaultsAnswer
    from latchwork.faults import WhatIf

SOMETHING = 1
INTERRUPTED = 130
"""What a shell says of a command that was interrupted."""


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@click.option("--door", "doors", metavar="DOOR", multiple=True, help="This door only; may repeat.")
@click.option("--fault", metavar="TEXT", default="", help="Faults whose name holds these words.")
@click.option("--attacks/--no-attacks", default=True, help="Whether attacks from outside are run.")
@click.option(
    "--pairs", metavar="N", type=click.IntRange(0), default=0, help="Silent faults with a second."
)
@click.option("--worst", is_flag=True, help="Also at least and at most volts.")
@click.option("--remedies", is_flag=True, help="Try changes against what traps, blocks, opens.")
@click.option(
    "--csv",
    "csv_file",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Write every what-if as a row; of a large job those that do something.",
)
@click.option(
    "--parquet",
    "parquet_file",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="The same as a Parquet file.",
)
@click.option("--json", "as_json", is_flag=True, help="The same facts for programs.")
def faults(
    job: Path,
    doors: tuple[str, ...],
    fault: str,
    attacks: bool,
    pairs: int,
    worst: bool,
    remedies: bool,
    csv_file: Path | None,
    parquet_file: Path | None,
    as_json: bool,
) -> None:
    """Say what every single fault and every attack from outside does to each door of JOB.

    Each core open, shorted, on plus or minus; each joint at 1, 10 and 100 ohm; each contact welded
    or stuck, each pole by itself; each state that a part may be in. Told is what traps people,
    blocks the exit, opens, stops, or stays silent until something else happens. With --pairs N at
    most N silent faults are paired with a second one.

    \b
    Examples:
      latchwork faults boatyard
      latchwork faults boatyard --door D3 --fault "exit open"
      latchwork faults boatyard --no-attacks --pairs 5000 --worst
      latchwork faults boatyard --door D3 --remedies
    """
    from latchwork.answers import UnknownName, faults_job
    from latchwork.answers.faults_rows import writes_parquet
    from latchwork.cli.faults_page import faults_page
    from latchwork.cli.progress import Progress
    from latchwork.faults import Ask
    from latchwork.findings.problems import Problem
    from latchwork.words import say

    if parquet_file is not None and not writes_parquet():
        found, expected = say("faults.no parquet"), say("faults.needs parquet")
        stop([Problem("", 0, 0, "--parquet", found, expected, "call.missing")], as_json)
    tables = [file for file in (csv_file, parquet_file) if file is not None]
    ask = Ask(fault, None, False, attacks, pairs, worst, bool(tables))
    progress = Progress()
    far = _Far(progress.tell)
    try:
        with unusable_told(as_json), progress:
            answer, rows = faults_job(job, doors, ask, far.came, remedies=remedies)
            if tables:
                _write(answer, rows, csv_file, parquet_file)
    except UnknownName as unknown:
        problem = Problem(
            "", 0, 0, f"--{unknown.what}", unknown.found, unknown.expected, "call.unknown"
        )
        stop([problem], as_json)
    except KeyboardInterrupt:
        click.echo(far.stopped(), err=True)
        raise click.exceptions.Exit(INTERRUPTED) from None
    if as_json:
        import msgspec

        click.echo(msgspec.json.encode(answer))
    else:
        click.echo(faults_page(answer, str(job), whole=bool(doors) or bool(fault)))
    if any(door.faults or door.attacks for door in answer.doors):
        raise click.exceptions.Exit(SOMETHING)


class _Far:
    """How far the run came, for the bar and for whoever stops it."""

    def __init__(self, tell: Callable[[str], None]) -> None:
        self._tell = tell
        self._last = ""

    def came(self, what: str, where: str, done: int, total: int) -> None:
        """One more step is done."""
        from latchwork.words import say

        told = {"done": f"{done:,}", "total": f"{total:,}", "door": where}
        self._last = say(f"faults.progress.{what}", told)
        full = 20 * done // max(total, 1)
        self._tell(f"{'█' * full}{'░' * (20 - full)} {self._last}")

    def stopped(self) -> str:
        """What is said when somebody stops it."""
        from latchwork.words import say

        if not self._last:
            return say("faults.stopped early")
        return say("faults.stopped", {"what": self._last})


def _write(
    answer: FaultsAnswer,
    rows: Sequence[WhatIf],
    csv_file: Path | None,
    parquet_file: Path | None,
) -> None:
    from latchwork.answers.faults_rows import columns, csv_bytes, parquet_bytes
    from latchwork.folder import write_atomic
    from latchwork.words import say

    table = columns(answer, rows)
    contents = []
    if csv_file is not None:
        contents.append((csv_file, csv_bytes(table)))
    if parquet_file is not None:
        contents.append((parquet_file, parquet_bytes(table)))
    for file, content in contents:
        write_atomic(file, content)
        told = {"rows": f"{len(next(iter(table.values())))}", "file": str(file)}
        click.echo(say("faults.written", told), err=True)
