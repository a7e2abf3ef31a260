"""Verbs that read lists: people, and a box of cards."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from latchwork.cli.codes.common import (
    job_argument,
    left_out,
    opened,
    reason,
    save,
    store_options,
    tell_each,
    told,
    wanted_sheets,
    why_option,
)

if TYPE_CHECKING:
    from latchwork.codes.cards.layout import Layout
    from latchwork.codes.imports.people import Preview

_SHOWN = 200


def layout_named(job: Path | None, name: str) -> Layout:
    """A card layout by name, the job's own first. Raises CodesError with the nearest."""
    from latchwork.codes.cards.describe import layouts_for
    from latchwork.codes.errors import CodesError
    from latchwork.codes.site import folder_of
    from latchwork.job import one_of
    from latchwork.words import say

    known = layouts_for(folder_of(job) if job else None)
    if name not in known:
        raise CodesError(say("codes.no-layout", {"name": name, "known": one_of(name, known)}))
    return known[name]


@click.command("import")
@job_argument
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--write", is_flag=True, help="Do it; without this the changes are only shown.")
@click.option("--layout", default="26-bit", show_default=True, help="Layout of the cards.")
@click.option("--facility", type=int, help="Facility code where it is not printed.")
@click.option("--printing", default="", help='How the cards are printed, such as "10 digits".')
@click.option("--digits", default=6, show_default=True, type=click.IntRange(4, 8))
@click.option("--group", "groups", multiple=True, help="Group of people the list gives none.")
@click.option("--leavers", is_flag=True, help="People who are not in the list leave.")
@store_options
@why_option
def import_(
    job: Path,
    file: Path,
    write: bool,
    layout: str,
    facility: int | None,
    printing: str,
    digits: int,
    groups: tuple[str, ...],
    leavers: bool,
    holder: str | None,
    passphrase_fd: int | None,
    why: str | None,
) -> None:
    """Import people from a CSV or XLSX list, shown first.

    \b
    Columns, of which only name is needed:
      name, groups, valid from, valid until, kind, note,
      pin (yes, or the digits they have), card (as printed), id

    \b
    Example:
      latchwork codes import JOB people.xlsx --group staff
      latchwork codes import JOB people.xlsx --group staff --write
    """
    from latchwork.codes.imports.people import Options, preview
    from latchwork.codes.imports.table import read_table
    from latchwork.codes.register.people import check_groups
    from latchwork.words import say

    with told():
        store = opened(job, holder, passphrase_fd)
        check_groups(store.register, groups)
        options = Options(layout_named(job, layout), facility, printing, digits, groups, leavers)
        found = preview(read_table(file), store.register, options)
        _show(found)
        if not found.changes:
            click.echo(say("codes.nothing"))
        elif write:
            wanted = wanted_sheets(job, store.register, found.changes)
            save(store, found.changes, reason(why, say("codes.why-import", {"file": file.name})))
            click.echo(say("codes.imported"))
            tell_each(wanted)
        else:
            tell_each(left_out(job, store.register, found.changes))
            click.echo(say("codes.preview-only"))


def _show(found: Preview) -> None:
    from latchwork.words import say

    for one in found.planned[:_SHOWN]:
        if one.kind == "same":
            continue
        details = "; ".join(
            f"{what}: {before} → {after}" if before else f"{what}: {after}"
            for what, before, after in one.details
        )
        click.echo(f"  {say(f'codes.planned.{one.kind}'):8} {one.name}  {details}".rstrip())
    if len(found.planned) > _SHOWN:
        click.echo("  " + say("codes.more", {"count": str(len(found.planned) - _SHOWN)}))
    counts = {
        kind: str(sum(p.kind == kind for p in found.planned))
        for kind in ("new", "changed", "same", "leaves")
    }
    click.echo(say("codes.counts", counts))
    for remark in found.remarks:
        click.echo(say("codes.remark", {"text": remark}))
    if found.not_listed:
        shown = ", ".join(found.not_listed[:5])
        click.echo(say("codes.not-listed", {"count": str(len(found.not_listed)), "names": shown}))


@click.command()
@job_argument
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--layout", default="26-bit", show_default=True)
@click.option("--facility", type=int, help="The facility code that was ordered.")
@click.option("--printing", default="")
@store_options
def cards(
    job: Path,
    file: Path,
    layout: str,
    facility: int | None,
    printing: str,
    holder: str | None,
    passphrase_fd: int | None,
) -> None:
    """Check a delivered box of cards: a list with a column "card".

    Doubles, numbers that do not fit, cards that are in use, and cards of another facility.
    """
    from latchwork.codes.cards.batch import check_batch
    from latchwork.codes.errors import CodesError
    from latchwork.codes.imports.table import read_table
    from latchwork.words import say

    with told():
        store = opened(job, holder, passphrase_fd)
        table = read_table(file)
        if "card" not in table.columns:
            raise CodesError(say("codes.no-card-column", {"file": file.name}))
        register = store.register
        taken = {c.value: register.people[c.person].name for c in register.cards.values()}
        taken |= {c.value: say("codes.lost-once") for c in register.lost_cards.values()}
        prints = [(r.line, r.cells["card"]) for r in table.rows if r.cells.get("card")]
        batch = check_batch(layout_named(job, layout), prints, taken, facility, printing)
        for found in batch.findings:
            facts = {"line": str(found.line), "card": found.printed, "detail": found.detail}
            click.echo(say(f"codes.batch.{found.kind}", facts))
        facts = {"count": str(len(batch.cards)), "facility": str(batch.facility)}
        click.echo(say("codes.batch.done", facts))
        if batch.findings:
            raise click.exceptions.Exit(1)
