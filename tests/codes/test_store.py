"""The sealed store: who opens it, and what is said when it cannot be opened."""

from __future__ import annotations

import hashlib
import logging
import os
import pickle
import shutil
import sys
from collections.abc import Callable
from pathlib import Path

import msgspec
import pytest

from latchwork.codes.cards.describe import layouts_for
from latchwork.codes.content import Content, User
from latchwork.codes.errors import CodesError
from latchwork.codes.imports.table import read_table
from latchwork.codes.keypad.shelf import grammar_for
from latchwork.codes.register import changes as c
from latchwork.codes.secret import Secret
from latchwork.codes.store import container, holders, witness
from latchwork.codes.store.sealed import (
    NAME,
    Store,
    create_store,
    open_store,
    open_with_key,
)
from latchwork.folder import Disk
from tests.codes.stores import FITTER, NOW, OFFICE, new_store, quick_stretch

PIN = "730264"


def add_person(store: Store, identity: str = "P1", pin: str = PIN) -> None:
    store.commit(
        [c.Person(identity, "Mara Quill"), c.PinGiven(identity, Secret(pin))], "moved in", NOW
    )


def test_what_was_saved_is_opened_with_reason_and_time(tmp_path: Path) -> None:
    store = new_store(tmp_path)
    add_person(store)
    again = open_store(tmp_path, OFFICE)
    assert again.register.pins == {"P1": Secret(PIN)}
    assert [e.why for e in again.entries] == ["store begun", "moved in"]
    assert again.entries[1].at == NOW
    assert again.entries[1].by == "H1"


def test_the_file_holds_nothing_readable(tmp_path: Path) -> None:
    store = new_store(tmp_path)
    add_person(store)
    data = (tmp_path / NAME).read_bytes()
    assert PIN.encode() not in data
    assert b"Mara" not in data


def test_a_new_file_is_for_its_owner_only(tmp_path: Path) -> None:
    new_store(tmp_path)
    assert (tmp_path / NAME).stat().st_mode & 0o077 == 0


def test_a_wrong_passphrase_opens_nothing(tmp_path: Path) -> None:
    new_store(tmp_path)
    with pytest.raises(CodesError, match="wrong passphrase: it is not the one of Office"):
        open_store(tmp_path, Secret("heron ladder quinces"))


def test_composed_and_decomposed_letters_are_one_passphrase(tmp_path: Path) -> None:
    with quick_stretch():
        create_store(tmp_path, "Office", Secret("\u00e9t\u00e9 au moulin"), NOW)
    assert open_store(tmp_path, Secret("e\u0301te\u0301 au moulin")).holder == "H1"


def test_every_cut_is_called_torn(tmp_path: Path) -> None:
    add_person(new_store(tmp_path))
    whole = (tmp_path / NAME).read_bytes()
    for size in range(len(whole)):
        with pytest.raises(CodesError, match="torn"):
            container.take_apart(whole[:size])


def test_every_changed_byte_is_noticed(tmp_path: Path) -> None:
    add_person(new_store(tmp_path))
    path = tmp_path / NAME
    whole = path.read_bytes()
    for at in range(len(whole)):
        changed = bytearray(whole)
        changed[at] ^= 0x41
        path.write_bytes(changed)
        with pytest.raises(CodesError, match=r"Nothing was opened|newer Latchwork"):
            open_store(tmp_path, OFFICE)


def test_a_changed_byte_with_its_check_sum_put_right_is_noticed(tmp_path: Path) -> None:
    store = new_store(tmp_path)
    add_person(store)
    (tmp_path / witness.NAME).unlink()
    path = tmp_path / NAME
    whole = path.read_bytes()
    for at in range(len(container.MAGIC), len(whole) - 32, 3):
        changed = bytearray(whole[:-32])
        changed[at] ^= 1
        path.write_bytes(bytes(changed) + hashlib.sha256(changed).digest())
        with pytest.raises(CodesError, match=r"Nothing was opened|make no sense"):
            open_with_key(tmp_path, store.key())


