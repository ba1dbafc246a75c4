"""The photographs, PDFs and clips of a folder, in the order that people count in."""

import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from tracelabels.errors import PictureError
from tracelabels.scanning.signatures import HEAD_LENGTH, find_clip_kind, find_kind

_STILLS: Final = "jpg jpeg jpe jfif mpo png apng webp tif tiff gif bmp heic heif hif pdf"
_FILMS: Final = "mp4 m4v mov 3gp mkv webm avi"
_ENDINGS: Final = frozenset(f".{one}" for one in f"{_STILLS} {_FILMS}".split())
"""A file so named is meant as a picture: if it is none, that is told."""
_HIDDEN: Final = "."


@dataclass(frozen=True, slots=True, kw_only=True)
class FolderOfPhotographs:
    """What lies in a folder."""

    photographs: tuple[Path, ...]
    """Files that are pictures or are named like ones, in order."""
    others: int
    """How many other files there are; hidden ones are not counted."""


def find_photographs(folder: Path, *, with_folders_inside: bool = False) -> FolderOfPhotographs:
    """Return the photographs in a folder: ``2.jpg`` before ``10.jpg``, a folder's own before those further in.

    Args:
        folder: the folder.
        with_folders_inside: whether folders in it are looked into, too; links to folders are not followed.

    Raises:
        PictureError: it cannot be listed, or holds no picture.
    """
    photographs: list[Path] = []
    others = 0
    for file in _files(folder, with_folders_inside=with_folders_inside):
        if _is_picture(file):
            photographs.append(file)
        else:
            others += 1
    if not photographs:
        raise PictureError(
            given=f"{folder}, a folder in which no picture lies",
            expected="a folder with photographs, PDFs or clips",
            remedy="check the name, or look into the folders inside it as well" if others == 0 else "check the name",
        )
    return FolderOfPhotographs(photographs=tuple(photographs), others=others)


def _files(folder: Path, *, with_folders_inside: bool) -> Iterator[Path]:
    try:
        with os.scandir(folder) as listed:
            entries = [entry for entry in listed if not entry.name.startswith(_HIDDEN)]
    except OSError as error:
        raise PictureError(
            given=f"{folder}, a folder that cannot be listed",
            expected="a folder with photographs",
            remedy="check who may read it",
        ) from error
    entries.sort(key=lambda entry: _natural(entry.name))
    yield from (Path(entry.path) for entry in entries if entry.is_file())
    if with_folders_inside:
        for entry in entries:
            if entry.is_dir(follow_symlinks=False):
                yield from _files(Path(entry.path), with_folders_inside=True)


def _natural(name: str) -> tuple[list[tuple[int, str]], str]:
    """Return what a name is sorted by: numbers as numbers, letters whatever their case."""
    pieces = re.split(r"([0-9]+)", name.casefold())
    return [(int(one), "") if place % 2 else (-1, one) for place, one in enumerate(pieces)], name


def _is_picture(file: Path) -> bool:
    if file.suffix.lower() in _ENDINGS:
        return True
    try:
        with file.open("rb") as opened:
            head = opened.read(HEAD_LENGTH)
    except OSError:
        return False
    return find_kind(head) is not None or find_clip_kind(head) is not None
