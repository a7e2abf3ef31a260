"""The bytes of ``codes.sealed``: a head anybody may read, a body only holders can, a check sum.

    magic, head length (u32), body length (u64), head (JSON), body, SHA-256 of all before it

The check sum tells damage from a wrong passphrase; it proves nothing against an attacker. That is
the work of the body's cipher (ChaCha20-Poly1305, RFC 8439), which covers the head too.
"""

from __future__ import annotations

import hashlib
import struct
from dataclasses import dataclass

import msgspec
from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from latchwork.codes.errors import CodesError
from latchwork.codes.store.holders import KEY_BYTES, HolderEntry

MAGIC = b"latchwork sealed\x00\x01"
LARGEST = 512 * 1024 * 1024
LARGEST_HEAD = 4 * 1024 * 1024
_SIZES = struct.Struct(">IQ")
_SUM_BYTES = 32
_TAG_BYTES = 16


class Head(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What stands in the clear. All of it is authenticated by the body's cipher."""

    store: str
    """The store's name for itself, random, for ever the same."""
    generation: int
    """Counts saves."""
    epoch: int
    """Counts data keys."""
    nonce: bytes
    holders: tuple[HolderEntry, ...]


@dataclass(frozen=True, slots=True)
class Sealed:
    """A file taken apart, not opened."""

    head: Head
    head_bytes: bytes
    body: bytes
    digest: str
    """SHA-256 of the file, hexadecimal: tells one saved state from every other."""


def take_apart(data: bytes, name: str = "codes.sealed") -> Sealed:
    """Reads the outer form. Raises CodesError: no store, torn, changed, or a newer version."""
    if not data:
        raise CodesError(f"{name} is empty: it was torn while being copied. Nothing was opened.")
    start = len(MAGIC)
    if data[:start] != MAGIC[: len(data)]:
        if data[: start - 1] == MAGIC[:-1]:
            raise CodesError(f"{name} was written by a newer Latchwork; update this one first")
        raise CodesError(f"{name} is not a store of codes. Nothing was opened.")
    fixed = start + _SIZES.size
    torn = CodesError(
        f"{name} is torn: its end is missing. Nothing was opened. "
        "Put back a whole copy; a copy made by hand may have been cut short."
    )
    if len(data) < fixed:
        raise torn
    head_size, body_size = _SIZES.unpack_from(data, start)
    whole = fixed + head_size + body_size + _SUM_BYTES
    if len(data) < whole and head_size <= LARGEST_HEAD and body_size <= LARGEST:
        raise torn
    damaged = CodesError(
        f"{name} has been changed or damaged since it was saved. Nothing was opened. "
        "Put back a whole copy, and ask who could write to this folder."
    )
    if len(data) != whole or hashlib.sha256(data[:-_SUM_BYTES]).digest() != data[-_SUM_BYTES:]:
        raise damaged
    head_bytes = data[fixed : fixed + head_size]
    try:
        head = msgspec.json.decode(head_bytes, type=Head)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        raise damaged from None
    body = data[fixed + head_size : -_SUM_BYTES]
    return Sealed(head, head_bytes, body, hashlib.sha256(data).hexdigest())


def _payload_cipher(head: Head, data_key: bytes, store_secret: bytes) -> ChaCha20Poly1305:
    """A key for this one save, so that a nonce never meets the same key twice."""
    info = f"latchwork body 1\0{head.store}\0{head.epoch}\0{head.generation}\0".encode()
    derive = HKDF(SHA256(), KEY_BYTES, salt=store_secret, info=info + head.nonce)
    return ChaCha20Poly1305(derive.derive(data_key))


def put_together(head: Head, payload: bytes, data_key: bytes, store_secret: bytes) -> bytes:
    """The whole file. Raises CodesError where it would be larger than a reader takes."""
    if len(payload) > LARGEST:
        raise CodesError("the store has grown past what one file may hold")
    head_bytes = msgspec.json.encode(head)
    start = MAGIC + _SIZES.pack(len(head_bytes), len(payload) + _TAG_BYTES)
    body = _payload_cipher(head, data_key, store_secret).encrypt(
        head.nonce, payload, start + head_bytes
    )
    data = start + head_bytes + body
    return data + hashlib.sha256(data).digest()


def open_body(sealed: Sealed, data_key: bytes, store_secret: bytes) -> bytes | None:
    """The payload, or None where head or body are not what a holder saved."""
    head = sealed.head
    start = MAGIC + _SIZES.pack(len(sealed.head_bytes), len(sealed.body))
    try:
        return _payload_cipher(head, data_key, store_secret).decrypt(
            head.nonce, sealed.body, start + sealed.head_bytes
        )
    except (InvalidTag, ValueError):
        return None
