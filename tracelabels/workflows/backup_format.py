"""What a backup consists of: an archive without any key, and a file of keys beside it.

The archive is a ZIP file: the ledger as one SQLite file, practice.toml, and the practice's folders, with a list
(``manifest.json``) of every file's size and SHA-256, the signed ends of the chains, and a signature over the list
(Ed25519 over its canonical JSON). The file of keys is JSON, readable for its owner only.
"""

from pathlib import Path, PurePosixPath
from typing import Final

import msgspec

from tracelabels.errors import InputError
from tracelabels.settings import FILE_NAME
from tracelabels.workflows.practice import EVIDENCE, LEDGER_FILE, OWN_TEMPLATES, PRINTED

BACKUP_FORMAT: Final = "tracelabels backup 1"
KEYS_FORMAT: Final = "tracelabels keys 1"
MANIFEST: Final = "manifest.json"
FOLDERS: Final = (EVIDENCE, PRINTED, OWN_TEMPLATES)
NEEDED: Final = (LEDGER_FILE, FILE_NAME)
"""Without these there is nothing to restore."""
LARGEST_LIST: Final = 1 << 28
"""Bytes of the list of files; room for about a million of them."""


class StoredFile(msgspec.Struct, forbid_unknown_fields=True, frozen=True):
    """One file of the archive."""

    bytes: int
    """Its size."""
    sha256: str
    """Its digest, hexadecimal."""


class Manifest(msgspec.Struct, forbid_unknown_fields=True, frozen=True, kw_only=True):
    """The list of what an archive holds."""

    format: str
    """Which kind of list this is."""
    made_at: str
    """When the ledger was copied, in UTC."""
    release: str
    """The release that made it."""
    files: dict[str, StoredFile]
    """Every file by its name in the practice's folder."""
    heads: str
    """A file of signed heads (see ``records.signing``), as text: how far each chain reaches in this copy."""
    problems: list[str]
    """What was wrong with the ledger when it was copied; the copy is true to it."""
    signature: str
    """Over all of the above, hexadecimal."""

    def statement(self) -> dict[str, object]:
        """Return what the signature is over."""
        whole: dict[str, object] = msgspec.to_builtins(self)
        del whole["signature"]
        return whole


class KeysFile(msgspec.Struct, forbid_unknown_fields=True, frozen=True, kw_only=True):
    """Keys of a practice, and what was erased until they were written down."""

    format: str
    """Which kind of file this is."""
    made_at: str
    """When they were written down, in UTC."""
    keys: dict[str, str]
    """The practice's keys by name, hexadecimal."""
    rows: dict[str, list[dict[str, int | str]]]
    """Keys that lie in the database, by table."""
    erased: list[tuple[int, int]]
    """Facts (site, sequence) whose personal content is erased: an older archive must not revive it."""
    signers: list[str] = []
    """Public halves (hexadecimal) of every key that signed at this practice: older archives, heads kept elsewhere."""


def keys_beside(archive: Path) -> Path:
    """Return where the keys of an archive lie.

    >>> keys_beside(Path("monday.backup")).name
    'monday.backup.keys'
    """
    return archive.with_name(archive.name + ".keys")


def is_safe_name(name: str) -> bool:
    """Say whether a name in an archive is one of a practice's files, and leads nowhere else.

    >>> is_safe_name("printed/R01-0001.pdf"), is_safe_name("printed/../../x"), is_safe_name("ledger.sqlite")
    (True, False, True)
    """
    parts = PurePosixPath(name).parts
    if "\\" in name or ":" in name or "\0" in name or ".." in parts or "/".join(parts) != name:
        return False
    return name in NEEDED or (len(parts) > 1 and parts[0] in FOLDERS)


def parse_keys(content: bytes, *, name: str) -> KeysFile:
    """Read a file of keys.

    Raises:
        InputError: it is none.
    """
    try:
        keys = msgspec.json.decode(content, type=KeysFile)
        if keys.format == KEYS_FORMAT and all(bytes.fromhex(one) for one in (*keys.keys.values(), *keys.signers)):
            return keys
    except (msgspec.DecodeError, ValueError):
        pass
    raise InputError(
        given=f"{name}, which holds no keys of a backup",
        expected="the file whose name ends in .keys, beside the backup or newer",
        remedy="name it with --keys; without the keys nothing can be restored",
    )
