"""The sealed store of a job folder: opening it, adding to it, and who may open it."""

from __future__ import annotations

import contextlib
import datetime as dt
import secrets
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import msgspec

from latchwork.codes.errors import CodesError
from latchwork.codes.register.changes import (
    Change,
    Entry,
    HolderAdded,
    HolderWithdrawn,
    decode_entries,
    encode_entry,
)
from latchwork.codes.register.people import check_name
from latchwork.codes.register.register import Register, replay
from latchwork.codes.secret import Secret
from latchwork.codes.store import container, holders, witness
from latchwork.codes.store.purge import purge_older
from latchwork.folder import (
    PRIVATE,
    Disk,
    FolderBusy,
    locked,
    remove_leftovers,
    write_atomic,
)
from latchwork.tree import read_whole

NAME = "codes.sealed"
_DISK = Disk()


@dataclass(slots=True, repr=False)
class Store:
    """An opened store. ``register`` is what the log leads to; ``entries`` the log itself."""

    folder: Path
    holder: str
    entries: list[Entry]
    register: Register
    _head: container.Head
    _digest: str
    _payload: bytes
    _data_key: bytes
    _key: holders.HolderKey
    _disk: Disk = _DISK

    def __repr__(self) -> str:
        return f"Store({self._head.store!r}, number {self._head.generation})"

    @property
    def identity(self) -> str:
        """The store's own name: for ever the same, in every copy."""
        return self._head.store

    @property
    def generation(self) -> int:
        """How often it was saved."""
        return self._head.generation

    @property
    def holder_name(self) -> str:
        """The name of the holder who opened it."""
        return self.register.holders[self.holder].name

    def key(self) -> holders.HolderKey:
        """The opened holder's keys, for the machine's key ring."""
        return self._key

    def commit(self, changes: Sequence[Change], why: str, at: dt.datetime) -> Entry:
        """Adds one entry and saves. Raises CodesError, nothing changed, where it cannot be saved.

        ``at`` has a time zone. A reason is asked for always: a register without reasons is a list.
        """
        entry = self._entry(changes, why, at)
        self._save(self._head, self._data_key, entry)
        return entry

    def add_holder(self, name: str, passphrase: Secret, why: str, at: dt.datetime) -> str:
        """Lets another passphrase open the store; returns the new holder's id."""
        name = check_name(name)
        if any(h.name.casefold() == name.casefold() for h in self.register.holders.values()):
            raise CodesError(f"there is a holder called {name} already")
        taken = [int(h.id[1:]) for e in self.entries for h in _added(e)]
        identity = f"H{max(taken) + 1}"
        store = self._head.store
        fresh = holders.HolderKey(identity, holders.new_private_key(), self._key.store_secret)
        made = holders.seal_holder(fresh, name, passphrase, store)
        made = holders.wrap_data_key(made, self._data_key, store, self._head.epoch)
        head = msgspec.structs.replace(self._head, holders=(*self._head.holders, made))
        entry = self._entry([HolderAdded(identity, name, made.public)], why, at)
        self._save(head, self._data_key, entry)
        return identity

    def withdraw_holder(self, identity: str, why: str, at: dt.datetime) -> tuple[Path, ...]:
        """Makes a new data key that this holder cannot open, without the others' passphrases.

        Returns the earlier copies that were found in the folder and removed.
        """
        if identity not in self.register.holders:
            raise CodesError(f"no holder {identity}")
        if len(self.register.holders) == 1:
            raise CodesError("the last holder cannot be withdrawn: nobody could open the store")
        store, epoch = self._head.store, self._head.epoch + 1
        data_key = secrets.token_bytes(holders.KEY_BYTES)
        kept = tuple(
            holders.wrap_data_key(h, data_key, store, epoch)
            for h in self._head.holders
            if h.id != identity
        )
        head = msgspec.structs.replace(self._head, holders=kept, epoch=epoch)
        self._save(head, data_key, self._entry([HolderWithdrawn(identity)], why, at))
        return self._purge_told()

    def change_passphrase(self, passphrase: Secret, why: str, at: dt.datetime) -> tuple[Path, ...]:
        """A new passphrase for the opened holder; copies that the old one opens are removed."""
        store, epoch = self._head.store, self._head.epoch + 1
        data_key = secrets.token_bytes(holders.KEY_BYTES)
        changed = tuple(
            holders.wrap_data_key(
                holders.seal_holder(self._key, h.name, passphrase, store)
                if h.id == self.holder
                else h,
                data_key,
                store,
                epoch,
            )
            for h in self._head.holders
        )
        head = msgspec.structs.replace(self._head, holders=changed, epoch=epoch)
        self._save(head, data_key, self._entry([], why, at))
        return self._purge_told()

    def _entry(self, changes: Sequence[Change], why: str, at: dt.datetime) -> Entry:
        # One line, so that no reason looks like another entry of the log.
        why = " ".join(why.split())
        if not why:
            raise CodesError("every change needs its reason")
        if not why.isprintable():
            raise CodesError(f"not a reason: {why[:60]!r}; expected printable characters")
        return Entry(at.astimezone(dt.UTC), self.holder, why, tuple(changes))

    def _save(self, head: container.Head, data_key: bytes, entry: Entry) -> None:
        payload = self._payload + encode_entry(entry)
        head = msgspec.structs.replace(
            head, generation=self._head.generation + 1, nonce=secrets.token_bytes(12)
        )
        data = container.put_together(head, payload, data_key, self._key.store_secret)
        try:
            with locked(self.folder):
                if _digest_of(self.folder / NAME) != self._digest:
                    raise CodesError(
                        "somebody else saved codes.sealed meanwhile. Nothing of this was saved; "
                        "open it again and repeat the change."
                    )
                remove_leftovers(self.folder, self._disk)
                digest = container.take_apart(data).digest
                try:
                    self._put(head, payload, data, digest)
                except OSError:
                    # Once the new file has its name it is saved; the next opening does the rest.
                    if _digest_of(self.folder / NAME) != digest:
                        raise
        except OSError as error:
            raise _cannot("written", error) from None
        except FolderBusy as busy:
            raise CodesError(f"{busy}. Nothing was saved.") from None
        self._head, self._digest, self._payload, self._data_key = head, digest, payload, data_key
        self.entries.append(entry)
        self.register.extend([entry])

    def _put(self, head: container.Head, payload: bytes, data: bytes, digest: str) -> None:
        write_atomic(self.folder / NAME, data, mode=PRIVATE, disk=self._disk)
        seen = witness.read_witness(self.folder)
        now = self._witness(head, payload, digest, seen.purged if seen else 0)
        witness.write_witness(self.folder, now, self._disk)

    def _witness(
        self, head: container.Head, payload: bytes, digest: str, purged: int
    ) -> witness.Witness:
        log = witness.sum_of(payload, self._key.store_secret)
        return witness.Witness(head.store, head.generation, digest, purged, len(payload), log)

    def _purge(self) -> tuple[Path, ...]:
        head = self._head
        seen = self._witness(head, self._payload, self._digest, head.epoch)
        with locked(self.folder):
            return purge_older(self.folder, NAME, head, seen, self._disk)

    def _purge_told(self) -> tuple[Path, ...]:
        """After a save: what cannot be done now is told as that, and done at the next opening."""
        try:
            return self._purge()
        except (OSError, FolderBusy) as error:
            file = f"{_file_of(error)}: {error.strerror}" if isinstance(error, OSError) else error
            raise CodesError(
                f"the change is saved in {NAME}, but earlier copies could not all be removed "
                f"({file}). They are when the store is opened next; see to the disk first."
            ) from None


