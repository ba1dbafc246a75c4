"""The key that signs heads, and what is known of the keys that signed before it.

Beside the signing key lies a file with the public half of every key that ever signed here. It holds no secret: by it a
key that was lost is noticed, so that none is silently put in its place, and heads that a lost key signed still count
as witnesses.
"""

import os
import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from tracelabels.errors import InputError, LedgerError
from tracelabels.settings import Settings
from tracelabels.workflows.practice import Practice
from tracelabels.workflows.practice_keys import SIGNING_KEY, key_files

PUBLIC_SUFFIX: Final = ".public"
"""At the end of the name of the signing key's file: the public halves, one a line, the newest last."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Signers:
    """The public halves of the keys that sign here, or did."""

    in_force: bytes | None
    """Of the key that lies here; None if none does."""
    earlier: tuple[bytes, ...]
    """Of the keys that signed before and do not lie here any more."""

    @property
    def known(self) -> tuple[bytes, ...]:
        """Return all of them."""
        return self.earlier if self.in_force is None else (*self.earlier, self.in_force)

    @property
    def sentences(self) -> tuple[str, ...]:
        """Say which key was lost; nothing if none was."""
        from tracelabels.records import fingerprint  # noqa: PLC0415  heavy: only who needs the ledger

        if not self.earlier:
            return ()
        lost = ", ".join(fingerprint(one) for one in self.earlier)
        now = f"key {fingerprint(self.in_force)} is in force" if self.in_force else "no signing key lies here"
        return (f"Heads signed with key {lost} can no longer be extended, for that key is not here any more; {now}.",)


def find_signers(practice: Practice) -> Signers:
    """Return which keys sign here, or did; nothing is made."""
    from tracelabels.records import public_key_of  # noqa: PLC0415  as above

    key = _find_key(practice)
    own = None if key is None else public_key_of(key)
    noted = _noted(_public_file(practice.folder, practice.settings))
    return Signers(in_force=own, earlier=tuple(one for one in noted if one != own))


def signing_key(practice: Practice) -> bytes:
    """Return the key that signs heads; it is made when it is first needed.

    Raises:
        LedgerError: a key signed here before and does not lie here any more.
    """
    key = _find_key(practice)
    if key is None:
        signers = find_signers(practice)
        if signers.earlier:
            raise LedgerError(
                given=signers.sentences[0].removesuffix("."),
                expected="the signing key with which heads were signed",
                remedy="put its file back from the keys of a backup; "
                "if it is lost for good, begin a new one with 'tracelabels head --new-key'",
            )
        return _make(practice)
    _note_key(practice, key)
    return key


def begin_signing_key(practice: Practice) -> None:
    """Begin a new signing key where the earlier one is lost for good.

    Raises:
        InputError: a key lies here.
    """
    if _find_key(practice) is not None:
        raise InputError(
            given="a new signing key, while one lies here",
            expected="a practice whose signing key is lost",
            remedy="leave --new-key out; or, if the key must not be used any more, take its file away first",
        )
    _make(practice)


def key_for_backup(practice: Practice) -> tuple[bytes, tuple[str, ...]]:
    """Return the key that signs a backup, and what is wrong with it: a lost key must not end all backups."""
    try:
        return signing_key(practice), ()
    except LedgerError as lost:
        if _find_key(practice) is not None:
            raise
        return secrets.token_bytes(32), (f"{lost}; this backup is signed with a key of its own",)


def note_signers(folder: Path, settings: Settings, signers: Sequence[bytes]) -> None:
    """Note public halves of keys that signed, each once."""
    file = _public_file(folder, settings)
    missing = [one for one in dict.fromkeys(signers) if one not in _noted(file)]
    if missing:
        with file.open("a", encoding="ascii") as opened:
            opened.writelines(f"{one.hex()}\n" for one in missing)
            opened.flush()
            os.fsync(opened.fileno())


def _make(practice: Practice) -> bytes:
    from tracelabels.records import read_or_make_key  # noqa: PLC0415  as above

    file = key_files(practice.folder, practice.settings)[SIGNING_KEY]
    key = read_or_make_key(file, random_bytes=secrets.token_bytes)
    _note_key(practice, key)
    return key


def _find_key(practice: Practice) -> bytes | None:
    from tracelabels.records import read_or_make_key  # noqa: PLC0415  as above

    file = key_files(practice.folder, practice.settings)[SIGNING_KEY]
    return read_or_make_key(file, random_bytes=secrets.token_bytes) if file.exists() else None


def _note_key(practice: Practice, key: bytes) -> None:
    from tracelabels.records import public_key_of  # noqa: PLC0415  as above

    note_signers(practice.folder, practice.settings, [public_key_of(key)])


def _public_file(folder: Path, settings: Settings) -> Path:
    file = key_files(folder, settings)[SIGNING_KEY]
    return file.with_name(file.name + PUBLIC_SUFFIX)


def _noted(file: Path) -> tuple[bytes, ...]:
    try:
        lines = file.read_text("ascii").split()
        return tuple(dict.fromkeys(bytes.fromhex(line) for line in lines))
    except FileNotFoundError:
        return ()
    except ValueError as problem:
        raise LedgerError(
            given=f"{file.name}, which holds something else than public keys",
            expected="64 hexadecimal digits on each line",
            remedy="put the file back from a copy, or take the lines away that are none",
        ) from problem
