"""Staying open on one machine for a working day, through the operating system's key ring.

The key ring holds the opened holder's keys until a moment; the folder holds nothing more. The
record also remembers the newest state seen here, so that an older file is noticed on this machine
even where the whole folder was put back.
"""

from __future__ import annotations

import datetime as dt
from typing import Protocol

import msgspec

from latchwork.codes.errors import CodesError
from latchwork.codes.store.holders import HolderKey
from latchwork.codes.store.sealed import Store

SERVICE = "latchwork codes"
WORKING_DAY = dt.timedelta(hours=10)
"""Common practice, no source."""
LONGEST = dt.timedelta(hours=24)


class Ring(Protocol):
    """What of a key ring is used; ``keyring`` itself, or one made for a test."""

    def get_password(self, service_name: str, username: str) -> str | None:
        """The kept text, or None."""

    def set_password(self, service_name: str, username: str, password: str) -> None:
        """Keeps a text."""

    def delete_password(self, service_name: str, username: str) -> None:
        """Forgets it."""


class _Record(msgspec.Struct, frozen=True):
    holder: str
    private: bytes
    store_secret: bytes
    opened: dt.datetime
    until: dt.datetime
    generation: int

    def __repr__(self) -> str:
        return f"_Record({self.holder!r}, •••)"


def system_ring() -> Ring:
    """The operating system's key ring. Raises CodesError where this machine has none."""
    import keyring
    from keyring.backends import fail, null

    found = keyring.get_keyring()
    if isinstance(found, fail.Keyring | null.Keyring):
        raise CodesError(
            "this machine has no key ring that Latchwork could use: "
            "the passphrase will be asked for each time"
        )
    return found


def keep_open(
    ring: Ring, store: Store, now: dt.datetime, span: dt.timedelta = WORKING_DAY
) -> dt.datetime:
    """Keeps the store open on this machine; returns until when. At most a day."""
    if not dt.timedelta() < span <= LONGEST:
        raise CodesError("a store can stay open for up to 24 hours")
    until = now + span
    _write(ring, store, now, until)
    return until


def remember(ring: Ring, store: Store) -> None:
    """After a save: the newest state seen here. Does nothing where the store is not kept open."""
    record = _read(ring, store.identity)
    if record is not None and record.holder == store.holder:
        _write(ring, store, record.opened, record.until)


def kept_key(ring: Ring, identity: str, now: dt.datetime) -> tuple[HolderKey, int] | None:
    """The kept keys and the newest state seen, or None. What has run out is forgotten here.

    A clock set back before the moment of opening ends the stay too.
    """
    record = _read(ring, identity)
    if record is None:
        return None
    if not record.opened <= now < record.until:
        close(ring, identity)
        return None
    return HolderKey(record.holder, record.private, record.store_secret), record.generation


def close(ring: Ring, identity: str) -> bool:
    """Ends the stay. Returns whether there was one."""
    if _get(ring, identity) is None:
        return False
    try:
        ring.delete_password(SERVICE, identity)
    except Exception as error:  # every key ring has errors of its own
        raise _refused(error) from None
    return True


def _write(ring: Ring, store: Store, opened: dt.datetime, until: dt.datetime) -> None:
    key = store.key()
    record = _Record(key.holder, key.private, key.store_secret, opened, until, store.generation)
    try:
        ring.set_password(SERVICE, store.identity, msgspec.json.encode(record).decode())
    except Exception as error:  # every key ring has errors of its own
        raise _refused(error) from None


def _get(ring: Ring, identity: str) -> str | None:
    try:
        return ring.get_password(SERVICE, identity)
    except Exception as error:  # every key ring has errors of its own
        raise _refused(error) from None


def _read(ring: Ring, identity: str) -> _Record | None:
    text = _get(ring, identity)
    if text is None:
        return None
    try:
        return msgspec.json.decode(text, type=_Record)
    except (msgspec.DecodeError, UnicodeDecodeError):
        return None


def _refused(error: Exception) -> CodesError:
    return CodesError(f"the machine's key ring refused ({type(error).__name__})")
