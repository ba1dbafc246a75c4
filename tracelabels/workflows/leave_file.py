"""Leave files for people: whole or not at all, and never over something else.

A file is written beside its place under another name and gets its name at the end. What is there already is replaced
only if it is a file of the same kind; a practice's ledger, settings and printed runs are never written over.
"""

import os
import stat
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from enum import Enum
from pathlib import Path
from typing import IO, Final

from tracelabels.errors import InputError
from tracelabels.settings import FILE_NAME
from tracelabels.workflows.practice import PRINTED

_BLOCK: Final = 1 << 20


class FileKind(Enum):
    """A kind of file that is left; the value is how such a file begins."""

    PDF = b"%PDF-"
    PNG = b"\x89PNG\r\n\x1a\n"
    HTML = b"<!doctype html>"
    SVG = b'<?xml version="1.0" encoding="UTF-8"?>\n<svg'
    CSV = b"\xef\xbb\xbf"
    HEADS = b'{\n  "format": "tracelabels heads'


def require_place(out: Path, kind: FileKind, *, not_over: Sequence[Path] = ()) -> None:
    """See that a file may be left at a place, before any work is done for it.

    Args:
        out: the place.
        kind: the kind of file.
        not_over: files that were read for it.

    Raises:
        InputError: the folder is not there, or something is there that is not to be written over.
    """
    if not out.name or not out.parent.is_dir():
        raise InputError(
            given=f"{str(out)!r}", expected="a file in a folder that is there", remedy=f"make the folder {out.parent}"
        )
    if out.parent.name == PRINTED and (out.parent.parent / FILE_NAME).exists() and out.exists():
        raise InputError(
            given=f"{out}, the file of a recorded print run", expected="another name", remedy="choose another place"
        )
    if not os.path.lexists(out):
        return
    if any(out.exists() and other.exists() and out.samefile(other) for other in not_over) or not _is(out, kind):
        raise InputError(
            given=f"{out}, where something else lies already",
            expected=f"a new name, or an old {kind.name} file to be replaced",
            remedy="choose another name; nothing was written",
        )


def _is(out: Path, kind: FileKind) -> bool:
    if not stat.S_ISREG(out.stat().st_mode if out.exists() else out.lstat().st_mode):
        return False
    with out.open("rb") as file:
        return file.read(len(kind.value)) == kind.value


@contextmanager
def whole_files(files: Sequence[tuple[Path, bytes]]) -> Iterator[None]:
    """Write each file beside its place, yield, then give all their names; if anything fails before, nothing is left."""
    written: list[tuple[Path, Path]] = []
    try:
        for place, content in files:
            written.append((_write_beside(place, content), place))
        yield
        for hidden, place in written:
            hidden.replace(place)
    except BaseException:
        for hidden, _ in written:
            hidden.unlink(missing_ok=True)
        raise


def leave_file(place: Path, content: bytes) -> None:
    """Leave one file, whole or not at all."""
    with whole_files([(place, content)]):
        pass


def _write_beside(place: Path, content: bytes) -> Path:
    handle, name = tempfile.mkstemp(dir=place.parent, prefix=".", suffix=".part")
    hidden = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            sync_file(file)
        umask = os.umask(0)
        os.umask(umask)
        hidden.chmod(0o666 & ~umask)  # as an ordinary new file; a temporary one is for its owner only
    except BaseException:
        hidden.unlink(missing_ok=True)
        raise
    return hidden


def destroy_file(file: Path) -> bool:
    """Overwrite a file, then take its name away; say whether it was there."""
    if not file.exists():
        return False
    with file.open("r+b") as opened:
        left = os.fstat(opened.fileno()).st_size
        while left > 0:
            left -= opened.write(bytes(min(left, _BLOCK)))
        sync_file(opened)
    file.unlink()
    sync_folder(file.parent)
    return True


def sync_file(opened: IO[bytes]) -> None:
    """See a file safely on the disk."""
    opened.flush()
    os.fsync(opened.fileno())


def sync_folder(folder: Path) -> None:
    """See a folder's names safely on the disk, where a folder can be synced."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