def test_an_older_file_put_back_is_noticed(tmp_path: Path) -> None:
    store = new_store(tmp_path)
    old = (tmp_path / NAME).read_bytes()
    add_person(store)
    (tmp_path / NAME).write_bytes(old)
    with pytest.raises(CodesError, match="older file put back: it is number 1, and this folder"):
        open_store(tmp_path, OFFICE)
    (tmp_path / witness.NAME).unlink()
    assert open_store(tmp_path, OFFICE).generation == 1
    with pytest.raises(CodesError, match="this machine has seen number 2"):
        open_with_key(tmp_path, store.key(), known_generation=2)


def test_another_store_put_in_place_is_noticed(tmp_path: Path) -> None:
    new_store(tmp_path)
    (tmp_path / "other").mkdir()
    new_store(tmp_path / "other")
    shutil.copy(tmp_path / "other" / NAME, tmp_path / NAME)
    with pytest.raises(CodesError, match="another store"):
        open_store(tmp_path, OFFICE)


def test_two_states_of_one_number_are_noticed(tmp_path: Path) -> None:
    store = new_store(tmp_path)
    other = tmp_path / "other"
    other.mkdir()
    shutil.copy(tmp_path / NAME, other / NAME)
    add_person(open_store(other, OFFICE), "P2", "518407")
    add_person(store)
    shutil.copy(other / NAME, tmp_path / NAME)
    with pytest.raises(CodesError, match="two people saved at once"):
        open_store(tmp_path, OFFICE)
    # One save more there, and its number is the newer one; what was saved here is not in it.
    add_person(open_store(other, OFFICE), "P3", "951736")
    shutil.copy(other / NAME, tmp_path / NAME)
    for _ in range(2):
        with pytest.raises(CodesError, match="does not go on from what was last saved here"):
            open_store(tmp_path, OFFICE)
    (tmp_path / witness.NAME).unlink()
    assert open_store(tmp_path, OFFICE).generation == 3


def test_a_memory_that_is_a_link_to_nothing_is_refused(tmp_path: Path) -> None:
    """The store opened, saved, and remembered nothing, so that older files passed for good."""
    new_store(tmp_path)
    memory = tmp_path / witness.NAME
    memory.unlink()
    memory.symlink_to(tmp_path / "away" / "seen")
    with pytest.raises(CodesError, match="a link that leads nowhere"):
        open_store(tmp_path, OFFICE)


def test_a_newer_file_that_goes_on_from_here_is_taken(tmp_path: Path) -> None:
    """From another machine; and where this folder's memory is of before it knew the log."""
    new_store(tmp_path)
    other = tmp_path / "other"
    shutil.copytree(tmp_path, other)
    add_person(open_store(other, OFFICE))
    shutil.copy(other / NAME, tmp_path / NAME)
    assert open_store(tmp_path, OFFICE).generation == 2
    seen = witness.read_witness(tmp_path)
    assert seen == witness.read_witness(other)
    assert seen is not None
    witness.write_witness(tmp_path, msgspec.structs.replace(seen, log="", length=0), Disk())
    open_store(tmp_path, OFFICE)
    assert witness.read_witness(tmp_path) == seen


