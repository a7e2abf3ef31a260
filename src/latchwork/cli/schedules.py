"""``latchwork schedules``: what is where, on what cable, and what a meter should show."""

from __future__ import annotations

from pathlib import Path

import click

from latchwork.cli.problems import unusable_told


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@click.option(
    "--csv",
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    help="Write each table as a CSV file into DIR.",
)
@click.option(
    "--xlsx",
    "book",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Write all tables as one workbook.",
)
@click.option("--json", "as_json", is_flag=True, help="The same facts for programs.")
def schedules(job: Path, folder: Path | None, book: Path | None, as_json: bool) -> None:
    """Write the schedules of JOB: doors, connections, cables, what to order, supplies, readings.

    Connections are sorted by where one stands. Without an option one workbook is written into the
    job's folder.

    \b
    Examples:
      latchwork schedules boatyard
      latchwork schedules boatyard --csv tables --xlsx boatyard.xlsx
    """
    from latchwork.cli.progress import Progress
    from latchwork.words import say

    with unusable_told(as_json), Progress() as progress:
        from latchwork.answers.schedules.answer import schedules_job
        from latchwork.folder import free_for_file, open_folder, write_all
        from latchwork.papers.spreadsheets import csv_bytes, xlsx_bytes
        from latchwork.papers.tables import tables

        if folder is None and book is None and not as_json:
            book = open_folder(job).path / "schedules.xlsx"
        if book is not None:
            # Before the site is run: nobody waits for a refusal.
            free_for_file(book)
        answer = schedules_job(job, progress.doors)
        if as_json:
            import msgspec

            click.echo(msgspec.json.encode(answer))
            return
        found = tables(answer)
        files = {} if book is None else {book: xlsx_bytes(found, answer.site)}
        if folder is not None:
            folder.mkdir(parents=True, exist_ok=True)
            files |= {folder / f"{table.key}.csv": csv_bytes(table) for table in found}
        write_all(files)
        if book is not None:
            click.echo(say("schedules.one written", {"file": str(book)}))
        if folder is not None:
            told = {"count": str(len(found)), "folder": str(folder)}
            click.echo(say("schedules.written", told))
