"""Restore a backup into a new folder: unpack, check, put the keys back, erase again what was erased, verify.

The new folder gets its name at the end. A file that is damaged in the archive is left out and named; without a sound
ledger, settings and list of files nothing is restored.
"""

import hashlib
import os
import re
import shutil
import tempfile
import zipfile
import zlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO, TYPE_CHECKING, Final

import msgspec

from tracelabels.errors import InputError
from tracelabels.settings import FILE_NAME, Settings, load_settings
from tracelabels.workflows.backup_format import (
    BACKUP_FORMAT,
    FOLDERS,
    LARGEST_LIST,
    MANIFEST,
    NEEDED,
    KeysFile,
    Manifest,
    StoredFile,
    is_safe_name,
    keys_beside,
    parse_keys,
)
from tracelabels.workflows.leave_file import sync_file
from tracelabels.workflows.practice import LEDGER_FILE, Practice, open_practice
from tracelabels.workflows.practice_keys import SIGNING_KEY, put_keys
from tracelabels.workflows.signing_keys import note_signers
from tracelabels.workflows.verify_records import Finding, Verified, recorded_files, verify_records

if TYPE_CHECKING:
    from tracelabels.records import Head

_BLOCK: Final = 1 << 20
_DAMAGE: Final = (OSError, zipfile.BadZipFile, EOFError, RuntimeError, zlib.error)
_DATABASE: Final = re.compile(
    r"(^\[database\][^\[]*?^url[ \t]*=[ \t]*)(\"[^\"\n]*\"|'[^'\n]*')", re.MULTILINE | re.DOTALL
)
_BY: Final = "restore"
_REASON: Final = "erased before; an older copy was restored"


@dataclass(frozen=True, slots=True, kw_only=True)
class Restored:
    """A practice that was put back."""

    folder: Path
    """Where it lives now."""
    made_at: str
    """When the backup was made."""
    files: int
    """So many files were put back, the ledger included."""
    erased: int
    """So many facts lost personal content that the copy had brought back."""
    verified: Verified
    """What was checked afterwards; its findings include files that were left out."""


def restore(archive: Path, folder: Path, *, keys: Path | None = None, database_url: str = "") -> Restored:
    """Restore a backup into a new folder.

    Args:
        archive: the backup.
        folder: not there yet, or empty.
        keys: the file of keys; None for the one beside the archive. The newest one opens every older archive, except
            what was erased since.
        database_url: where the ledger shall live; nothing for an SQLite file in the folder.

    Raises:
        InputError: the folder is not empty, the archive or the keys are none, or do not belong together.
        LedgerError: the ledger cannot be opened.
    """
    _require_empty(folder)
    key_file = keys or keys_beside(archive)
    kept = parse_keys(_content(key_file), name=key_file.name)
    with _hidden_beside(folder) as hidden, _opened(archive) as pack:
        manifest = _manifest(pack, archive, kept)
        damaged = _unpack(pack, manifest, hidden, archive)
        settings = _settle_settings(hidden, database_url)
        put_keys(hidden, settings, {name: bytes.fromhex(key) for name, key in kept.keys.items()})
        note_signers(hidden, settings, _signers(kept))
        if database_url:
            _fill_server(hidden, database_url)
        erased, verified = _settle(hidden, kept, manifest, damaged)
        if folder.exists():
            folder.rmdir()
        hidden.rename(folder)
    files = len(manifest.files) - len(damaged)
    return Restored(folder=folder, made_at=manifest.made_at, files=files, erased=erased, verified=verified)


def _require_empty(folder: Path) -> None:
    if not folder.absolute().parent.is_dir():
        raise InputError(
            given=f"{str(folder)!r}", expected="a new folder in one that is there", remedy=f"make {folder.parent}"
        )
    if os.path.lexists(folder) and not (folder.is_dir() and not any(folder.iterdir())):
        raise InputError(
            given=f"{folder}, where something lies already",
            expected="a new or an empty folder",
            remedy="name another one; nothing was restored",
        )


@contextmanager
def _hidden_beside(folder: Path) -> Iterator[Path]:
    parent = folder.absolute().parent
    hidden = Path(tempfile.mkdtemp(dir=parent, prefix=f".{folder.name}.", suffix=".part"))
    try:
        yield hidden
    finally:
        shutil.rmtree(hidden, ignore_errors=True)


def _content(file: Path) -> bytes:
    try:
        with file.open("rb") as opened:
            return opened.read(LARGEST_LIST)
    except OSError as problem:
        raise InputError(
            given=f"{file} ({problem.strerror})",
            expected="the keys of the backup",
            remedy="name them with --keys; without the keys nothing can be restored",
        ) from problem


@contextmanager
def _opened(archive: Path) -> Iterator[zipfile.ZipFile]:
    try:
        pack = zipfile.ZipFile(archive)
    except (OSError, zipfile.BadZipFile, ValueError) as problem:
        why = getattr(problem, "strerror", None) or "no whole archive"
        raise _no_backup(given=f"{archive} ({why})") from problem
    with pack:
        yield pack


