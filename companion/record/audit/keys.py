"""Ed25519 keys (RFC 8032) for signing sign-offs, kept in files of their own."""

from __future__ import annotations

from pathlib import Path

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from companion.errors import RecordError
from companion.record.durable import read_kept, write_new

LONGEST_KEY = 10_000
"""Bytes of a file with one key: some hundred."""


def make_key(path: Path, passphrase: str = "") -> str:
    """Make a key file (PEM, PKCS #8, for its owner alone) and return the public key (hex).

    The public key is written beside it, as `<path>.pub`. Raises `RecordError` where a file is
    there already, or the folder cannot be written.
    """
    key = Ed25519PrivateKey.generate()
    encryption: serialization.KeySerializationEncryption = serialization.NoEncryption()
    if passphrase:
        encryption = serialization.BestAvailableEncryption(passphrase.encode("utf-8"))
    private = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, encryption
    )
    public = public_hex(key)
    _write_new(path, private, 0o600)
    _write_new(path.with_name(path.name + ".pub"), f"{public}\n".encode("ascii"), 0o644)
    return public


def _write_new(path: Path, content: bytes, mode: int) -> None:
    try:
        write_new(path, content, mode)
    except OSError as error:
        raise RecordError(
            f"{path}: the key cannot be written ({error.strerror}); wanted: a new file in a "
            "folder that exists; a key is never overwritten"
        ) from error


def needs_passphrase(path: Path) -> bool:
    """Whether the key file is encrypted."""
    return b"ENCRYPTED" in _content(path)


def read_key(path: Path, passphrase: str = "") -> Ed25519PrivateKey:
    """The key of a key file; raises `RecordError` for a wrong passphrase or another file."""
    try:
        key = serialization.load_pem_private_key(
            _content(path), passphrase.encode("utf-8") if passphrase else None
        )
    except (ValueError, TypeError) as error:
        raise RecordError(
            f"{path}: cannot be opened as a key; wanted: a key made by 'companion keys make', and "
            "its passphrase"
        ) from error
    if not isinstance(key, Ed25519PrivateKey):
        raise RecordError(f"{path}: is a key of another kind; wanted: an Ed25519 key")
    return key


def read_public_key(path: Path) -> str:
    """The public key (64 hexadecimal digits) of a `.pub` file."""
    text = _content(path).decode("ascii", "replace").strip().lower()
    try:
        Ed25519PublicKey.from_public_bytes(bytes.fromhex(text))
    except ValueError as error:
        raise RecordError(
            f"{path}: is not a public key; wanted: 64 hexadecimal digits, as 'companion keys make' "
            "writes them"
        ) from error
    return text


def _content(path: Path) -> bytes:
    return read_kept(path, LONGEST_KEY, "a key", also_by_link=True)


def public_hex(key: Ed25519PrivateKey) -> str:
    """The public half of the key, 64 hexadecimal digits."""
    raw = key.public_key().public_bytes(serialization.Encoding.Raw, serialization.PublicFormat.Raw)
    return raw.hex()


def is_signature_of(public_key: str, signature: str, content: bytes) -> bool:
    """Whether the holder of the key signed these bytes; keys and signatures in hexadecimal."""
    try:
        return is_signature(bytes.fromhex(public_key), bytes.fromhex(signature), content)
    except ValueError:
        return False


def is_signature(public_key: bytes, signature: bytes, content: bytes) -> bool:
    """The same with key (32 bytes) and signature (64 bytes) as they are."""
    try:
        Ed25519PublicKey.from_public_bytes(public_key).verify(signature, content)
    except (InvalidSignature, ValueError):
        return False
    return True