def test_a_folder_without_a_name_is_told_by_its_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Called from inside the folder, as "."."""
    monkeypatch.chdir(tmp_path)
    with pytest.raises(CodesError, match=f"^{tmp_path.name} has no store"):
        open_store(Path(), OFFICE)


def test_a_missing_file_is_not_begun_anew(tmp_path: Path) -> None:
    with pytest.raises(CodesError, match="no store of codes yet"):
        open_store(tmp_path, OFFICE)
    new_store(tmp_path)
    with pytest.raises(CodesError, match="has a store of codes already"):
        new_store(tmp_path)
    (tmp_path / NAME).unlink()
    with pytest.raises(CodesError, match="is missing, though this folder had one"):
        open_store(tmp_path, OFFICE)
    with pytest.raises(CodesError, match="had a store of codes that is missing"):
        new_store(tmp_path)


@pytest.mark.skipif(sys.platform == "win32", reason="no pipe has a name there")
@pytest.mark.parametrize("name", [NAME, witness.NAME])
def test_a_pipe_in_a_files_place_is_told_and_not_waited_at(tmp_path: Path, name: str) -> None:
    new_store(tmp_path)
    (tmp_path / name).unlink()
    os.mkfifo(tmp_path / name)
    with pytest.raises(CodesError, match=f"{name} could not be read: a pipe. Nothing was opened"):
        open_store(tmp_path, OFFICE)


@pytest.mark.skipif(sys.platform == "win32", reason="no pipe has a name there")
@pytest.mark.parametrize("read", [read_table, layouts_for, lambda p: grammar_for(p, "menus")])
def test_lists_layouts_and_grammars_are_read_from_files_alone(
    tmp_path: Path, read: Callable[[Path], object]
) -> None:
    (tmp_path / "grammars").mkdir()
    at = {read_table: "list.csv", layouts_for: "layouts.yaml"}.get(read, "grammars/a.yaml")
    os.mkfifo(tmp_path / at)
    with pytest.raises(CodesError, match="found a pipe"):
        read(tmp_path / at if read is read_table else tmp_path)


def test_a_second_program_never_overwrites(tmp_path: Path) -> None:
    first = new_store(tmp_path)
    second = open_store(tmp_path, OFFICE)
    add_person(first)
    with pytest.raises(CodesError, match="somebody else saved"):
        add_person(second, "P2", "915372")
    assert list(open_store(tmp_path, OFFICE).register.people) == ["P1"]


def test_a_second_holder_opens_with_their_own_passphrase(tmp_path: Path) -> None:
    store = new_store(tmp_path)
    add_person(store)
    with quick_stretch():
        store.add_holder("Fitter", FITTER, "keys in controllers", NOW)
    theirs = open_store(tmp_path, FITTER)
    assert theirs.holder_name == "Fitter"
    assert theirs.register.pins == {"P1": Secret(PIN)}
    with pytest.raises(CodesError, match="is no holder of this store; its holders are Office, Fi"):
        open_store(tmp_path, OFFICE, "Client")
    assert open_store(tmp_path, OFFICE, "office").holder == "H1"
    with pytest.raises(CodesError, match="there is a holder called fitter already"):
        store.add_holder("fitter", FITTER, "again", NOW)


def test_a_withdrawn_holder_opens_nothing_that_is_left(tmp_path: Path) -> None:
    store = new_store(tmp_path)
    with quick_stretch():
        fitter = store.add_holder("Fitter", FITTER, "keys in controllers", NOW)
    theirs = open_store(tmp_path, FITTER).key()
    copies = [tmp_path / "codes (copy).sealed", tmp_path / "old" / "2026" / "c.bak"]
    copies[1].parent.mkdir(parents=True)
    for copy in copies:
        shutil.copy(tmp_path / NAME, copy)
    torn = tmp_path / "torn"
    torn.write_bytes((tmp_path / NAME).read_bytes()[:-50])
    part = tmp_path / f"{NAME}.0123abcd.part"
    shutil.copy(tmp_path / NAME, part)
    other = tmp_path / "unrelated.txt"
    other.write_text("stays")
    assert set(store.withdraw_holder(fitter, "left the firm", NOW)) == {*copies, torn}
    assert other.exists()
    assert not part.exists()
    with pytest.raises(CodesError, match="no longer open this store"):
        open_with_key(tmp_path, theirs)
    # Whatever file is left, nothing in it yields to the withdrawn holder's keys.
    for path in tmp_path.rglob("*"):
        if path.is_file() and path.read_bytes().startswith(container.MAGIC):
            head = container.take_apart(path.read_bytes()).head
            for entry in head.holders:
                assert holders.unwrap_data_key(entry, theirs, head.store, head.epoch) is None
    assert open_store(tmp_path, OFFICE).register.holders.keys() == {"H1"}


def test_a_withdrawal_cut_off_before_its_clearing_is_finished_on_opening(tmp_path: Path) -> None:
    store = new_store(tmp_path)
    with quick_stretch():
        fitter = store.add_holder("Fitter", FITTER, "keys in controllers", NOW)
    copy = tmp_path / "copy"
    shutil.copy(tmp_path / NAME, copy)
    seen = (tmp_path / witness.NAME).read_bytes()
    store.withdraw_holder(fitter, "left", NOW)
    copy.write_bytes(b"")
    (tmp_path / witness.NAME).write_bytes(seen)  # as if killed right after the store's own save
    old = store.folder / "copy"
    old.write_bytes(_earlier(tmp_path))
    open_store(tmp_path, OFFICE)
    assert not old.exists()


def _earlier(folder: Path) -> bytes:
    """A file of this store under its first data key, made from the present one's head."""
    sealed = container.take_apart((folder / NAME).read_bytes())
    head = msgspec.structs.replace(sealed.head, epoch=1, generation=1)
    return container.put_together(head, b"", b"k" * 32, b"s" * 32)


