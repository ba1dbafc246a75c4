"""Signed ends of chains: what an outsider can check without any secret.

Who holds the practice's key and the database can write a chain anew; an end of the chain that was signed and kept
elsewhere shows it, and shows a chain cut short. A signed end is one JSON object; its signature is Ed25519 (RFC 8032)
over the canonical JSON (RFC 8785) of the object without the signature. A head file holds the ends of all chains of one
database, each with its own signature, so that one alone may be copied onto paper.
"""

import json
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

import msgspec
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from tracelabels.errors import LedgerError
from tracelabels.records.chain import canonical
from tracelabels.records.facts import Head
from tracelabels.records.rows import instant_text

FORMAT: Final = "tracelabels heads 1"
LARGEST_FILE: Final = 1_000_000
"""Bytes; a head takes about 400, and a database holds at most 100 chains."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SignedHead:
    """The end of a chain at a moment, signed by the practice."""

    head: Head
    """The end."""
    time: str
    """When it was signed, in UTC."""
    public_key: bytes
    """The practice's public key (32 bytes)."""
    signature: bytes
    """Ed25519 over all of the above (64 bytes)."""


class _HeadRecord(msgspec.Struct, forbid_unknown_fields=True):
    site: int
    sequence: int
    link: str
    time: str
    public_key: str
    signature: str


class _HeadFile(msgspec.Struct, forbid_unknown_fields=True):
    format: str
    heads: list[_HeadRecord]


def public_key_of(signing_key: bytes) -> bytes:
    """Return the public half of a signing key: whoever has it can check signatures and make none."""
    return Ed25519PrivateKey.from_private_bytes(signing_key).public_key().public_bytes_raw()


def sign(signing_key: bytes, statement: object) -> bytes:
    """Return the signature over a statement's canonical JSON."""
    return Ed25519PrivateKey.from_private_bytes(signing_key).sign(canonical(statement))


def is_signed(public_key: bytes, statement: object, signature: bytes) -> bool:
    """Say whether a signature over a statement's canonical JSON is right."""
    try:
        Ed25519PublicKey.from_public_bytes(public_key).verify(signature, canonical(statement))
    except (InvalidSignature, ValueError):
        return False
    return True


def sign_head(head: Head, *, at: datetime, signing_key: bytes) -> SignedHead:
    """Sign the end of a chain as it stands at a moment."""
    time, public_key = instant_text(at), public_key_of(signing_key)
    signature = sign(signing_key, _statement(head, time, public_key))
    return SignedHead(head=head, time=time, public_key=public_key, signature=signature)


def _statement(head: Head, time: str, public_key: bytes) -> dict[str, object]:
    return {
        "site": head.site,
        "sequence": head.sequence,
        "link": head.link.hex(),
        "time": time,
        "public_key": public_key.hex(),
    }


def head_file(heads: Iterable[SignedHead]) -> bytes:
    """Write signed heads as a file: JSON that people can read too."""
    records = [{**_statement(one.head, one.time, one.public_key), "signature": one.signature.hex()} for one in heads]
    return (json.dumps({"format": FORMAT, "heads": records}, indent=2) + "\n").encode()


def read_head_file(file: Path, *, public_keys: Collection[bytes]) -> tuple[SignedHead, ...]:
    """Read the signed heads in a file, each checked.

    Args:
        file: written by :func:`head_file`.
        public_keys: the practice's own, earlier ones too.

    Raises:
        LedgerError: it is no head file, it was changed, or another key signed it.
    """
    try:
        with file.open("rb") as opened:
            content = opened.read(LARGEST_FILE + 1)
    except OSError as problem:
        raise _refused(file.name, f"cannot be read ({problem.strerror})", _no_head_file) from problem
    return parse_heads(content, name=file.name, public_keys=public_keys)


def parse_heads(content: bytes, *, name: str, public_keys: Collection[bytes]) -> tuple[SignedHead, ...]:
    """Read the signed heads in a file's content, each checked; see :func:`read_head_file`."""
    try:
        read = msgspec.json.decode(content, type=_HeadFile)
        heads = tuple(map(_head_from, read.heads))
    except (msgspec.DecodeError, ValueError, UnicodeDecodeError) as problem:
        raise _refused(name, "is no head file", _no_head_file) from problem
    if read.format != FORMAT or not heads:
        raise _refused(name, "is no head file of this kind", _no_head_file)
    for one in heads:
        _require_signed(one, name, public_keys)
    return heads


def _head_from(record: _HeadRecord) -> SignedHead:
    return SignedHead(
        head=Head(site=record.site, sequence=record.sequence, link=bytes.fromhex(record.link)),
        time=record.time,
        public_key=bytes.fromhex(record.public_key),
        signature=bytes.fromhex(record.signature),
    )


def _require_signed(one: SignedHead, name: str, public_keys: Collection[bytes]) -> None:
    which = f"holds a head of site {one.head.site} at fact {one.head.sequence}"
    if not is_signed(one.public_key, _statement(one.head, one.time, one.public_key), one.signature):
        raise _refused(name, f"{which} whose signature is wrong", _changed)
    if one.public_key not in public_keys:
        known = " or ".join(map(fingerprint, public_keys)) or "one that is known here"
        raise _refused(name, f"{which} signed with key {fingerprint(one.public_key)}, not {known}", _foreign)


def fingerprint(public_key: bytes) -> str:
    """Return how a key is told from others in sentences: the first 16 hexadecimal digits of its public half."""
    return public_key.hex()[:16]


def _refused(name: str, what: str, kind: Callable[[str], LedgerError]) -> LedgerError:
    return kind(f"head file {name}, which {what}")


def _no_head_file(given: str) -> LedgerError:
    return LedgerError(
        given=given, expected="a file that 'tracelabels head' left", remedy="name that file; this one says nothing"
    )


def _changed(given: str) -> LedgerError:
    return LedgerError(
        given=given,
        expected="a head as it was signed",
        remedy="it was changed since: take another copy of it, and ask who could write to this one",
    )


def _foreign(given: str) -> LedgerError:
    return LedgerError(
        given=given,
        expected="a head that this practice signed",
        remedy="name a head of this practice, or put back the signing key with which it was signed",
    )
