"""``latchwork keypad``: the sheet to key in at a controller, proved; and practising it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from latchwork.cli.codes.common import (
    as_facts,
    job_argument,
    now,
    opened,
    reason,
    save,
    site_of,
    store_options,
    tell_each,
    told,
    why_option,
)

if TYPE_CHECKING:
    from latchwork.codes.keypad.grammar import Grammar
    from latchwork.codes.keypad.job_sheet import ControllerSheet
    from latchwork.codes.register.changes import Change
    from latchwork.codes.site import ControllerOnSite
    from latchwork.codes.store.sealed import Store


@click.command()
@job_argument
@click.argument("controller")
@click.option("--from-reset", is_flag=True, help="Begin with a factory reset, key in everything.")
@click.option("--set-clock", is_flag=True, help="Set the controller's clock too.")
@click.option("--show-codes", is_flag=True, help="Print the codes; without it they are dots.")
@click.option("--page", type=click.Path(path_type=Path), help="Write it in large type as HTML.")
@click.option("--practise", is_flag=True, help="Key it in here, on a simulated controller.")
@click.option("--done", is_flag=True, help="The last sheet has been keyed in to its end.")
@click.option(
    "--stopped-after", type=int, metavar="STEP", help="It was keyed in up to this step, and left."
)
@click.option(
    "--sheet",
    "number",
    type=int,
    metavar="N",
    help="With --done or --stopped-after: sheet N, not the last one.",
)
@click.option("--json", "as_json", is_flag=True, help="The same facts for programs.")
@store_options
@why_option
def keypad(
    job: Path,
    controller: str,
    from_reset: bool,
    set_clock: bool,
    show_codes: bool,
    page: Path | None,
    practise: bool,
    done: bool,
    stopped_after: int | None,
    number: int | None,
    as_json: bool,
    holder: str | None,
    passphrase_fd: int | None,
    why: str | None,
) -> None:
    """Make the sheet to key in at CONTROLLER (its id, or its door), and prove it.

    Only what has changed since the last sheet that was confirmed is on it. Each sheet is keyed in
    on a simulated controller first, and every slip of a finger is tried.

    \b
    Examples:
      latchwork keypad JOB D1 --show-codes
      latchwork keypad JOB D1 --practise
      latchwork keypad JOB D1 --done
      latchwork keypad JOB D1 --done --sheet 3
    """
    from latchwork.codes.keypad.job_sheet import controller_sheet, grammar_of
    from latchwork.codes.keypad.unit import check_known
    from latchwork.codes.register.places import settle
    from latchwork.codes.site import find_controller, folder_of
    from latchwork.words import say

    confirms = done or stopped_after is not None
    if done and stopped_after is not None:
        raise click.UsageError(say("codes.done-or-stopped"))
    if number is not None and not confirms:
        raise click.UsageError(say("codes.sheet-confirms"))
    with told():
        store = opened(job, holder, passphrase_fd)
        site = site_of(job)
        check_known(store.register, site, controller)
        found = find_controller(site, controller)
        grammar = grammar_of(store.register, found, folder_of(job))
        if confirms:
            _confirm(store, found, grammar, number, stopped_after, why)
            return
        local = now().astimezone(site.zone)
        places = settle(store.register, site, {found.id: grammar}, local.date())
        clock = f"{local:%Y-%m-%dT%H:%M}" if set_clock else ""
        settled = store.register.with_changes(places)
        made = controller_sheet(settled, site, found, grammar, local.date(), from_reset, clock)
        if practise:
            from latchwork.cli.codes.practise import practise_sheet

            practise_sheet(made, show_codes)
            return
        _show(store, places, made, show_codes, page, as_json, why)


def _show(
    store: Store,
    places: Sequence[Change],
    made: ControllerSheet,
    show_codes: bool,
    page: Path | None,
    as_json: bool,
    why: str | None,
) -> None:
    from latchwork.cli.codes.open_sheets import open_notes
    from latchwork.cli.codes.sheet_page import facts_of, html_page, text_page
    from latchwork.codes.errors import CodesError
    from latchwork.codes.keypad.proof import prove, try_slips
    from latchwork.words import say

    proof = prove(made.grammar, made.sheet)
    if not proof.holds:
        # Never printed: a sheet that does not end as meant is a mistake of ours or of the grammar.
        raise CodesError(say("codes.unproved", {"why": "; ".join(proof.differences[:8])}))
    # Only now: a sheet that cannot be made leaves the store as it was.
    if places:
        save(store, places, say("codes.why-places", {"name": made.controller.id}))
    number = _number(store, made, why)
    if not made.sheet.resets:
        own = number if made.sheet.steps else 0
        before = open_notes(store.register, made.controller.id, made.grammar, own)
        made = replace(made, notes=(*before, *made.notes))
    kinds = try_slips(made.grammar, made.sheet)
    if as_json:
        as_facts(facts_of(made, number, kinds, show_codes))
    else:
        click.echo(text_page(made, number, kinds, show_codes))
    if page is not None:
        try:
            _write(page, html_page(made, number, kinds, show_codes))
        except OSError as error:
            refused = error.strerror or type(error).__name__
            facts = {"path": str(page), "why": refused, "number": str(number)}
            raise CodesError(say("codes.page-unwritten", facts)) from None
        click.echo(say("codes.page", {"path": str(page)}), err=True)


def _number(store: Store, made: ControllerSheet, why: str | None) -> int:
    """The sheet's number; a sheet that differs from the last one printed gets the next."""
    from latchwork.codes.keypad.unit import remember
    from latchwork.codes.register.changes import SheetMade
    from latchwork.words import say

    last = store.register.last_sheet(made.controller.id)
    if not made.sheet.steps:
        return last.made.number if last else 0
    content = made.sheet.ends_with
    begins = store.register.programmed.get(made.controller.id)
    same = (content, made.sheet.resets, made.grammar.name, begins)
    if last and same == (
        last.made.content,
        last.made.from_reset,
        last.made.grammar or made.grammar.name,
        last.begins,
    ):
        return last.made.number
    number = store.register.sheet_numbers.get(made.controller.id, 0) + 1
    sheet = SheetMade(made.controller.id, number, content, made.sheet.resets, made.grammar.name)
    changes: list[Change] = [sheet, *remember(store.register, made.controller)]
    save(store, changes, reason(why, say("codes.why-sheet", {"name": made.controller.id})))
    return number


def _write(path: Path, text: str) -> None:
    from latchwork.folder import PRIVATE, write_atomic

    write_atomic(path, text.encode(), mode=PRIVATE)


def _confirm(
    store: Store,
    controller: ControllerOnSite,
    grammar: Grammar,
    number: int | None,
    stopped_after: int | None,
    why: str | None,
) -> None:
    """Writes down what the controller holds now that a sheet was keyed in, or part of it."""
    from latchwork.cli.codes.open_sheets import left_lines
    from latchwork.codes.keypad.confirming import confirmed
    from latchwork.codes.keypad.unit import check_unit, remember
    from latchwork.words import say

    check_unit(store.register, controller)
    found = confirmed(store.register, controller.id, grammar, number, stopped_after)
    facts = {"name": controller.id, "number": str(found.number), "step": str(found.steps)}
    key = "done" if stopped_after is None else "stopped"
    changes = (*found.changes, *remember(store.register, controller))
    save(store, changes, reason(why, say(f"codes.why-{key}", facts)))
    click.echo(say(f"codes.{key}", facts))
    for later in found.stale:
        click.echo("  " + say("codes.stale", {**facts, "later": str(later)}))
    tell_each(left_lines(store.register, controller.id, grammar))
