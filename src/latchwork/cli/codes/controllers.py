"""Verbs about controllers: how each is programmed, its settings and codes, and the odds at it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import click

from latchwork.cli.codes.chances import one_in
from latchwork.cli.codes.common import (
    job_argument,
    opened,
    reason,
    save,
    site_of,
    store_options,
    tell_each,
    today,
    told,
    wanted_sheets,
    why_option,
)

if TYPE_CHECKING:
    from latchwork.codes.keypad.grammar import Grammar
    from latchwork.codes.pins.odds import LockOut
    from latchwork.codes.register.register import Register
    from latchwork.codes.secret import Secret
    from latchwork.codes.site import ControllerOnSite, SiteView


@click.command()
@job_argument
@click.argument("name", metavar="[CONTROLLER]", required=False)
@click.option("--grammar", help="How it is programmed; `latchwork codes grammars` lists them.")
@click.option("--digits", type=click.IntRange(4, 8), help="Length of its PINs.")
@click.option(
    "--set", "settings", multiple=True, metavar="NAME=VALUE", help='Such as "relay 1 time=7".'
)
@click.option("--new-code", "kinds", multiple=True, help="Draw a new installer or manager code.")
@click.option("--master-card", metavar="CARD", help="The card that opens programming, as printed.")
@click.option(
    "--new-unit/--same-unit",
    "new_unit",
    default=None,
    help="Another unit hangs there, as it left the factory, or this one was reset by hand and"
    " forgot its codes; or the same, by a changed grammar or under another name in the job file.",
)
@click.option("--show-codes", is_flag=True, help="Show the controller's own codes.")
@store_options
@why_option
def controller(
    job: Path,
    name: str | None,
    grammar: str | None,
    digits: int | None,
    settings: tuple[str, ...],
    kinds: tuple[str, ...],
    master_card: str | None,
    new_unit: bool | None,
    show_codes: bool,
    holder: str | None,
    passphrase_fd: int | None,
    why: str | None,
) -> None:
    """Set up a controller, or list the site's controllers.

    When its grammar is first said, its installer and manager codes are drawn.

    \b
    Example:
      latchwork codes controller JOB D1 --grammar "letter pairs" --set "relay 1 time=7"
    """
    from latchwork.codes.errors import CodesError
    from latchwork.codes.keypad.job_sheet import grammar_of
    from latchwork.codes.keypad.memory import carried_over
    from latchwork.codes.keypad.setup import (
        check_setting,
        check_settings,
        codes_to_draw,
        draw_code,
    )
    from latchwork.codes.keypad.shelf import grammar_for
    from latchwork.codes.keypad.unit import unit_before
    from latchwork.codes.register.changes import (
        Change,
        ControllerCode,
        ControllerReplaced,
        ControllerSetUp,
        Programmed,
        UnitFitted,
    )
    from latchwork.codes.register.people import pin_space
    from latchwork.codes.site import find_controller, folder_of
    from latchwork.words import say

    with told():
        store = opened(job, holder, passphrase_fd)
        site = site_of(job)
        register = store.register
        if name is None:
            _list(site, register)
            return
        found = find_controller(site, name)
        old = register.controllers.get(found.id)
        rules = (
            grammar_for(folder_of(job), grammar)
            if grammar
            else grammar_of(register, found, folder_of(job))
        )
        chosen = dict(old.settings) if old else {}
        for text in settings:
            key, _, value = text.partition("=")
            check_setting(rules, key.strip(), value.strip())
            chosen[key.strip()] = value.strip()
        check_settings(rules, found.id, {**found.settings, **chosen})
        length = digits or (old.pin_length if old else 6)
        setup = ControllerSetUp(found.id, rules.name, length, chosen)
        changes: list[Change] = [] if setup == old else [setup]
        before, held = register.keyed_by.get(found.id, ""), register.programmed.get(found.id)
        if new_unit:
            changes.append(ControllerReplaced(found.id))
        elif held is not None and before not in ("", rules.name):
            if new_unit is None:
                facts = {"name": found.id, "before": before, "grammar": rules.name}
                raise CodesError(say("codes.which-unit", facts))
            changes.append(Programmed(found.id, carried_over(held, rules), rules.name))
        if new_unit is False and unit_before(register, found):
            changes.append(UnitFitted(found.id, found.unit))
        draw = list(kinds)
        if old is None or old.grammar != rules.name:
            draw += [k for k in codes_to_draw(rules) if k not in draw]
        space = pin_space(register)
        for kind in draw:
            if kind not in codes_to_draw(rules):
                raise CodesError(say("codes.no-code-kind", {"grammar": rules.name, "kind": kind}))
            changes.append(ControllerCode(found.id, kind, draw_code(rules, kind, space)))
        if master_card is not None:
            code = _programming_card(register, rules, master_card)
            changes.append(ControllerCode(found.id, "master card", code))
        if changes:
            text = reason(why, say("codes.why-controller", {"name": found.id}))
            wanted = wanted_sheets(job, store.register, changes)
            save(store, changes, text)
            click.echo(say("codes.controller", {"name": found.id, "grammar": rules.name}))
        if new_unit:
            click.echo(say("codes.new-unit", {"name": found.id}))
        if changes:
            tell_each(wanted)
        else:
            click.echo(say("codes.nothing"))
        if show_codes:
            for (at, kind), code in sorted(store.register.codes.items()):
                if at == found.id:
                    click.echo(f"  {kind}: {code.reveal()}")
        elif draw:
            click.echo(say("codes.drawn", {"kinds": ", ".join(draw)}))


def _programming_card(register: Register, grammar: Grammar, printed: str) -> Secret:
    """The number that the controller counts a card by. Raises CodesError for no number, and for a
    card that it could not tell from somebody's."""
    from latchwork.codes.cards.received import read_received
    from latchwork.codes.errors import CodesError
    from latchwork.codes.keypad.wanted import card_number
    from latchwork.codes.secret import Secret
    from latchwork.words import say

    number = card_number(read_received(printed).value, grammar)
    taken = {c.value: say("codes.lost-once") for c in register.lost_cards.values()}
    taken |= {c.value: register.people[c.person].name for c in register.cards.values()}
    for value, name in taken.items():
        if card_number(value, grammar) == number:
            raise CodesError(say("codes.card-taken", {"card": printed, "name": name}))
    return Secret(number)


