"""The store's ciphers held against published vectors and the standards written out anew."""

from __future__ import annotations

import hashlib
import hmac

import pytest
from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey, X25519PublicKey
from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305
from cryptography.hazmat.primitives.kdf.argon2 import Argon2d, Argon2i, Argon2id

from latchwork.codes.secret import Secret
from latchwork.codes.store import container, holders
from tests.codes.stores import OFFICE, quick_stretch

INPUT = {"iterations": 3, "lanes": 4, "memory_cost": 32, "length": 32, "salt": b"\x02" * 16}


@pytest.mark.parametrize(
    ("kind", "tag"),
    [  # RFC 9106 section 5.1 to 5.3
        (Argon2d, "512b391b6f1162975371d30919734294f868e3be3984f3c1a13a4db9fabe4acb"),
        (Argon2i, "c814d9d1dc7f37aa13f0d77f2494bda1c8de6b016dd388d29952a4c4672b6ce8"),
        (Argon2id, "0d640df58d78766c08c037a34a8b53c9d01ef0452d75b65eb52520e96b01e659"),
    ],
)
def test_rfc_9106_vectors(kind: type[Argon2id], tag: str) -> None:
    made = kind(**INPUT, secret=b"\x03" * 8, ad=b"\x04" * 12)  # type: ignore[arg-type]  # bytes and numbers
    assert made.derive(b"\x01" * 32).hex() == tag


def test_passphrases_are_stretched_by_that_function() -> None:
    how = holders.Stretch(b"\x02" * 16, iterations=3, lanes=4, memory_kib=32)
    plain = Argon2id(**INPUT).derive(b"\x01" * 32)  # type: ignore[arg-type]  # bytes and numbers
    assert holders.stretch_passphrase(Secret("\x01" * 32), how) == plain


def test_rfc_8439_vector() -> None:
    """RFC 8439 section 2.8.2, first block and tag; the tag covers every byte."""
    key = bytes(range(0x80, 0xA0))
    nonce = bytes.fromhex("070000004041424344454647")
    aad = bytes.fromhex("50515253c0c1c2c3c4c5c6c7")
    plain = (
        b"Ladies and Gentlemen of the class of '99: If I could offer you only one tip for the "
        b"future, sunscreen would be it."
    )
    sealed = ChaCha20Poly1305(key).encrypt(nonce, plain, aad)
    assert sealed[:16].hex() == "d31a8d34648e60db7b86afbc53ef7ec2"
    assert sealed[-16:].hex() == "1ae10b594f09e26a7e902ecbd0600691"


def test_rfc_7748_vector() -> None:
    """RFC 7748 section 6.1: the key agreement that wrapping rests on."""
    alice = X25519PrivateKey.from_private_bytes(
        bytes.fromhex("77076d0a7318a57d3c16c17251b26645df4c2f87ebc0992ab177fba51db92c2a")
    )
    bob = X25519PrivateKey.from_private_bytes(
        bytes.fromhex("5dab087e624a8a4b79e17f8b83800ee66f3bb1292618b6fd1c2f8b27ff88e0eb")
    )
    public = bob.public_key().public_bytes_raw().hex()
    assert public == "de9edb7d7b7dc1b4d35b61c2ece435373f8343c85b78674dadfc7e146f882b4f"
    shared = alice.exchange(bob.public_key()).hex()
    assert shared == "4a5d9d5ba4ce2de1728e3bf480350f25e07e21c947d19e3376f09b3c1e161742"


def extract(salt: bytes, suite: bytes, label: bytes, key: bytes) -> bytes:
    return hmac.new(salt or b"\0" * 32, b"HPKE-v1" + suite + label + key, hashlib.sha256).digest()


def expand(prk: bytes, suite: bytes, label: bytes, info: bytes, length: int) -> bytes:
    text = length.to_bytes(2, "big") + b"HPKE-v1" + suite + label + info
    out, block, count = b"", b"", 1
    while len(out) < length:
        block = hmac.new(prk, block + text + bytes([count]), hashlib.sha256).digest()
        out, count = out + block, count + 1
    return out[:length]


def open_by_the_book(private: bytes, sealed: bytes, info: bytes) -> bytes:
    """RFC 9180 sections 4.1 and 5.1, base mode, DHKEM(X25519, HKDF-SHA256), HKDF-SHA256,
    ChaCha20Poly1305, written out from HMAC up."""
    kem, suite = b"KEM\x00\x20", b"HPKE\x00\x20\x00\x01\x00\x03"
    own = X25519PrivateKey.from_private_bytes(private)
    enc, text = sealed[:32], sealed[32:]
    dh = own.exchange(X25519PublicKey.from_public_bytes(enc))
    context = enc + own.public_key().public_bytes_raw()
    prk = extract(b"", kem, b"eae_prk", dh)
    shared = expand(prk, kem, b"shared_secret", context, 32)
    psk = extract(b"", suite, b"psk_id_hash", b"")
    schedule = b"\0" + psk + extract(b"", suite, b"info_hash", info)
    secret = extract(shared, suite, b"secret", b"")
    key = expand(secret, suite, b"key", schedule, 32)
    nonce = expand(secret, suite, b"base_nonce", schedule, 12)
    return ChaCha20Poly1305(key).decrypt(nonce, text, b"")


def test_wrapped_data_keys_are_rfc_9180() -> None:
    key = holders.HolderKey("H1", holders.new_private_key(), b"s" * 32)
    with quick_stretch():
        entry = holders.seal_holder(key, "Office", OFFICE, "abcd")
    wrapped = holders.wrap_data_key(entry, b"d" * 32, "abcd", 4)
    info = b"latchwork data key 1\0abcd\x004\0H1\0" + entry.public
    assert open_by_the_book(key.private, wrapped.wrapped, info) == b"d" * 32


def test_the_body_by_the_book() -> None:
    """RFC 5869 and RFC 8439 over the documented form, written out from HMAC up."""
    head = container.Head("abcd", 7, 3, b"n" * 12, ())
    data = container.put_together(head, b"payload", b"d" * 32, b"s" * 32)
    start = len(container.MAGIC)
    head_size = int.from_bytes(data[start : start + 4], "big")
    body_at = start + 12 + head_size
    prk = hmac.new(b"s" * 32, b"d" * 32, hashlib.sha256).digest()
    info = b"latchwork body 1\0abcd\x003\x007\0" + b"n" * 12
    key = hmac.new(prk, info + b"\x01", hashlib.sha256).digest()
    opened = ChaCha20Poly1305(key).decrypt(b"n" * 12, data[body_at:-32], data[:body_at])
    assert opened == b"payload"
    assert hashlib.sha256(data[:-32]).digest() == data[-32:]
