"""``latchwork faults``: every single fault and every attack, and what it does to each door."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from latchwork.cli.problems import stop, unusable_told
from latchwork.findings.problems import Problem

if TYPE_CHECKING:
    from latchwork.faults.address import Tls
    from latchwork.faults.spread import Over

SOMETHING = 1
INTERRUPTED = 130
"""What a shell says of a command that was interrupted."""


@click.command()
@click.argument("jobs", metavar="JOB...", type=click.Path(path_type=Path), nargs=-1, required=True)
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
@click.option(
    "--on",
    "address",
    metavar="ADDRESS",
    help="Work on a Dask cluster: tcp://127.0.0.1:PORT, elsewhere tls://HOST:PORT.",
)
@click.option("--tls-ca", metavar="FILE", default="", help="Whom to trust, for tls://.")
@click.option("--tls-cert", metavar="FILE", default="", help="This end's certificate, for tls://.")
@click.option("--tls-key", metavar="FILE", default="", help="This end's key, for tls://.")
@click.option("--json", "as_json", is_flag=True, help="The same facts for programs, a line a job.")
def faults(
    jobs: tuple[Path, ...],
    doors: tuple[str, ...],
    fault: str,
    attacks: bool,
    pairs: int,
    worst: bool,
    remedies: bool,
    csv_file: Path | None,
    parquet_file: Path | None,
    address: str | None,
    tls_ca: str,
    tls_cert: str,
    tls_key: str,
    as_json: bool,
) -> None:
    """Say what every single fault and every attack from outside does to each door of JOB.

    Each core open, shorted, on plus or minus; each joint at 1, 10 and 100 ohm; each contact welded
    or stuck, each pole by itself; each state that a part may be in. Told is what traps people,
    blocks the exit, opens, stops, or stays silent until something else happens. With --pairs N at
    most N silent faults are paired with a second one.

    Several jobs are run side by side and told one after another, in the order given.

    \b
    Examples:
      latchwork faults boatyard
      latchwork faults boatyard --door D3 --fault "exit open"
      latchwork faults boatyard --no-attacks --pairs 5000 --worst
      latchwork faults boatyard --door D3 --remedies
      latchwork faults jobs/* --no-attacks --json
      latchwork faults boatyard --on tcp://127.0.0.1:8786
    """
    from latchwork.answers import UnknownName, faults_jobs
    from latchwork.cli.faults_files import refused, written
    from latchwork.cli.faults_page import faults_page
    from latchwork.cli.progress import Progress
    from latchwork.faults import Ask
    from latchwork.faults.address import ClusterError, Tls
    from latchwork.faults.spread import Lost
    from latchwork.words import say

    if wrong := list(refused(jobs, csv_file, parquet_file)):
        stop(wrong, as_json)
    tables = csv_file is not None or parquet_file is not None
    ask = Ask(fault, None, False, attacks, pairs, worst, tables)
    progress = Progress()
    far = _Far(progress.tell)
    try:
        over = _over(address, Tls(tls_ca, tls_cert, tls_key))
        with unusable_told(as_json), progress:
            told = faults_jobs(jobs, doors, ask, far.came, remedies=remedies, over=over)
            for answer, rows in told if tables else ():
                written(answer, rows, csv_file, parquet_file)
    except UnknownName as unknown:
        stop([_problem(unknown.what, unknown.found, unknown.expected, "call.unknown")], as_json)
    except ClusterError as error:
        found, expected = (
            say(f"faults.cluster.{error.code}.{what}", error.figures)
            for what in ("found", "expected")
        )
        stop([_problem(error.option, found, expected, "call.cluster")], as_json)
    except Lost:
        found, expected = say("faults.lost.found"), say("faults.lost.expected")
        stop([Problem("", 0, 0, "run", found, expected, "run.lost")], as_json)
    except KeyboardInterrupt:
        click.echo(far.stopped(), err=True)
        raise click.exceptions.Exit(INTERRUPTED) from None
    for n, (job, (answer, _)) in enumerate(zip(jobs, told, strict=True)):
        if as_json:
            import msgspec

            click.echo(msgspec.json.encode(answer))
            continue
        if len(jobs) > 1:
            click.echo(f"{chr(10) if n else ''}{job}")
        click.echo(faults_page(answer, str(job), whole=bool(doors) or bool(fault)))
    if any(door.faults or door.attacks for answer, _ in told for door in answer.doors):
        raise click.exceptions.Exit(SOMETHING)


def _problem(option: str, found: str, expected: str, code: str) -> Problem:
    return Problem("", 0, 0, f"--{option}", found, expected, code)


def _over(address: str | None, tls: Tls) -> Over | None:
    """Where the work is done: on a cluster, or (None) on this machine's cores. Raises
    ClusterError."""
    from latchwork.faults.address import ClusterError
    from latchwork.faults.cluster import Cluster

    if address is not None:
        return Cluster(address, tls)
    if tls.named:
        raise ClusterError("plain", tls.named[0])
    return None


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
