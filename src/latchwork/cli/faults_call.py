"""A call of ``faults``: what is asked, where it is worked out, what is written and shown."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

from latchwork.cli.problems import stop, unusable_told
from latchwork.findings.problems import Problem

if TYPE_CHECKING:
    from latchwork.answers.faults_model import FaultsAnswer
    from latchwork.faults.spread import Over


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked for; ``doors`` none: all."""

    doors: tuple[str, ...]
    fault: str
    attacks: bool
    pairs: int
    worst: bool
    remedies: bool

    @property
    def some(self) -> bool:
        """Whether something is asked for by name, and is shown whole."""
        return bool(self.doors) or bool(self.fault)


@dataclass(frozen=True, slots=True)
class Tables:
    """Files that are asked for (None: not), and those that are written by now."""

    csv: Path | None
    parquet: Path | None
    written: list[Path] = field(default_factory=list)

    def __bool__(self) -> bool:
        return self.csv is not None or self.parquet is not None


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """A cluster's address (None: this machine's cores) and files for TLS."""

    address: str | None
    ca: str
    cert: str
    key: str

    def over(self) -> Over | None:
        """The cluster, if one is named. Raises ClusterError."""
        from latchwork.faults.address import ClusterError, Tls
        from latchwork.faults.cluster import Cluster

        tls = Tls(self.ca, self.cert, self.key)
        if self.address is not None:
            return Cluster(self.address, tls)
        if tls.named:
            raise ClusterError("plain", tls.named[0])
        return None


class Call:
    """One call from first to last."""

    def __init__(
        self,
        jobs: Sequence[Path],
        asked: Asked,
        tables: Tables,
        where: Elsewhere,
        as_json: bool,
    ) -> None:
        self._jobs, self._asked, self._tables = jobs, asked, tables
        self._where, self._as_json = where, as_json
        self._last = ""

    def run(self) -> list[FaultsAnswer]:
        """Run every job and write what is to be written; what cannot be is told and ends it."""
        from latchwork.answers.detail import UnknownName
        from latchwork.answers.faults import faults_jobs
        from latchwork.cli.faults_files import refused, written
        from latchwork.cli.progress import Progress
        from latchwork.faults import Ask
        from latchwork.faults.address import ClusterError
        from latchwork.faults.spread import Lost
        from latchwork.words import say

        with unusable_told(self._as_json):
            wrong = list(refused(self._jobs, self._tables))
        if wrong:
            stop(wrong, self._as_json)
        a = self._asked
        ask = Ask(
            a.fault,
            attacks=a.attacks,
            pairs=a.pairs,
            poles=True,
            worst=a.worst,
            all_rows=bool(self._tables),
        )
        progress = Progress()
        far = self._far(progress.tell)
        try:
            over = self._where.over()
            with unusable_told(self._as_json), progress:
                told = faults_jobs(self._jobs, a.doors, ask, far, remedies=a.remedies, over=over)
                for answer, rows in told if self._tables else ():
                    written(answer, rows, self._tables)
        except UnknownName as unknown:
            self._stop(f"--{unknown.what}", unknown.found, unknown.expected, "call.unknown")
        except ClusterError as error:
            found, expected = (
                say(f"faults.cluster.{error.code}.{what}", error.figures)
                for what in ("found", "expected")
            )
            self._stop(f"--{error.option}", found, expected, "call.cluster")
        except Lost:
            self._stop("run", say("faults.lost.found"), say("faults.lost.expected"), "run.lost")
        return [answer for answer, _ in told]

    def _stop(self, option: str, found: str, expected: str, code: str) -> NoReturn:
        stop([Problem("", 0, 0, option, found or '""', expected, code)], self._as_json)

    def show(self, answers: Sequence[FaultsAnswer]) -> None:
        """Print what was found, job by job."""
        import msgspec

        from latchwork.cli.faults_page import faults_page

        for n, (job, answer) in enumerate(zip(self._jobs, answers, strict=True)):
            if self._as_json:
                click.echo(msgspec.json.encode(answer))
                continue
            if len(self._jobs) > 1:
                click.echo(f"{chr(10) if n else ''}{job}")
            click.echo(faults_page(answer, str(job), whole=self._asked.some))

    def _far(self, tell: Callable[..., None]) -> Callable[[str, int, int], None]:
        """What hears how far the run is, for the bar and for whoever stops it."""
        from latchwork.words import say

        def came(what: str, done: int, total: int) -> None:
            told = {"done": f"{done:,}", "total": f"{total:,}"}
            self._last = say(f"faults.progress.{what}", told)
            full = 20 * done // max(total, 1)
            bar = f"{'█' * full}{'░' * (20 - full)} {self._last}"
            tell(bar, at_once=what == "compile")

        return came

    def stopped(self) -> str:
        """What is said when somebody stops it."""
        from latchwork.words import say

        if files := self._tables.written:
            return say("faults.stopped late", {"files": ", ".join(map(str, files))})
        if not self._last:
            return say("faults.stopped early")
        return say("faults.stopped", {"what": self._last})
