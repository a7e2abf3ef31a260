"""Holders: each has a key pair, and a passphrase that opens the private half.

A holder's *box* is the X25519 private key and the store's own secret, sealed under a key made of
the passphrase by Argon2id. The data key is sealed to each holder's public key with HPKE (RFC 9180,
base mode: X25519, HKDF-SHA256, ChaCha20-Poly1305), so that a new data key needs nobody's
passphrase. The store's secret goes into every payload key: someone who knows only the public keys
can wrap a key of their own to them, but cannot make a file that a holder would open.
"""

from __future__ import annotations

import secrets
import unicodedata
from dataclasses import dataclass

import msgspec
from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives import hpke
from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey, X25519PublicKey
from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id

from latchwork.codes.errors import CodesError
from latchwork.codes.secret import Secret

KEY_BYTES = 32
LEAST_PASSPHRASE = 10
"""Characters. Common practice, no source."""


class Stretch(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """How a passphrase becomes a key. Defaults: RFC 9106 section 4, second recommended option."""

    salt: bytes
    iterations: int = 3
    lanes: int = 4
    memory_kib: int = 64 * 1024
    method: str = "argon2id 1.3"

    def check(self) -> None:
        """Refuses figures that no store of ours has, before they cost minutes or memory."""
        ok = (
            self.method == "argon2id 1.3"
            and len(self.salt) == 16
            and 1 <= self.iterations <= 64
            and 1 <= self.lanes <= 16
            and 8 * self.lanes <= self.memory_kib <= 1024 * 1024
        )
        if not ok:
            raise CodesError("the store's head is damaged: its passphrase settings make no sense")


class HolderEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a store's head says of one holder."""

    id: str
    name: str
    public: bytes
    stretch: Stretch
    nonce: bytes
    box: bytes
    wrapped: bytes
    """The data key, sealed to ``public``."""


@dataclass(frozen=True, slots=True, repr=False)
class HolderKey:
    """An opened holder: what a passphrase gives. Shows nothing of itself."""

    holder: str
    private: bytes
    store_secret: bytes

    def __repr__(self) -> str:
        return f"HolderKey({self.holder!r}, •••)"


def _suite() -> hpke.Suite:
    return hpke.Suite(hpke.KEM.X25519, hpke.KDF.HKDF_SHA256, hpke.AEAD.CHACHA20_POLY1305)


def stretch_passphrase(passphrase: Secret, how: Stretch) -> bytes:
    """The 32-byte key of a passphrase (Argon2id, RFC 9106). Slow on purpose."""
    how.check()
    text = unicodedata.normalize("NFKC", passphrase.reveal()).encode()
    return Argon2id(
        salt=how.salt,
        length=KEY_BYTES,
        iterations=how.iterations,
        lanes=how.lanes,
        memory_cost=how.memory_kib,
    ).derive(text)


def check_passphrase(passphrase: Secret) -> None:
    """Refuses a new passphrase that is too short to be one."""
    if len(passphrase.reveal()) < LEAST_PASSPHRASE:
        raise CodesError(
            f"a passphrase needs at least {LEAST_PASSPHRASE} characters: "
            "four or five words that belong to nobody else"
        )


def _box_context(store: str, holder: str, public: bytes) -> bytes:
    return b"latchwork holder 1\0" + store.encode() + b"\0" + holder.encode() + b"\0" + public


def _wrap_context(store: str, epoch: int, holder: str, public: bytes) -> bytes:
    return f"latchwork data key 1\0{store}\0{epoch}\0{holder}\0".encode() + public


def new_private_key() -> bytes:
    """A fresh X25519 private key."""
    return X25519PrivateKey.generate().private_bytes_raw()


def seal_holder(
    key: HolderKey, name: str, passphrase: Secret, store: str, stretch: Stretch | None = None
) -> HolderEntry:
    """A holder's entry without a data key yet: the box closed with the passphrase."""
    check_passphrase(passphrase)
    stretch = stretch or Stretch(salt=secrets.token_bytes(16))
    public = X25519PrivateKey.from_private_bytes(key.private).public_key().public_bytes_raw()
    nonce = secrets.token_bytes(12)
    box = ChaCha20Poly1305(stretch_passphrase(passphrase, stretch)).encrypt(
        nonce, key.private + key.store_secret, _box_context(store, key.holder, public)
    )
    return HolderEntry(key.holder, name, public, stretch, nonce, box, b"")


def open_holder(entry: HolderEntry, passphrase: Secret, store: str) -> HolderKey | None:
    """The holder's keys, or None where this passphrase does not open the box."""
    cipher = ChaCha20Poly1305(stretch_passphrase(passphrase, entry.stretch))
    try:
        plain = cipher.decrypt(entry.nonce, entry.box, _box_context(store, entry.id, entry.public))
    except (InvalidTag, ValueError):
        return None
    if len(plain) != 2 * KEY_BYTES:
        return None
    return HolderKey(entry.id, plain[:KEY_BYTES], plain[KEY_BYTES:])


def wrap_data_key(entry: HolderEntry, data_key: bytes, store: str, epoch: int) -> HolderEntry:
    """The entry with the data key sealed to its public key."""
    public = X25519PublicKey.from_public_bytes(entry.public)
    context = _wrap_context(store, epoch, entry.id, entry.public)
    return msgspec.structs.replace(entry, wrapped=_suite().encrypt(data_key, public, context))


def unwrap_data_key(entry: HolderEntry, key: HolderKey, store: str, epoch: int) -> bytes | None:
    """The data key, or None where this private key does not open it."""
    private = X25519PrivateKey.from_private_bytes(key.private)
    context = _wrap_context(store, epoch, entry.id, entry.public)
    try:
        data_key = _suite().decrypt(entry.wrapped, private, context)
    except (InvalidTag, ValueError):
        return None
    return data_key if len(data_key) == KEY_BYTES else None