def create_store(
    folder: Path, name: str, passphrase: Secret, at: dt.datetime, disk: Disk = _DISK
) -> Store:
    """A new, empty store with its first holder. Raises CodesError where there is one already."""
    name, store = check_name(name), secrets.token_hex(8)
    key = holders.HolderKey("H1", holders.new_private_key(), secrets.token_bytes(holders.KEY_BYTES))
    data_key = secrets.token_bytes(holders.KEY_BYTES)
    made = holders.wrap_data_key(
        holders.seal_holder(key, name, passphrase, store), data_key, store, 1
    )
    head = container.Head(store, 0, 1, b"", (made,))
    opened = Store(folder, "H1", [], Register(), head, "", b"", data_key, key, disk)
    if (folder / NAME).exists():
        raise CodesError(f"{folder.absolute().name} has a store of codes already")
    witness.must_remember(folder)
    if witness.read_witness(folder) is not None:
        raise CodesError(
            "this folder had a store of codes that is missing now (codes.seen remembers it). "
            "Put codes.sealed back; to begin anew, remove codes.seen first."
        )
    opened.commit([HolderAdded("H1", name, made.public)], "store begun", at)
    return opened


def open_store(
    folder: Path, passphrase: Secret, holder: str | None = None, disk: Disk = _DISK
) -> Store:
    """Opens with a passphrase. ``holder``: a name or id; None tries each, at Argon2id's price.

    Raises CodesError with what is wrong: missing, torn, changed, older, wrong passphrase. There is
    no partly opened store.
    """
    sealed, seen = _read(folder)
    entries = sealed.head.holders
    if holder is not None:
        entries = tuple(
            h for h in entries if h.id == holder or h.name.casefold() == holder.casefold()
        )
        if not entries:
            names = ", ".join(h.name for h in sealed.head.holders)
            raise CodesError(f"{holder} is no holder of this store; its holders are {names}")
    for entry in entries:
        key = holders.open_holder(entry, passphrase, sealed.head.store)
        if key is not None:
            return _open(folder, sealed, seen, key, disk)
    whose = entries[0].name if len(entries) == 1 else "any holder"
    raise CodesError(f"wrong passphrase: it is not the one of {whose}. Nothing was opened.")


