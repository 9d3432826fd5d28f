"""Signatures of Ed25519 (RFC 8032) by a key that lies in a file of its own."""

import os
from pathlib import Path
from typing import TYPE_CHECKING

from workbench.errors import FileError
from workbench.files.disk.atomic_write import cannot_write, check_place, sync_folder
from workbench.files.disk.plain_files import reading
from workbench.phrases import call, phrase

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

LARGEST_KEY = 10_000  # bytes; one takes 119
_INSTALL = "Install it with: pip install cryptography"


def make_key(path: Path) -> str:
    """Make a private key in a new file that only its owner can read; give the public key, hexadecimal.

    Raises:
        FileError: when something is there already, it cannot be written, or the library is missing.
    """
    _check_library()
    from cryptography.hazmat.primitives import serialization
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    key = Ed25519PrivateKey.generate()
    content = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    if os.path.lexists(path):
        raise FileError(phrase("{path} already exists.", path=path), "Choose another name; a key is never overwritten.")
    check_place(path)
    try:
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        try:
            os.write(descriptor, content)
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
        sync_folder(path.absolute().parent)
    except OSError as error:
        raise cannot_write(path, error) from error
    return key.public_key().public_bytes_raw().hex()


def sign(path: Path, message: bytes) -> tuple[str, str]:
    """Sign a message with the key in a file; give the public key and the signature, both hexadecimal.

    Raises:
        FileError: when the file cannot be read or is no such key, or the library is missing.
    """
    key = _read_key(path)
    return key.public_key().public_bytes_raw().hex(), key.sign(message).hex()


def is_signed(public_key: str, signature: str, message: bytes) -> bool:
    """Return whether a signature is of this message by this key.

    Raises:
        FileError: when the library is missing.
    """
    _check_library()
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    try:
        Ed25519PublicKey.from_public_bytes(bytes.fromhex(public_key)).verify(bytes.fromhex(signature), message)
    except (InvalidSignature, ValueError):
        return False
    return True


def _read_key(path: Path) -> "Ed25519PrivateKey":
    _check_library()
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    try:
        with reading(path) as file:
            content = file.read(LARGEST_KEY)
    except OSError as error:
        raise FileError(
            phrase("The key {path} cannot be read: {strerror}.", path=path, strerror=error.strerror),
            phrase("Make one with: {make_key_command} FILE", make_key_command=call("make-key")),
        ) from error
    try:
        key = load_pem_private_key(content, password=None)
    except (ValueError, TypeError) as error:
        raise FileError(
            phrase("{path} does not hold a key without a password.", path=path),
            phrase("Make one with: {make_key_command} FILE", make_key_command=call("make-key")),
        ) from error
    if not isinstance(key, Ed25519PrivateKey):
        raise FileError(
            phrase("{path} does not hold an Ed25519 key.", path=path),
            phrase("Make one with: {make_key_command} FILE", make_key_command=call("make-key")),
        )
    return key


def _check_library() -> None:
    try:
        import cryptography  # noqa: F401 - whether it is there
    except ImportError as error:
        raise FileError("Signing needs the library cryptography, which is not installed.", _INSTALL) from error