def _list(site: SiteView, register: Register) -> None:
    from latchwork.cli.codes.open_sheets import open_numbers
    from latchwork.codes.keypad.job_sheet import other_grammar
    from latchwork.codes.keypad.unit import unit_before
    from latchwork.words import say

    known = {c.id: _grammar_known(register, c, site.folder) for c in site.controllers.values()}
    wanted = _wanted(register, site, {c: g for c, g in known.items() if g is not None})
    for found in site.controllers.values():
        setup = register.controllers.get(found.id)
        doors = ", ".join(map(site.called, found.doors))
        grammar = setup.grammar if setup else found.grammar or say("codes.no-grammar")
        keyed = say("codes.confirmed" if found.id in register.programmed else "codes.never-keyed")
        other = other_grammar(register, found)
        more = f" · {say('codes.job-grammar', {'grammar': other})}" if other else ""
        if before := unit_before(register, found):
            more += f" · {say('codes.other-unit', {'before': before, 'unit': found.unit})}"
        if found.id in wanted:
            more += f" · {say('codes.sheet-wanted')}"
        if numbers := open_numbers(register, found.id, known[found.id]):
            more += f" · {say('codes.sheets-open', {'numbers': numbers})}"
        click.echo(f"{found.id} · {doors} · {grammar} · {keyed}{more}")
    # A door called otherwise in the job file has a controller of another name, and its sheet would
    # begin from the factory.
    ever = register.controllers.keys() | register.programmed.keys()
    for name in sorted(ever - site.controllers.keys()):
        click.echo(f"{name} · {say('codes.not-in-job')}")


def _wanted(register: Register, site: SiteView, grammars: Mapping[str, Grammar]) -> tuple[str, ...]:
    """The controllers that want a sheet today: a first day that came asks for one, too."""
    from latchwork.codes.keypad.job_sheet import wanting
    from latchwork.codes.register.places import settle

    day = today(site)
    settled = register.with_changes(settle(register, site, grammars, day))
    return wanting(settled, site, grammars, day)


def _grammar_known(
    register: Register, controller: ControllerOnSite, folder: Path | None
) -> Grammar | None:
    """How a controller is programmed, None where nobody said, or nobody can read it: the list shows
    it all the same."""
    from latchwork.codes.errors import CodesError
    from latchwork.codes.keypad.job_sheet import grammar_of

    try:
        return grammar_of(register, controller, folder)
    except CodesError:
        return None


