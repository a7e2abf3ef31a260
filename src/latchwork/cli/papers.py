"""``latchwork papers``: the pack to print, and labels."""

from __future__ import annotations

import datetime
from contextlib import ExitStack
from pathlib import Path

import click

from latchwork.cli.problems import stop, unusable_told


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@click.option(
    "--only",
    metavar="PARTS",
    default="",
    help="Some parts, with commas between: cover, doors, site, drawings, connections, cables, "
    "order, power, findings, tests, faults, service, guides, lids, emergency, cautions.",
)
@click.option(
    "--service",
    is_flag=True,
    help="Also what single faults do, and the service plan. It takes a run of every single fault, "
    "so the pack is longer in coming; --only with faults or service in it asks for one of them.",
)
@click.option(
    "--size",
    type=click.Choice(["A4", "Letter"], case_sensitive=False),
    help="Paper; A4, or Letter on a site with US units.",
)
@click.option(
    "--date",
    metavar="YYYY-MM-DD",
    help="Date on every sheet; today where none is given.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Where to write; else papers.pdf or labels.pdf in the job's folder.",
)
@click.option(
    "--labels",
    metavar="SIZE",
    help="Labels instead of the pack, by their size in mm: 38x21, 64x38, 70x37, 67x25, 102x51.",
)
@click.option(
    "--for",
    "kind",
    type=click.Choice(["doors", "cables", "both"]),
    help="With --labels: what for; both where nothing is said.",
)
def papers(
    job: Path,
    only: str,
    service: bool,
    size: str | None,
    date: str | None,
    out: Path | None,
    labels: str | None,
    kind: str | None,
) -> None:
    """Print everything for JOB into one PDF: schedules, drawings, test sheets, guides.

    The same job and date give the same file, byte for byte.

    \b
    Examples:
      latchwork papers boatyard
      latchwork papers boatyard --only tests,lids --date 2026-03-02
      latchwork papers boatyard --service
      latchwork papers boatyard --labels 38x21 --for cables
    """
    from latchwork.cli.progress import Progress
    from latchwork.words import say

    wanted = [name.strip() for name in only.split(",") if name.strip()]
    if service and wanted:
        wanted += ["faults", "service"]
    day = _day(date) if date is not None else datetime.date.today()
    with unusable_told(), Progress() as progress, ExitStack() as open_:
        from latchwork.folder import free_for_file, write_atomic
        from latchwork.papers.beside import typesetter
        from latchwork.papers.source import begin, finish

        begun = begin(job)
        if out is None:
            out = begun.opened.folder.path / ("labels.pdf" if labels else "papers.pdf")
        # Before the site is run: nobody waits for a refusal.
        free_for_file(out)
        beside = None if labels else open_.enter_context(typesetter(begun, size, wanted, day))
        # From here on the two processes read what each needs.
        from latchwork.papers.asked import COVER, FAULTS, SECTIONS, SERVICE, Stamp, paper_of

        if labels:
            _apart(
                "other than labels", {"--only": only, "--service": service, "--size": size or ""}
            )
        else:
            _apart("for labels", {"--for": kind or ""})
        _known("--only", wanted, [COVER, *SECTIONS])
        if labels:
            from latchwork.papers.labels import KINDS, LABEL_SHEETS, labels_pdf

            _known("--labels", [labels], LABEL_SHEETS)

        def fault_run(what: str, done: int, total: int) -> None:
            told = {"done": f"{done:,}", "total": f"{total:,}"}
            progress.tell(say(f"faults.progress.{what}", told))

        planned = fault_run if service or {FAULTS, SERVICE} & set(wanted) else None
        source = finish(begun, progress.doors, day.isoformat(), planned)
        stamp = Stamp(day, begun.version)
        content = None
        if labels:
            kinds = (kind,) if kind in KINDS else KINDS
            content = labels_pdf(source, LABEL_SHEETS[labels], stamp, kinds)
        elif beside is not None:
            content = beside.pdf(source)
        if content is None:
            from latchwork.papers.pack import pack_pdf

            content = pack_pdf(source, paper_of(begun.index, size), stamp, wanted)
        write_atomic(out, content)
    click.echo(say("schedules.one written", {"file": str(out)}))


def _day(text: str) -> datetime.date:
    """The date given. Ends with exit code 2 where it is none."""
    from latchwork.findings.problems import Problem

    try:
        return datetime.datetime.strptime(text, "%Y-%m-%d").date()
    except ValueError:
        expected = "a date, year first, such as 2026-03-02"
        stop([Problem("", 0, 0, "--date", text, expected, "call.date")])


def _apart(why: str, given: dict[str, str | bool]) -> None:
    """End with exit code 2 where options were given that mean nothing here."""
    from latchwork.findings.problems import Problem
    from latchwork.words import say

    expected = say(f"papers.call.{why}")
    found = {option: said if isinstance(said, str) else option for option, said in given.items()}
    wrong = [option for option, said in given.items() if said]
    if wrong:
        stop(Problem("", 0, 0, option, found[option], expected, "call.apart") for option in wrong)


def _known(option: str, found: list[str], names: object) -> None:
    """End with exit code 2 where a name is not one of those there are."""
    from latchwork.findings.problems import Problem
    from latchwork.job import one_of

    known = list(names)  # type: ignore[call-overload]  # a mapping or list of texts
    wrong = [name for name in found if name not in known]
    if wrong:
        stop(Problem("", 0, 0, option, w, one_of(w, known), "call.unknown") for w in wrong)