def test_the_last_holder_stays(tmp_path: Path) -> None:
    with pytest.raises(CodesError, match="last holder"):
        new_store(tmp_path).withdraw_holder("H1", "why", NOW)


def test_a_changed_passphrase_shuts_out_the_old_one(tmp_path: Path) -> None:
    store = new_store(tmp_path)
    shutil.copy(tmp_path / NAME, tmp_path / "copy")
    with quick_stretch():
        assert store.change_passphrase(FITTER, "was seen", NOW) == (tmp_path / "copy",)
    with pytest.raises(CodesError, match="wrong passphrase"):
        open_store(tmp_path, OFFICE)
    assert open_store(tmp_path, FITTER).holder == "H1"


def test_a_holder_slipped_into_the_head_is_noticed(tmp_path: Path) -> None:
    """Someone who can open the store with code of their own still cannot add a silent reader."""
    store = new_store(tmp_path)
    with quick_stretch():
        store.add_holder("Fitter", FITTER, "keys in controllers", NOW)
    sealed = container.take_apart((tmp_path / NAME).read_bytes())
    key = open_store(tmp_path, FITTER).key()
    mine = sealed.head.holders[1]
    data_key = holders.unwrap_data_key(mine, key, sealed.head.store, sealed.head.epoch)
    assert data_key is not None
    payload = container.open_body(sealed, data_key, key.store_secret)
    assert payload is not None
    double = msgspec.structs.replace(mine, id="H9")
    head = msgspec.structs.replace(sealed.head, holders=(*sealed.head.holders, double))
    forged = container.put_together(head, payload, data_key, key.store_secret)
    (tmp_path / NAME).write_bytes(forged)
    (tmp_path / witness.NAME).unlink()
    with pytest.raises(CodesError, match="not a holder"):
        open_store(tmp_path, OFFICE, "Office")


def test_a_store_forged_from_public_keys_alone_is_noticed(tmp_path: Path) -> None:
    new_store(tmp_path)
    sealed = container.take_apart((tmp_path / NAME).read_bytes())
    data_key = b"d" * 32
    entry = holders.wrap_data_key(sealed.head.holders[0], data_key, sealed.head.store, 7)
    head = msgspec.structs.replace(sealed.head, epoch=7, generation=9, holders=(entry,))
    (tmp_path / NAME).write_bytes(container.put_together(head, b"", data_key, b"?" * 32))
    with pytest.raises(CodesError, match="changed by somebody who is not a holder"):
        open_store(tmp_path, OFFICE)


def test_the_parameters_stored_are_the_second_recommended_option(tmp_path: Path) -> None:
    """RFC 9106 section 4: t=3, p=4, m=2^16 KiB (64 MiB), 128-bit salt, 256-bit tag."""
    create_store(tmp_path, "Office", OFFICE, NOW)
    stretch = container.take_apart((tmp_path / NAME).read_bytes()).head.holders[0].stretch
    assert (stretch.iterations, stretch.lanes, stretch.memory_kib) == (3, 4, 2**16)
    assert len(stretch.salt) == 16
    assert holders.KEY_BYTES == 32
    assert open_store(tmp_path, OFFICE).holder == "H1"


@pytest.mark.parametrize(
    "stretch",
    [
        holders.Stretch(b"s" * 16, memory_kib=2**30),
        holders.Stretch(b"s" * 16, iterations=10**9),
        holders.Stretch(b"s" * 16, lanes=0),
        holders.Stretch(b"", method="argon2id 1.3"),
        holders.Stretch(b"s" * 16, method="plain"),
    ],
)
def test_figures_that_would_cost_minutes_are_refused(stretch: holders.Stretch) -> None:
    with pytest.raises(CodesError, match="make no sense"):
        holders.stretch_passphrase(OFFICE, stretch)


