"""Back a practice up: one consistent copy of everything while work goes on, and its keys apart.

The order: the ledger is copied in one step and the copy checked, then the files are packed (a file that came later does
no harm, and one whose record is in the copy is there already), then both get their names, the keys first.
"""

import hashlib
import os
import re
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Final

import msgspec

from tracelabels.errors import InputError
from tracelabels.settings import FILE_NAME
from tracelabels.workflows.backup_format import (
    BACKUP_FORMAT,
    FOLDERS,
    KEYS_FORMAT,
    MANIFEST,
    KeysFile,
    Manifest,
    StoredFile,
    keys_beside,
)
from tracelabels.workflows.leave_file import sync_file, sync_folder
from tracelabels.workflows.practice import LEDGER_FILE, Practice
from tracelabels.workflows.practice_keys import key_material
from tracelabels.workflows.signing_keys import find_signers, key_for_backup

if TYPE_CHECKING:
    from tracelabels.records import CopyDone

_BLOCK: Final = 1 << 20
_PASSWORD: Final = re.compile(r"(://[^/@\s:\"']*):[^/@\s\"']*@")
"""Of a database URL; it is a secret of the server's and has no place in a backup."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BackupDone:
    """A backup that was left."""

    archive: Path
    """Everything but the keys."""
    keys: Path
    """The keys."""
    files: int
    """So many files are in the archive, the ledger included."""
    facts: int
    """So many facts are in the copy of the ledger."""
    problems: tuple[str, ...]
    """What is wrong with the ledger; the copy is true to it."""


def back_up(practice: Practice, archive: Path) -> BackupDone:
    """Leave a backup of a practice: the archive, and its keys beside it; whole or not at all.

    Args:
        practice: the practice; others may work meanwhile.
        archive: where nothing lies yet.

    Raises:
        InputError: nothing can be left there.
        LedgerError: the ledger's file is damaged, or cannot be read.
    """
    keys = keys_beside(archive)
    for place in (archive, keys):
        _require_free(place)
    now = datetime.now(UTC)
    signing, lost = key_for_backup(practice)
    with _hidden(archive) as hidden, _hidden(keys) as hidden_keys:
        copy, files = _pack(practice, hidden, now, signing=signing)
        hidden_keys.write_bytes(
            msgspec.json.format(msgspec.json.encode(_keys_of(practice, now, signing=signing))) + b"\n"
        )
        for file, place in ((hidden_keys, keys), (hidden, archive)):
            _sync(file)
            file.rename(place)
    sync_folder(archive.parent)
    return BackupDone(
        archive=archive,
        keys=keys,
        files=files,
        facts=sum(head.sequence for head in copy.heads),
        problems=(*(one.sentence for one in copy.problems), *lost),
    )


def _require_free(place: Path) -> None:
    if not place.name or not place.parent.is_dir():
        raise InputError(
            given=f"{str(place)!r}",
            expected="a file in a folder that is there",
            remedy=f"make the folder {place.parent}",
        )
    if os.path.lexists(place):
        raise InputError(
            given=f"{place}, where something lies already",
            expected="a new name for each backup",
            remedy="choose another name, such as one with the date; nothing was written",
        )


@contextmanager
def _hidden(place: Path) -> Iterator[Path]:
    """Give a file beside a place, for its owner only, that is gone at the end unless it got its name."""
    handle, name = tempfile.mkstemp(dir=place.parent, prefix=f".{place.name}.", suffix=".part")
    os.close(handle)
    try:
        yield Path(name)
    finally:
        Path(name).unlink(missing_ok=True)


def _keys_of(practice: Practice, now: datetime, *, signing: bytes) -> KeysFile:
    rows, erased = practice.ledger.kept_apart()
    return KeysFile(
        format=KEYS_FORMAT,
        made_at=now.isoformat(),
        keys={one.name: one.content.hex() for one in key_material(practice, signing=signing)},
        rows={name: [dict(row) for row in several] for name, several in rows.items()},
        erased=[(one.site, one.sequence) for one in erased],
        signers=[one.hex() for one in find_signers(practice).known],
    )


def _pack(practice: Practice, target: Path, now: datetime, *, signing: bytes) -> "tuple[CopyDone, int]":
    files: dict[str, StoredFile] = {}
    with (
        tempfile.TemporaryDirectory(dir=target.parent, prefix=".", suffix=".part") as folder,
        zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as pack,
    ):
        ledger = Path(folder) / LEDGER_FILE
        copy = practice.ledger.copy_to(ledger)
        files[LEDGER_FILE] = _store(pack, LEDGER_FILE, ledger)
        settings = Path(folder) / FILE_NAME
        text = (practice.folder / FILE_NAME).read_text(encoding="utf-8")
        settings.write_text(_PASSWORD.sub(r"\1@", text), encoding="utf-8")
        files[FILE_NAME] = _store(pack, FILE_NAME, settings)
        for name, file in _files_in(practice.folder):
            with suppress(FileNotFoundError):  # taken away meanwhile: erased, or the hidden part of a file to be
                files[name] = _store(pack, name, file)
        manifest = _manifest(copy, files, now, key=signing)
        pack.writestr(MANIFEST, msgspec.json.encode(manifest))
    return copy, len(files)


def _files_in(folder: Path) -> Iterator[tuple[str, Path]]:
    """Give the files of a practice's folders; hidden ones are not whole yet."""
    for part in FOLDERS:
        for file in sorted((folder / part).rglob("*")):
            if file.is_file() and not file.name.startswith("."):
                yield file.relative_to(folder).as_posix(), file


def _store(pack: zipfile.ZipFile, name: str, file: Path) -> StoredFile:
    digest, size = hashlib.sha256(), 0
    with file.open("rb") as source, pack.open(name, "w", force_zip64=True) as target:
        while block := source.read(_BLOCK):
            digest.update(block)
            size += len(block)
            target.write(block)
    return StoredFile(bytes=size, sha256=digest.hexdigest())


def _manifest(copy: "CopyDone", files: dict[str, StoredFile], now: datetime, *, key: bytes) -> Manifest:
    from tracelabels.records import head_file, sign, sign_head  # noqa: PLC0415  heavy: only who needs the ledger

    heads = head_file(sign_head(head, at=now, signing_key=key) for head in copy.heads)
    bare = Manifest(
        format=BACKUP_FORMAT,
        made_at=now.isoformat(),
        release=version("tracelabels"),
        files=files,
        heads=heads.decode(),
        problems=[one.sentence for one in copy.problems],
        signature="",
    )
    return msgspec.structs.replace(bare, signature=sign(key, bare.statement()).hex())


def _sync(file: Path) -> None:
    with file.open("rb+") as opened:
        sync_file(opened)