def _manifest(pack: zipfile.ZipFile, archive: Path, kept: KeysFile) -> Manifest:
    """Return the list of files, after checking that this practice signed it."""
    from tracelabels.records import is_signed  # noqa: PLC0415  heavy: only who needs the ledger

    try:
        with pack.open(MANIFEST) as opened:
            manifest = msgspec.json.decode(opened.read(LARGEST_LIST), type=Manifest)
        signature = bytes.fromhex(manifest.signature)
        signers = _signers(kept)
    except (*_DAMAGE, KeyError, msgspec.DecodeError, ValueError) as problem:
        raise _no_backup(given=f"{archive}, whose list of files cannot be read") from problem
    if manifest.format != BACKUP_FORMAT:
        raise _no_backup(given=f"{archive}, a backup of kind {manifest.format[:40]!r}")
    if not any(is_signed(one, manifest.statement(), signature) for one in signers):
        raise InputError(
            given=f"{archive}, whose list of files was not signed with these keys",
            expected="a backup and keys of one practice, unchanged",
            remedy="name the keys that belong to it with --keys; or it was changed: take another copy",
        )
    return manifest


def _no_backup(*, given: str) -> InputError:
    return InputError(
        given=given, expected="a file that 'tracelabels backup' left", remedy="name another copy; nothing was restored"
    )


def _unpack(pack: zipfile.ZipFile, manifest: Manifest, target: Path, archive: Path) -> list[Finding]:
    """Unpack every file on the list and return those that are damaged."""
    damaged = []
    for name in (*FOLDERS, *NEEDED):
        if name in FOLDERS:
            (target / name).mkdir()
        elif name not in manifest.files:
            raise _no_backup(given=f"{archive} without {name}")
    for name, stored in manifest.files.items():
        if _unpack_one(pack, name, stored, target):
            continue
        if name in NEEDED:
            raise _no_backup(given=f"{archive}, in which {name} is damaged")
        damaged.append(Finding(at=name, sentence=f"{name}: damaged in the backup, and left out"))
    return damaged


def _unpack_one(pack: zipfile.ZipFile, name: str, stored: StoredFile, target: Path) -> bool:
    """Put one file back, and say whether it is what the list says; what is not, is not left."""
    if not is_safe_name(name):
        return False
    place = target / name
    place.parent.mkdir(parents=True, exist_ok=True)
    try:
        with pack.open(name) as source, place.open("wb") as opened:
            whole = _copy(source, opened, stored)
    except (*_DAMAGE, KeyError):
        whole = False
    if not whole:
        place.unlink(missing_ok=True)
    return whole


def _copy(source: IO[bytes], target: IO[bytes], stored: StoredFile) -> bool:
    digest, left = hashlib.sha256(), stored.bytes
    while block := source.read(min(_BLOCK, left + 1)):
        left -= len(block)
        if left < 0:
            return False
        digest.update(block)
        target.write(block)
    sync_file(target)
    return left == 0 and digest.hexdigest() == stored.sha256


def _settle_settings(folder: Path, database_url: str) -> Settings:
    """Let the restored practice use its own database, never the one that it was copied from."""
    file = folder / FILE_NAME
    settings = load_settings(file)
    if settings.database.url == database_url:
        return settings
    text = file.read_text(encoding="utf-8")
    quoted = '"' + database_url.replace("\\", "\\\\").replace('"', '\\"') + '"'
    changed, count = _DATABASE.subn(lambda found: found[1] + quoted, text, count=1)
    if not count:
        changed = f"{text.rstrip()}\n\n[database]\nurl = {quoted}\n"
    file.write_text(changed, encoding="utf-8")
    settings = load_settings(file)
    if settings.database.url != database_url:
        raise InputError(
            given=f"{FILE_NAME} of the backup, whose [database] url cannot be changed by itself",
            expected='a line url = "..." below [database]',
            remedy="restore with --database and the url that it names, into an empty database",
        )
    return settings


def _fill_server(folder: Path, database_url: str) -> None:
    from tracelabels.records import fill_from_copy  # noqa: PLC0415  heavy: only who needs the ledger

    copy = folder / LEDGER_FILE
    fill_from_copy(copy, database_url)
    copy.unlink()


def _settle(folder: Path, kept: KeysFile, manifest: Manifest, damaged: Sequence[Finding]) -> tuple[int, Verified]:
    from tracelabels.records import FactId  # noqa: PLC0415  as above

    erased = [FactId(site=site, sequence=sequence) for site, sequence in kept.erased]
    with open_practice(folder, today=None) as practice:
        count = practice.ledger.settle_copy(kept.rows, erased, by=_BY, reason=_REASON)
        _take_erased_files_away(practice)
        verified = verify_records(practice, heads=_heads(manifest, kept), besides=damaged)
    return count, verified


def _take_erased_files_away(practice: Practice) -> None:
    with practice.ledger.read() as ledger:
        gone = [one.name for one in recorded_files(ledger) if one.is_erased]
    for name in gone:
        (practice.folder / name).unlink(missing_ok=True)


def _heads(manifest: Manifest, kept: KeysFile) -> "tuple[Head, ...]":
    from tracelabels.records import parse_heads  # noqa: PLC0415  as above

    heads = parse_heads(manifest.heads.encode(), name=MANIFEST, public_keys=_signers(kept))
    return tuple(one.head for one in heads)


def _signers(kept: KeysFile) -> tuple[bytes, ...]:
    """Return the public halves of every key that may have signed an archive of this practice, the newest last."""
    from tracelabels.records import public_key_of  # noqa: PLC0415  as above

    own = public_key_of(bytes.fromhex(kept.keys[SIGNING_KEY]))
    return (*(one for one in map(bytes.fromhex, kept.signers) if one != own), own)
