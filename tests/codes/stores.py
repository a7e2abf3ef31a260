"""Stores for tests: with a passphrase stretched by next to nothing, so that tests are quick."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from unittest import mock

from latchwork.codes.secret import Secret
from latchwork.codes.store import holders
from latchwork.codes.store.sealed import Store, create_store

NOW = dt.datetime(2026, 3, 2, 9, 0, tzinfo=dt.UTC)
OFFICE = Secret("heron ladder quince")
FITTER = Secret("copper thistle barge")


@contextmanager
def quick_stretch() -> Iterator[None]:
    """Argon2id with its least memory: the rest of the store is as always."""
    real = holders.seal_holder

    def seal(
        key: holders.HolderKey, name: str, passphrase: Secret, store: str
    ) -> holders.HolderEntry:
        quick = holders.Stretch(salt=b"s" * 16, iterations=1, lanes=1, memory_kib=8)
        return real(key, name, passphrase, store, quick)

    with mock.patch.object(holders, "seal_holder", seal):
        yield


def new_store(folder: Path) -> Store:
    """An empty store held by the office."""
    with quick_stretch():
        return create_store(folder, "Office", OFFICE, NOW)
