"""What verbs about codes share: their options, opening the store, giving a card, telling what is
to be keyed."""

from __future__ import annotations

import datetime as dt
import os
import sys
import traceback
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from latchwork.cli.problems import UNUSABLE, unusable_told

if TYPE_CHECKING:
    from latchwork.codes.access.touch import Touch
    from latchwork.codes.keypad.grammar import Grammar
    from latchwork.codes.register.changes import Change
    from latchwork.codes.register.people import Draft
    from latchwork.codes.register.register import Register
    from latchwork.codes.secret import Secret
    from latchwork.codes.site import SiteView
    from latchwork.codes.store.sealed import Store

PASSPHRASE = "LATCHWORK_PASSPHRASE"
NEW_PASSPHRASE = "LATCHWORK_NEW_PASSPHRASE"
_LONGEST = 1024
CLOCKS_DIFFER = dt.timedelta(minutes=10)
"""What the clocks of two machines may be apart. Common practice, no source."""

F = TypeVar("F", bound=Callable[..., Any])


@contextmanager
def told() -> Iterator[None]:
    """Turn what cannot be done into messages and exit code 2.

    An unexpected error is passed on by its kind and place alone: its own text could hold a code.
    """
    from latchwork.cli.page import printable
    from latchwork.codes.errors import CodesError

    try:
        with unusable_told():
            yield
    except CodesError as error:
        for problem in error.problems:
            click.echo(printable(str(problem)), err=True)
        raise click.exceptions.Exit(UNUSABLE) from None
    except (click.ClickException, click.exceptions.Exit, click.Abort, BrokenPipeError):
        raise
    except Exception as error:
        last = traceback.extract_tb(error.__traceback__)[-1]
        name = Path(last.filename).name
        raise RuntimeError(f"{type(error).__name__} in {name}:{last.lineno}") from None


def job_argument(command: F) -> F:
    """JOB: the folder or its job file."""
    return click.argument("job", type=click.Path(path_type=Path))(command)


def store_options(command: F) -> F:
    """Which holder opens, and where the passphrase comes from."""
    command = click.option("--as", "holder", metavar="HOLDER", help="Open as this holder.")(command)
    return click.option(
        "--passphrase-fd",
        "passphrase_fd",
        type=int,
        metavar="N",
        help="Read the passphrase from file descriptor N.",
    )(command)


def card_options(command: F) -> F:
    """How the card that is given reads."""
    command = click.option(
        "--printing", default="", help='How the card is printed, such as "10 digits".'
    )(command)
    command = click.option(
        "--facility", type=int, help="The card's facility code where it is not printed."
    )(command)
    return click.option(
        "--layout", default="26-bit", show_default=True, help="How the card is laid out."
    )(command)


def why_option(command: F) -> F:
    """The reason that is kept with a change."""
    return click.option("--why", metavar="REASON", help="The reason, kept with the change.")(
        command
    )


def reason(given: str | None, default: str = "") -> str:
    """The reason given, a verb's own, or one that is asked for."""
    from latchwork.words import say

    if given:
        return given
    if default:
        return default
    if not sys.stdin.isatty():
        raise click.UsageError(say("codes.why-missing"))
    return str(click.prompt(say("codes.why")))


def passphrase_from(fd: int | None, variable: str, ask: str, confirm: bool = False) -> Secret:
    """A passphrase from a file descriptor, the environment or a prompt, in this order."""
    from latchwork.codes.errors import CodesError
    from latchwork.codes.secret import Secret
    from latchwork.words import say

    if fd is not None:
        try:
            return Secret(_line(fd).decode().rstrip("\r\n"))
        except (OSError, UnicodeDecodeError):
            raise CodesError(say("codes.fd", {"fd": str(fd)})) from None
    # Taken out, so that no program started from here inherits it.
    found = os.environ.pop(variable, None)
    if found is not None:
        return Secret(found)
    if not sys.stdin.isatty():
        raise CodesError(say("codes.no-passphrase", {"variable": variable}))
    return Secret(click.prompt(ask, hide_input=True, confirmation_prompt=confirm, err=True))


def _line(fd: int) -> bytes:
    """What a descriptor gives up to its end or the end of a line: a pipe may give it in pieces, and
    a store begun with a piece of a passphrase would open to nobody."""
    data = b""
    while len(data) <= _LONGEST and not data.endswith(b"\n"):
        piece = os.read(fd, _LONGEST + 1 - len(data))
        if not piece:
            break
        data += piece
    if len(data) > _LONGEST:
        raise OSError("longer than a passphrase")
    return data


def now() -> dt.datetime:
    """This moment, with its zone."""
    return dt.datetime.now(dt.UTC)


def opened(job: Path, holder: str | None, fd: int | None) -> Store:
    """The job's store: by passphrase where one is given, by the key ring, else by asking."""
    from latchwork.codes.site import folder_of
    from latchwork.codes.store.sealed import open_store, open_with_key, store_identity
    from latchwork.words import say

    folder = folder_of(job)
    identity = store_identity(folder)
    if fd is None and PASSPHRASE not in os.environ and holder is None:
        kept = _kept(identity)
        if kept is not None:
            return _by_the_clock(open_with_key(folder, *kept))
    secret = passphrase_from(fd, PASSPHRASE, say("codes.passphrase"))
    return _by_the_clock(open_store(folder, secret, holder))


