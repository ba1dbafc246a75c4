"""Where a practice's keys lie, and which of them a backup keeps apart.

A backup is one file without any key, and a second file with nothing else. So personal data in an old backup dies with
its key: destroy the old key files, keep the newest, and what it no longer opens is gone from every backup.
"""

import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from tracelabels.errors import InputError
from tracelabels.settings import Settings
from tracelabels.workflows.practice import KEY_FILE, LEDGER_FILE, Practice

SIGNING_KEY_FILE: Final = "ledger.signing-key"
"""The key that signs heads, where the database lies on a server."""
CHAIN_KEY: Final = "chain"
SIGNING_KEY: Final = "signing"


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyMaterial:
    """One key, by the name under which it is kept apart."""

    name: str
    """What it is for."""
    content: bytes
    """The key."""


def key_files(folder: Path, settings: Settings) -> dict[str, Path]:
    """Return where the keys of a practice's folder lie, by their names."""
    from tracelabels.records import key_path, signing_key_path  # noqa: PLC0415  heavy: only who needs the ledger

    if settings.database.url:
        return {CHAIN_KEY: folder / KEY_FILE, SIGNING_KEY: folder / SIGNING_KEY_FILE}
    database = folder / LEDGER_FILE
    return {CHAIN_KEY: key_path(database), SIGNING_KEY: signing_key_path(database)}


def put_keys(folder: Path, settings: Settings, keys: Mapping[str, bytes]) -> None:
    """Put keys that were kept apart where a practice's folder has them.

    Raises:
        InputError: a key is missing, or this release knows no such key.
    """
    from tracelabels.records import make_key_file  # noqa: PLC0415  as above

    places = key_files(folder, settings)
    if set(keys) != set(places):
        raise InputError(
            given=f"keys named {', '.join(sorted(keys)) or 'nothing'}",
            expected=f"{', '.join(sorted(places))}",
            remedy="name the newest file of keys of this practice, or restore with the release that made it",
        )
    for name, place in places.items():
        make_key_file(place, keys[name])


def key_material(practice: Practice, *, signing: bytes) -> tuple[KeyMaterial, ...]:
    """Return every key that must not lie in a backup beside what it protects.

    A new kind of key is added here (and left out of the copy, see ``records.copying``); nothing else need know of it.

    Args:
        practice: whose keys.
        signing: the key that signs the backup.
    """
    from tracelabels.records import read_or_make_key  # noqa: PLC0415  as above

    chain = read_or_make_key(key_files(practice.folder, practice.settings)[CHAIN_KEY], random_bytes=secrets.token_bytes)
    return (KeyMaterial(name=CHAIN_KEY, content=chain), KeyMaterial(name=SIGNING_KEY, content=signing))
