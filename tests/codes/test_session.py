"""Staying open on one machine for a working day."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from latchwork.codes.errors import CodesError
from latchwork.codes.register import changes as c
from latchwork.codes.store.sealed import NAME, open_with_key
from latchwork.codes.store.session import close, keep_open, kept_key, remember
from latchwork.codes.store.witness import NAME as SEEN
from tests.codes.stores import NOW, new_store


class Ring:
    """A key ring in memory."""

    def __init__(self) -> None:
        self.held: dict[tuple[str, str], str] = {}

    def get_password(self, service_name: str, username: str) -> str | None:
        return self.held.get((service_name, username))

    def set_password(self, service_name: str, username: str, password: str) -> None:
        self.held[service_name, username] = password

    def delete_password(self, service_name: str, username: str) -> None:
        del self.held[service_name, username]


def hours(count: float) -> dt.timedelta:
    return dt.timedelta(hours=count)


def test_nobody_types_a_passphrase_on_a_ladder(tmp_path: Path) -> None:
    ring, store = Ring(), new_store(tmp_path)
    assert keep_open(ring, store, NOW) == NOW + hours(10)
    kept = kept_key(ring, store.identity, NOW + hours(9.9))
    assert kept is not None
    assert open_with_key(tmp_path, *kept).holder == "H1"


def test_the_stay_ends_and_is_forgotten(tmp_path: Path) -> None:
    ring, store = Ring(), new_store(tmp_path)
    keep_open(ring, store, NOW)
    assert kept_key(ring, store.identity, NOW + hours(10)) is None
    assert ring.held == {}


def test_a_clock_set_back_ends_the_stay(tmp_path: Path) -> None:
    ring, store = Ring(), new_store(tmp_path)
    keep_open(ring, store, NOW)
    assert kept_key(ring, store.identity, NOW - hours(1)) is None
    assert ring.held == {}


@pytest.mark.parametrize("count", [0, -1, 24.1])
def test_no_stay_is_longer_than_a_day(tmp_path: Path, count: float) -> None:
    with pytest.raises(CodesError, match="24 hours"):
        keep_open(Ring(), new_store(tmp_path), NOW, hours(count))


def test_closing_ends_it_at_once(tmp_path: Path) -> None:
    ring, store = Ring(), new_store(tmp_path)
    keep_open(ring, store, NOW)
    assert close(ring, store.identity)
    assert not close(ring, store.identity)
    assert kept_key(ring, store.identity, NOW) is None


def test_the_machine_remembers_the_newest_state(tmp_path: Path) -> None:
    """The whole folder put back, its own memory included, is noticed on this machine."""
    ring, store = Ring(), new_store(tmp_path)
    old = {name: (tmp_path / name).read_bytes() for name in (NAME, SEEN)}
    keep_open(ring, store, NOW)
    store.commit([c.Holiday(NOW.date())], "why", NOW)
    remember(ring, store)
    for name, data in old.items():
        (tmp_path / name).write_bytes(data)
    kept = kept_key(ring, store.identity, NOW)
    assert kept is not None
    with pytest.raises(CodesError, match="this machine has seen number 2"):
        open_with_key(tmp_path, *kept)


def test_remembering_does_not_begin_or_prolong_a_stay(tmp_path: Path) -> None:
    ring, store = Ring(), new_store(tmp_path)
    remember(ring, store)
    assert ring.held == {}
    until = keep_open(ring, store, NOW)
    remember(ring, store)
    assert kept_key(ring, store.identity, until) is None


def test_what_is_broken_in_the_ring_is_nothing(tmp_path: Path) -> None:
    ring, store = Ring(), new_store(tmp_path)
    ring.set_password("latchwork codes", store.identity, "{")
    assert kept_key(ring, store.identity, NOW) is None


def test_a_ring_that_refuses_is_said_without_its_words(tmp_path: Path) -> None:
    class Locked(Ring):
        def set_password(self, service_name: str, username: str, password: str) -> None:
            raise RuntimeError(password)

    with pytest.raises(CodesError) as caught:
        keep_open(Locked(), new_store(tmp_path), NOW)
    assert str(caught.value) == "the machine's key ring refused (RuntimeError)"