def _by_the_clock(store: Store) -> Store:
    """Warns where this machine's clock stands before the last entry: last days, hours and answers
    about the past go by it."""
    from latchwork.words import say

    here, last = now(), store.entries[-1].at
    if here < last - CLOCKS_DIFFER:
        facts = {"now": f"{here:%Y-%m-%d %H:%M}", "last": f"{last:%Y-%m-%d %H:%M}"}
        click.echo(say("codes.clock-behind", facts), err=True)
    return store


def _kept(identity: str) -> Any:
    from latchwork.codes.errors import CodesError
    from latchwork.codes.store.session import kept_key, system_ring

    try:
        return kept_key(system_ring(), identity, now())
    except CodesError:
        return None


def save(store: Store, changes: Sequence[Change], why: str) -> None:
    """Commits, and lets the key ring remember the newest state where the store is kept open."""
    from latchwork.codes.errors import CodesError
    from latchwork.codes.store.session import remember, system_ring

    store.commit(changes, why, now())
    try:
        remember(system_ring(), store)
    except CodesError:
        return


def site_of(job: Path) -> SiteView:
    """The site's doors, controllers and time zone; names as they are shown, whatever is in them."""
    from latchwork.cli.page import printable
    from latchwork.codes.site import read_site

    site = read_site(job)
    return replace(
        site,
        name=printable(site.name),
        doors={door: printable(name) for door, name in site.doors.items()},
        controllers={c.id: replace(c, name=printable(c.name)) for c in site.controllers.values()},
    )


def today(site: SiteView) -> dt.date:
    """The day it is at the site."""
    return now().astimezone(site.zone).date()


def give_card(
    job: Path,
    draft: Draft,
    person: str,
    printed: str,
    layout: str,
    facility: int | None,
    printing: str,
) -> None:
    """Puts a card as printed into the draft. Raises CodesError for one that cannot be given."""
    from latchwork.cli.codes.lists import layout_named
    from latchwork.codes.cards.batch import read_printed

    found = layout_named(job, layout)
    card = read_printed(found, printed, facility, printing)
    draft.give_card(person, found.name, card.value, card.facility, card.number, printed)


def wanted_sheets(job: Path, register: Register, changes: Sequence[Change]) -> list[str]:
    """What to tell once the changes are saved: the controllers that want a sheet then, and for whom
    one is full; nothing before any has a grammar.

    Asked before saving: a job, a grammar or a layout that cannot be read must leave nothing saved.
    """
    from latchwork.codes.keypad.job_sheet import wanting
    from latchwork.words import say

    site, grammars, settled = _settled(job, register, changes)
    told = _full(site, grammars, settled)
    found = wanting(settled, site, grammars, today(site))
    if found:
        told.append(say("codes.wanting", {"controllers": ", ".join(found)}))
    elif grammars:
        told.append(say("codes.none-wanting"))
    return told


def left_out(job: Path, register: Register, changes: Sequence[Change]) -> list[str]:
    """For whom a controller would be full by these changes."""
    return _full(*_settled(job, register, changes))


def _settled(
    job: Path, register: Register, changes: Sequence[Change]
) -> tuple[SiteView, dict[str, Grammar], Register]:
    """The site, its grammars, and the register with the changes and the places they lead to."""
    from latchwork.codes.keypad.job_sheet import grammars_of
    from latchwork.codes.register.places import settle
    from latchwork.codes.site import folder_of

    site = site_of(job)
    register = register.with_changes(changes)
    grammars = grammars_of(register, site, folder_of(job))
    places = settle(register, site, grammars, today(site))
    return site, grammars, register.with_changes(places)


def _full(site: SiteView, grammars: Mapping[str, Grammar], settled: Register) -> list[str]:
    from latchwork.codes.keypad.job_sheet import full_note
    from latchwork.words import say

    return [
        say("codes.full", {"controller": name, "who": ", ".join(n.who), "detail": n.detail})
        for name, grammar in grammars.items()
        for n in full_note(settled, site, name, grammar, today(site))
    ]


def tell_each(lines: Sequence[str]) -> None:
    """Prints lines below what they belong to."""
    for line in lines:
        click.echo("  " + line)


def tell_touches(site: SiteView, touched: tuple[Touch, ...], err: bool = False) -> None:
    """Names the places to be keyed out."""
    from latchwork.words import say

    if not touched:
        click.echo("  " + say("codes.no-touch"), err=err)
    for touch in touched:
        controller = site.controllers.get(touch.controller)
        name = controller.name if controller else touch.controller
        facts = {"controller": touch.controller, "name": name, "place": str(touch.place)}
        key = "codes.touch-unknown" if touch.holds == "unknown" else "codes.touch"
        if controller is None:
            key = "codes.touch-gone"
        click.echo("  " + say(key, {**facts, "holds": touch.holds}), err=err)


def as_facts(facts: object) -> None:
    """Prints facts for programs: one line of JSON."""
    import msgspec

    click.echo(msgspec.json.encode(facts).decode())


def a_day(text: str | None) -> dt.date | None:
    """YYYY-MM-DD, or None for nothing. Raises CodesError."""
    from latchwork.codes.errors import CodesError
    from latchwork.words import say

    if not text:
        return None
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise CodesError(say("codes.no-day", {"text": text[:40]})) from None