def test_short_passphrases_and_empty_reasons_are_refused(tmp_path: Path) -> None:
    with pytest.raises(CodesError, match="at least 10 characters"):
        create_store(tmp_path, "Office", Secret("short"), NOW)
    assert not (tmp_path / NAME).exists()
    with pytest.raises(CodesError, match="needs its reason"):
        new_store(tmp_path).commit([], "  ", NOW)


def test_a_folder_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    class Full(Disk):
        def force(self, handle: int) -> None:
            raise OSError(28, "No space left on device")

    store = new_store(tmp_path)
    before = (tmp_path / NAME).read_bytes()
    store._disk = Full()
    with pytest.raises(CodesError, match="could not be written: No space left") as told:
        add_person(store)
    assert str(tmp_path / NAME) in str(told.value), "which file"
    assert "Nothing was saved" in str(told.value)
    assert (tmp_path / NAME).read_bytes() == before
    assert store.register.people == {}
    assert not list(tmp_path.glob("*.part"))


def test_where_the_lock_has_no_room_its_file_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a disk that is quite full the first thing to be written is who holds the lock."""

    def full(handle: int, holder: object) -> None:
        raise OSError(28, "No space left on device")

    store = new_store(tmp_path)
    monkeypatch.setattr("latchwork.folder.lock._write", full)
    with pytest.raises(CodesError, match=r"latchwork\.lock could not be written: No space left"):
        add_person(store)


def test_copies_that_cannot_be_removed_now_are_told_after_a_saved_change(tmp_path: Path) -> None:
    class NoSecond(Disk):
        """Room for the change, none for the note that earlier copies are gone."""

        def __init__(self) -> None:
            self.seen = 0

        def create(self, path: Path, mode: int) -> int:
            self.seen += path.name.startswith("codes.seen")
            if self.seen == 2:
                raise OSError(28, "No space left on device")
            return super().create(path, mode)

    store = new_store(tmp_path)
    copy = tmp_path / "copy of codes.sealed"
    copy.write_bytes((tmp_path / NAME).read_bytes())
    store._disk = NoSecond()
    with quick_stretch(), pytest.raises(CodesError, match=r"is saved .*codes\.seen: No space"):
        store.change_passphrase(FITTER, "new", NOW)
    assert open_store(tmp_path, FITTER).generation == store.generation
    assert not copy.exists()


def test_what_is_saved_is_not_told_to_have_failed(tmp_path: Path) -> None:
    class FullAfterwards(Disk):
        """Room for codes.sealed, none for codes.seen."""

        def create(self, path: Path, mode: int) -> int:
            if path.name.startswith("codes.seen"):
                raise OSError(28, "No space left on device")
            return super().create(path, mode)

    store = new_store(tmp_path)
    store._disk = FullAfterwards()
    add_person(store)
    assert list(store.register.people) == ["P1"]
    again = open_with_key(tmp_path, store.key())
    assert list(again.register.people) == ["P1"], "told to have failed, it would be done twice"
    assert b'"generation":2' in (tmp_path / "codes.seen").read_bytes(), "caught up"


def test_secrets_show_nowhere(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.DEBUG)
    store = new_store(tmp_path)
    add_person(store)
    content = Content(users={1: User(pin=PIN)}, codes={"m": PIN})
    store.commit(
        [c.Programmed("C1", content), c.ControllerCode("C1", "installer", Secret(PIN))], "x", NOW
    )
    shown = [repr(store), str(store), repr(store.register), repr(store.entries), repr(store.key())]
    shown += [repr(store.register.programmed), str(store.register.pins["P1"]), caplog.text]
    shown += [f"{store.register.pins['P1']}", f"{store.register.pins['P1']:>9}"]
    for text in shown:
        assert PIN not in text
    assert str(store.key().private) not in "".join(shown)
    with pytest.raises(TypeError):
        pickle.dumps(store.register.pins)
