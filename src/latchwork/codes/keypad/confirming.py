"""Confirming a printed sheet: what the controller holds once it was keyed in, all or in part."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from latchwork.codes.content import Content
from latchwork.codes.errors import CodesError
from latchwork.codes.keypad.grammar import Grammar
from latchwork.codes.keypad.memory import factory_content
from latchwork.codes.keypad.sheet import Sheet, make_sheet
from latchwork.codes.keypad.simulator import Controller
from latchwork.codes.register.changes import Change, PlaceFreed, PlaceTaken, Programmed
from latchwork.codes.register.register import PrintedSheet, Register


@dataclass(frozen=True, slots=True)
class Confirmed:
    """What is written down of a sheet that was keyed in up to a step. ``stale``: later sheets whose
    steps are counted from what the controller held before, so that they lead nowhere any more."""

    number: int
    steps: int
    changes: tuple[Change, ...]
    stale: tuple[int, ...]


def confirmed(
    register: Register,
    controller: str,
    grammar: Grammar,
    number: int | None = None,
    steps: int | None = None,
) -> Confirmed:
    """A sheet confirmed up to a step: the last one and to its end where neither is said.

    Raises CodesError for a sheet that was not printed for the unit that hangs there, and for one
    whose steps do not begin with what it holds.
    """
    paper = printed(register, controller, number)
    sheet = sheet_of(paper, grammar)
    made = paper.made
    if not sheet.resets and register.programmed.get(controller) == sheet.ends_with:
        raise CodesError(f"{controller} holds what sheet {made.number} says already")
    if not leads_on(register, paper):
        raise CodesError(
            f"sheet {made.number} of {controller} begins with what it held before another sheet "
            f"was confirmed: `latchwork keypad JOB {controller}` makes one from what it holds now"
        )
    steps = len(sheet.steps) if steps is None else steps
    content = content_after(sheet, grammar, steps)
    changes = (
        Programmed(controller, content, grammar.name, made.number),
        *_places(register, paper, content),
    )
    after = register.with_changes(changes)
    stale = tuple(
        later.made.number
        for later in after.sheets[controller]
        if later.made.number > made.number
        and leads_on(register, later)
        and not leads_on(after, later)
        and later.made.content != content
    )
    return Confirmed(made.number, steps, changes, stale)


def printed(register: Register, controller: str, number: int | None) -> PrintedSheet:
    """A sheet by its number, or the last one. Raises CodesError where there is none."""
    papers = register.sheets.get(controller, ())
    if not papers:
        raise CodesError(f"no sheet was made for {controller} yet")
    if number is None:
        return papers[-1]
    for paper in papers:
        if paper.made.number == number:
            return paper
    first, last = papers[0].made.number, papers[-1].made.number
    if 0 < number < first:
        raise CodesError(
            f"sheet {number} of {controller} was for the unit that hung there before; "
            f"expected {_numbers(first, last)}"
        )
    raise CodesError(
        f"no sheet {number} was printed for {controller}; expected {_numbers(first, last)}"
    )


def _numbers(first: int, last: int) -> str:
    return str(first) if first == last else f"{first} to {last}"


def leads_on(register: Register, paper: PrintedSheet) -> bool:
    """Whether a sheet can be keyed in, or on, at what was last confirmed: its steps begin with
    that, or part of it is what was confirmed."""
    here = paper.made.controller
    begins = paper.begins == register.programmed.get(here)
    return begins or paper.made.number == register.confirmed_sheets.get(here)


def sheet_of(paper: PrintedSheet, grammar: Grammar) -> Sheet:
    """A printed sheet step by step as it was, whatever of it was confirmed since. Raises CodesError
    where the controller is programmed by another grammar now."""
    made = paper.made
    if made.grammar not in ("", grammar.name):
        raise CodesError(
            f"sheet {made.number} of {made.controller} is keyed in by the grammar {made.grammar}, "
            f"and it is programmed by {grammar.name} now: make a new sheet"
        )
    begins = paper.begins or factory_content(grammar)
    return make_sheet(grammar, begins, made.content, made.from_reset)


def content_after(sheet: Sheet, grammar: Grammar, steps: int) -> Content:
    """What the controller holds after the first ``steps`` steps. Raises CodesError past the end."""
    if not 0 <= steps <= len(sheet.steps):
        raise CodesError(f"the sheet has {len(sheet.steps)} steps")
    controller = Controller(grammar, sheet.begins_with)
    for step in sheet.steps[:steps]:
        controller.play(step.presses)
    return controller.memory.content()


def _places(register: Register, paper: PrintedSheet, content: Content) -> Iterator[Change]:
    """Places that were given to others since the sheet was printed: what is keyed into them is of
    whom the sheet names, so they are theirs, to be deleted under their name, and the others get
    another place. Without this a later sheet would tell a stranger's codes by a wrong name."""
    here = paper.made.controller
    for place in sorted(content.users):
        then = paper.owners.get(place, "")
        if then and register.owners.get((here, place)) != then:
            yield PlaceTaken(here, place, then)
            yield PlaceFreed(here, place)


def unconfirmed(register: Register, controller: str) -> tuple[int, ...]:
    """The sheets that may have been keyed in though nobody said so: the last one, and earlier ones
    that begin with what was last confirmed."""
    papers = register.sheets.get(controller, ())
    held = register.programmed.get(controller)
    keyed = register.keyed_sheets.get(controller)
    return tuple(
        paper.made.number
        for paper in papers
        if paper.made.number != keyed
        and (paper is papers[-1] or (paper.begins == held and paper.made.content != held))
    )
