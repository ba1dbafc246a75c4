"""The practice's keys: one links the facts, one signs the ends of chains. They lie beside the database, never in it."""

import contextlib
import os
import time
from pathlib import Path
from typing import Final

from tracelabels.errors import LedgerError
from tracelabels.records.writing import RandomBytes

KEY_BYTES: Final = 32
_WAIT_SECONDS: Final = 5


def key_path(database: Path) -> Path:
    """Return where the key of an SQLite ledger lies: beside it, with ``.key`` at the end.

    >>> key_path(Path("practice/ledger.db")).name
    'ledger.db.key'
    """
    return database.with_name(database.name + ".key")


def signing_key_path(database: Path) -> Path:
    """Return where the key lies that signs heads: beside the database, with ``.signing-key`` at the end.

    >>> signing_key_path(Path("practice/ledger.db")).name
    'ledger.db.signing-key'
    """
    return database.with_name(database.name + ".signing-key")


def read_or_make_key(path: Path, *, random_bytes: RandomBytes) -> bytes:
    """Return the key in a file, which is made if it is not there; only its owner may read it.

    Raises:
        LedgerError: the file holds no key, or cannot be read or written.
    """
    try:
        with contextlib.suppress(FileExistsError):
            make_key_file(path, random_bytes(KEY_BYTES))
        return _read_key(path)
    except OSError as error:
        raise LedgerError(
            given=f"key file {path.name} ({error.strerror})",
            expected="a key file that can be read, or a folder where one can be made",
            remedy="see that the practice's folder exists and may be written",
        ) from error


def make_key_file(path: Path, key: bytes) -> None:
    """Leave a key in a new file that only its owner may read.

    Raises:
        FileExistsError: something lies there already.
    """
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="ascii") as file:
        file.write(key.hex() + "\n")
        file.flush()
        os.fsync(file.fileno())


def _read_key(path: Path) -> bytes:
    """Read the key; wait a moment if another process is just making it."""
    give_up = time.monotonic() + _WAIT_SECONDS
    while True:
        try:
            key = bytes.fromhex(path.read_text("ascii"))
        except ValueError:
            key = b""
        if len(key) == KEY_BYTES:
            return key
        if time.monotonic() > give_up or path.stat().st_size > 0:
            raise LedgerError(
                given=f"key file {path.name}",
                expected=f"{KEY_BYTES * 2} hexadecimal digits",
                remedy="put back the key file that belongs to this ledger, from a backup",
            )
        time.sleep(0.05)