@click.command()
@job_argument
@store_options
def odds(job: Path, holder: str | None, passphrase_fd: int | None) -> None:
    """The chance that a stranger gets in by guessing, at every controller.

    Within one lock-out window, and over an unattended night of 12 hours, by the controller's own
    lock-out rule; and how many more people the PINs can carry. Exits 1 where a night gives one
    chance in a thousand or better.
    """
    from latchwork.codes.keypad.job_sheet import grammar_of
    from latchwork.codes.keypad.setup import asks_first, lock_out
    from latchwork.codes.keypad.wanted import wanted_content
    from latchwork.codes.register.people import pin_space
    from latchwork.codes.register.places import settle
    from latchwork.codes.site import folder_of
    from latchwork.words import say

    with told():
        register = opened(job, holder, passphrase_fd).register
        site = site_of(job)
        warned = False
        lengths: set[int] = set()
        for found in site.controllers.values():
            if found.id not in register.controllers and not found.grammar:
                click.echo(f"{found.id}: {say('codes.no-grammar')}")
                continue
            grammar = grammar_of(register, found, folder_of(job))
            # Places count as if they were given already: who is to be keyed in can be hit too.
            places = settle(register, site, {found.id: grammar}, today(site))
            register = register.with_changes(places)
            content = wanted_content(register, site, found, grammar, today(site)).content
            asks = asks_first(grammar, content.settings)
            by_length: dict[int, int] = {}
            for user in content.users.values():
                if user.pin:
                    by_length[len(user.pin)] = by_length.get(len(user.pin), 0) + 1
            lengths |= by_length.keys()
            click.echo(f"{found.id} · {say(f'codes.asks.{asks}')}")
            if asks == "none":
                continue
            for digits, people in sorted(by_length.items()):
                rule = lock_out(content.settings)
                warned |= _odds(digits, people if asks == "PIN" else 1, rule, asks)
        space = pin_space(register)
        for digits in sorted(lengths):
            room = space.room(digits)
            facts = {"digits": str(digits), "count": str(room.at_least)}
            click.echo(say("codes.room", facts))
        if warned:
            raise click.exceptions.Exit(1)


def _odds(digits: int, people: int, rule: LockOut, asks: str) -> bool:
    from latchwork.codes.pins.odds import odds as reckon
    from latchwork.codes.pins.odds import proposals
    from latchwork.words import say

    found = reckon(digits, people, rule)
    key = "codes.odds-lockout" if rule.attempts else "codes.odds-never"
    facts = {
        "digits": str(digits),
        "people": str(people),
        "allowed": str(found.allowed),
        "attempts": str(rule.attempts),
        "seconds": f"{rule.seconds:.0f}",
        "window": one_in(found.window),
        "night": one_in(found.night),
        "guesses": str(found.guesses_night),
    }
    click.echo("  " + say(key, facts))
    if not found.warn or asks == "card":
        return False
    click.echo("  " + say("codes.odds-warn"))
    for way in proposals(digits, people, rule):
        facts = {
            "digits": str(way.digits),
            "seconds": f"{way.lock_out_s:.0f}",
            "night": one_in(way.night),
        }
        click.echo("    " + say(f"codes.proposal.{way.kind}", facts))
    return True


@click.command()
@click.argument("file", required=False, type=click.Path(path_type=Path))
def grammars(file: Path | None) -> None:
    """List the programming grammars that come with Latchwork, or check one you wrote.

    They are invented, each unlike any product: patterns to write your own from a manual.
    """
    from latchwork.codes.errors import CodesError, file_problem
    from latchwork.codes.keypad.read import read_grammar
    from latchwork.codes.keypad.shelf import shipped_grammars
    from latchwork.tree import MAX_BYTES, read_whole
    from latchwork.words import say

    with told():
        if file is None:
            for found in shipped_grammars().values():
                click.echo(f"{found.name} · {found.what}")
            return
        try:
            data = read_whole(file, MAX_BYTES + 1)
        except OSError as error:
            raise CodesError(
                file_problem(file.name, 0, "", error.strerror or "an error", "a file to read")
            ) from None
        checked = read_grammar(data, file.name)
        facts = {
            "name": checked.name,
            "steps": str(len(checked.edges)),
            "states": str(len(checked.states)),
        }
        click.echo(say("codes.grammar-good", facts))
