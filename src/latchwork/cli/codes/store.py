"""Verbs about the store itself: beginning it, keeping it open, and who holds it."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import click

from latchwork.cli.codes.common import (
    NEW_PASSPHRASE,
    PASSPHRASE,
    job_argument,
    now,
    opened,
    passphrase_from,
    reason,
    store_options,
    told,
    why_option,
)


@click.command()
@job_argument
@click.option("--holder", default="Office", show_default=True, help="Who holds the store first.")
@click.option("--passphrase-fd", type=int, metavar="N", help="Read it from file descriptor N.")
def new(job: Path, holder: str, passphrase_fd: int | None) -> None:
    """Begin a store of codes in JOB.

    Without the passphrase nobody opens it again, we neither. Write it down and lay it in the
    client's vault; better, add a second holder.
    """
    from latchwork.codes.site import folder_of
    from latchwork.codes.store.sealed import create_store
    from latchwork.words import say

    with told():
        secret = passphrase_from(passphrase_fd, PASSPHRASE, say("codes.new-passphrase"), True)
        create_store(folder_of(job), holder, secret, now())
        click.echo(say("codes.begun", {"holder": holder}))


@click.command("open")
@job_argument
@store_options
@click.option("--hours", type=float, default=10.0, show_default=True, help="At most 24.")
def open_(job: Path, holder: str | None, passphrase_fd: int | None, hours: float) -> None:
    """Keep the store open on this machine for a working day, through its key ring."""
    from latchwork.codes.store.session import keep_open, system_ring
    from latchwork.words import say

    with told():
        ring = system_ring()
        store = opened(job, holder, passphrase_fd)
        until = keep_open(ring, store, now(), dt.timedelta(hours=hours))
        local = until.astimezone().strftime("%Y-%m-%d %H:%M")
        click.echo(say("codes.open-until", {"holder": store.holder_name, "until": local}))


@click.command()
@job_argument
def close(job: Path) -> None:
    """Forget the keys on this machine at once."""
    from latchwork.codes.site import folder_of
    from latchwork.codes.store import session
    from latchwork.codes.store.sealed import store_identity
    from latchwork.words import say

    with told():
        was = session.close(session.system_ring(), store_identity(folder_of(job)))
        click.echo(say("codes.closed" if was else "codes.was-closed"))


@click.command()
@job_argument
@store_options
def holders(job: Path, holder: str | None, passphrase_fd: int | None) -> None:
    """List who can open the store."""
    with told():
        store = opened(job, holder, passphrase_fd)
        for found in store.register.holders.values():
            mine = "  *" if found.id == store.holder else ""
            click.echo(f"{found.id:4} {found.name}{mine}")


@click.command("holder-add")
@job_argument
@click.argument("name")
@store_options
@click.option(
    "--new-passphrase-fd", type=int, metavar="N", help="Read the new holder's from descriptor N."
)
@why_option
def holder_add(
    job: Path,
    name: str,
    holder: str | None,
    passphrase_fd: int | None,
    new_passphrase_fd: int | None,
    why: str | None,
) -> None:
    """Let NAME open the store with a passphrase of their own, typed by themselves."""
    from latchwork.words import say

    with told():
        store = opened(job, holder, passphrase_fd)
        ask = say("codes.passphrase-of", {"name": name})
        secret = passphrase_from(new_passphrase_fd, NEW_PASSPHRASE, ask, True)
        store.add_holder(name, secret, reason(why), now())
        click.echo(say("codes.holder-added", {"name": name}))


@click.command("holder-withdraw")
@job_argument
@click.argument("name")
@store_options
@why_option
def holder_withdraw(
    job: Path, name: str, holder: str | None, passphrase_fd: int | None, why: str | None
) -> None:
    """Take the store from NAME: a new data key, and earlier versions in the folder removed.

    The others' passphrases are not needed. What NAME knew they still know: the verb lists the
    controllers whose codes should be changed, and says how many PINs there are besides.
    """
    from latchwork.codes.errors import CodesError
    from latchwork.words import say

    with told():
        store = opened(job, holder, passphrase_fd)
        found = [
            h
            for h in store.register.holders.values()
            if name == h.id or name.casefold() == h.name.casefold()
        ]
        if not found:
            raise CodesError(say("codes.no-holder", {"name": name}))
        removed = store.withdraw_holder(found[0].id, reason(why), now())
        click.echo(say("codes.withdrawn", {"name": found[0].name}))
        for path in removed:
            click.echo(say("codes.copy-removed", {"path": str(path.relative_to(store.folder))}))
        click.echo(say("codes.copies-elsewhere"))
        controllers = sorted({c for c, _ in store.register.codes})
        if controllers:
            shown = ", ".join(controllers)
            click.echo(say("codes.change-codes", {"name": found[0].name, "controllers": shown}))
        pins = len(store.register.pins)
        if pins:
            click.echo(say("codes.change-pins", {"name": found[0].name, "count": str(pins)}))


@click.command()
@job_argument
@store_options
@click.option("--new-passphrase-fd", type=int, metavar="N", help="Read the new one from N.")
@why_option
def passphrase(
    job: Path,
    holder: str | None,
    passphrase_fd: int | None,
    new_passphrase_fd: int | None,
    why: str | None,
) -> None:
    """Change your own passphrase; copies that the old one opens are removed from the folder."""
    from latchwork.words import say

    with told():
        store = opened(job, holder, passphrase_fd)
        ask = say("codes.passphrase-of", {"name": store.holder_name})
        secret = passphrase_from(new_passphrase_fd, NEW_PASSPHRASE, ask, True)
        for path in store.change_passphrase(secret, reason(why), now()):
            click.echo(say("codes.copy-removed", {"path": str(path.relative_to(store.folder))}))
        click.echo(say("codes.passphrase-changed"))