def open_with_key(
    folder: Path, key: holders.HolderKey, known_generation: int = 0, disk: Disk = _DISK
) -> Store:
    """Opens with keys kept in the machine's key ring, which may remember a newer state."""
    sealed, seen = _read(folder)
    witness.check_generation(known_generation, sealed.head.generation, "this machine")
    return _open(folder, sealed, seen, key, disk)


def store_identity(folder: Path) -> str:
    """The store's own name, read from its head without opening it."""
    return _read(folder)[0].head.store


def _read(folder: Path) -> tuple[container.Sealed, witness.Witness | None]:
    path = folder / NAME
    witness.must_remember(folder)
    try:
        if path.stat().st_size > container.LARGEST:
            raise CodesError(f"{NAME} is larger than any store. Nothing was opened.")
        # The witness first: a save between the two reads must not look like an older file.
        seen = witness.read_witness(folder)
        data = read_whole(path)
    except FileNotFoundError:
        if witness.read_witness(folder) is not None:
            raise CodesError(
                f"{NAME} is missing, though this folder had one. Put it back."
            ) from None
        raise CodesError(
            f"{folder.absolute().name} has no store of codes yet; `latchwork codes new` makes one"
        ) from None
    except OSError as error:
        raise _cannot("read", error) from None
    sealed = container.take_apart(data, NAME)
    witness.check_against(seen, sealed)
    return sealed, seen


def _open(
    folder: Path,
    sealed: container.Sealed,
    seen: witness.Witness | None,
    key: holders.HolderKey,
    disk: Disk,
) -> Store:
    head = sealed.head
    mine = next((h for h in head.holders if h.id == key.holder), None)
    data_key = None
    if mine is not None:
        data_key = holders.unwrap_data_key(mine, key, head.store, head.epoch)
    if data_key is None:
        raise CodesError(
            "these keys no longer open this store: the holder was withdrawn, "
            "or the head of codes.sealed was changed. Nothing was opened."
        )
    payload = container.open_body(sealed, data_key, key.store_secret)
    changed = CodesError(
        "codes.sealed was changed by somebody who is not a holder. Nothing was opened. "
        "Put back a whole copy, and ask who could write to this folder."
    )
    if payload is None:
        raise changed
    witness.check_log(seen, payload, key.store_secret)
    try:
        entries = decode_entries(payload)
    except (msgspec.DecodeError, UnicodeDecodeError):
        raise CodesError(
            "codes.sealed holds entries this version of Latchwork does not know; update it first"
        ) from None
    register = replay(entries)
    if _roster(head.holders) != _roster(register.holders.values()):
        raise changed
    store = Store(
        folder, key.holder, entries, register, head, sealed.digest, payload, data_key, key, disk
    )
    behind = seen is None or seen.generation < head.generation or not seen.log
    if behind or (seen and seen.purged < head.epoch):
        _catch_up(store)
    return store


def _catch_up(store: Store) -> None:
    """Finishes what a killed save left undone, where the folder can be written."""
    with contextlib.suppress(OSError, FolderBusy):
        store._purge()


def _roster(found: Iterable[HolderAdded | holders.HolderEntry]) -> set[tuple[str, str, bytes]]:
    return {(h.id, h.name, h.public) for h in found}


def _added(entry: Entry) -> list[HolderAdded]:
    return [c for c in entry.changes if isinstance(c, HolderAdded)]


def _digest_of(path: Path) -> str:
    try:
        return container.take_apart(read_whole(path)).digest
    except FileNotFoundError:
        return ""


def _cannot(what: str, error: OSError) -> CodesError:
    why = error.strerror or "the disk refused"
    nothing = "Nothing was opened." if what == "read" else "Nothing was saved."
    return CodesError(f"{_file_of(error)} could not be {what}: {why}. {nothing}")


def _file_of(error: OSError) -> str:
    """The file that the disk refused: the store's own, or one beside it."""
    return str(error.filename or NAME)
