"""Keep a file as evidence: a photograph, a logger's file, a printed document; and open it again.

A file is named after its digest (``evidence/ab/cd...jpg``), written whole or not at all, and recorded as a fact. It is
written first and recorded second, inside the unit of writing that it belongs to: a file that no fact names does no
harm, a fact without its file would.

Photographs lose everything but their pixels before they are kept (``scanning.stripping``: a JPEG without loss, every
other kind as PNG). What may show a client is sealed with that client's key before it is written, so that it cannot be
read any more once the key is destroyed, not in an old backup either. PDFs and texts are kept byte for byte.
"""

import hashlib
import os
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from tracelabels.custody import AdverseEvent, Evidence, Incident, Kind, Name, Use
from tracelabels.errors import InputError
from tracelabels.workflows.leave_file import leave_file, sync_folder
from tracelabels.workflows.practice import EVIDENCE, Practice

if TYPE_CHECKING:
    from tracelabels.records import Reading, Writing

PURPOSE: Final = "evidence"
"""What sealed files are bound to."""
LARGEST: Final = 256 * 1024 * 1024
"""The largest file that is kept, in bytes; as large as the largest photograph that is read."""
SEALED_SUFFIX: Final = ".sealed"
_ABOUT_CLIENTS: Final[dict[Kind, type[Use | Incident | AdverseEvent]]] = {
    Kind.USE: Use,
    Kind.INCIDENT: Incident,
    Kind.ADVERSE_EVENT: AdverseEvent,
}
_SUFFIXES: Final = {
    "image/jpeg": ".jpg",
    "image/png": ".png",
    "application/pdf": ".pdf",
    "text/csv": ".csv",
    "text/plain": ".txt",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenedEvidence:
    """A file of evidence as it was kept, or why it cannot be shown."""

    evidence: Evidence
    """As recorded."""
    content: bytes | None
    """The file, opened; None if it cannot be read any more."""
    is_erased: bool
    """The client it was about was erased, and the file with the client."""


def keep_evidence(
    practice: Practice,
    ledger: "Writing",
    content: bytes,
    *,
    name: str,
    about: Name | None = None,
    client: Name | None = None,
) -> Evidence:
    """Keep a file and record it, inside an open unit of writing; return what was recorded.

    Args:
        practice: in whose folder it is kept.
        ledger: the open unit; a client recorded in the same unit is known already.
        content: the file.
        name: its name, for sentences and to tell tables (``.csv``) from other texts; it is not kept.
        about: what it is evidence for.
        client: whose personal data it may show; the file is then sealed with that client's key. None: the client whom
            it is about, directly or by a use, an incident or an adverse event, if there is one.

    Raises:
        InputError: the file is empty, too large, or of a kind whose hidden contents cannot be told.
        PictureError: a photograph is broken.
        LedgerError: the thing or the client is not on record, or the client was erased.
    """
    bare, media_type = _bare(content, name)
    client = client or _client_behind(ledger, about)
    if client is not None:
        bare = ledger.sealed_for(client, bare, purpose=PURPOSE)
    digest = hashlib.sha256(bare).hexdigest()
    evidence = Evidence(digest=digest, media_type=media_type, size=len(bare), about=about, client=client)
    if about is not None:
        ledger.require_thing(about)
    _write(evidence_file(practice, evidence), bare)
    ledger.record(evidence)
    return evidence


def _client_behind(ledger: "Reading", about: Name | None) -> Name | None:
    """Return the client whom a thing is about: what stands behind a use or an event may always show a person."""
    if about is None or about.kind not in _ABOUT_CLIENTS:
        return about if about is not None and about.kind is Kind.CLIENT else None
    return ledger.require(_ABOUT_CLIENTS[about.kind], about.text).value.client


def keep_file(
    practice: Practice, file: Path, *, by: str, about: Name | None = None, client: Name | None = None
) -> Evidence:
    """Keep a file in a unit of its own; see :func:`keep_evidence`."""
    with practice.write(by=by) as ledger:
        return keep_evidence(practice, ledger, read_file(file), name=file.name, about=about, client=client)


def read_file(file: Path) -> bytes:
    """Return a file's content.

    Raises:
        InputError: it is not there, or too large.
    """
    try:
        with file.open("rb") as opened:
            content = opened.read(LARGEST + 1)
    except OSError as problem:
        raise InputError(
            given=f"{file} ({problem.strerror})", expected="a file that can be read", remedy="check its name"
        ) from problem
    _require_size(content, file.name)
    return content


def open_evidence(practice: Practice, ledger: "Reading", evidence: Evidence) -> OpenedEvidence:
    """Open a file of evidence.

    Raises:
        InputError: the file is missing or was changed.
    """
    if evidence.client is not None and ledger.is_erased(evidence.client):
        return OpenedEvidence(evidence=evidence, content=None, is_erased=True)
    file = evidence_file(practice, evidence)
    stored = file.read_bytes() if file.exists() else None
    if stored is None or hashlib.sha256(stored).hexdigest() != evidence.digest:
        raise InputError(
            given=f"{evidence_name(evidence)}, which {'is missing' if stored is None else 'was changed'}",
            expected="the file that is on record",
            remedy="run verify, and put the file back from a backup",
        )
    if evidence.client is None:
        return OpenedEvidence(evidence=evidence, content=stored, is_erased=False)
    content = ledger.unsealed(evidence.client, stored, purpose=PURPOSE)
    return OpenedEvidence(evidence=evidence, content=content, is_erased=False)


def take_out(practice: Practice, digest: str, out: Path) -> OpenedEvidence:
    """Leave a copy of a file of evidence, opened, for people to look at; return what it is.

    Args:
        practice: the practice.
        digest: its digest, as recorded.
        out: where nothing lies yet; nothing is left of a file that was erased.

    Raises:
        InputError: no evidence has this digest, the file is missing or changed, or something lies there already.
    """
    if os.path.lexists(out) or not out.absolute().parent.is_dir():
        raise InputError(
            given=f"{str(out)!r}", expected="a new name in a folder that is there", remedy="choose another name"
        )
    with practice.ledger.read() as ledger:
        evidence = find_evidence(ledger, digest.strip().lower())
        if evidence is None:
            raise InputError(
                given=f"digest {digest!r}",
                expected="the digest of a file of evidence",
                remedy="see 'look' and 'history'",
            )
        opened = open_evidence(practice, ledger, evidence)
    if opened.content is not None:
        leave_file(out, opened.content)
    return opened


def find_evidence(ledger: "Reading", digest: str) -> Evidence | None:
    """Return the evidence with a digest, as it was first recorded."""
    return next((one.value for one in ledger.having(Evidence, "digest", digest)), None)


def find_content(practice: Practice, ledger: "Reading", digest: str) -> bytes | None:
    """Return the file with a digest, opened; None if none was recorded, or it went with an erased client.

    Raises:
        InputError: the file is missing or was changed.
    """
    evidence = find_evidence(ledger, digest)
    return None if evidence is None else open_evidence(practice, ledger, evidence).content


def evidence_name(evidence: Evidence) -> str:
    """Return where a file lies in the practice's folder.

    >>> evidence_name(Evidence(digest="ab" + "0" * 62, media_type="text/csv", size=9))[:18]
    'evidence/ab/000000'
    """
    suffix = _SUFFIXES[evidence.media_type] if evidence.client is None else SEALED_SUFFIX
    return f"{EVIDENCE}/{evidence.digest[:2]}/{evidence.digest[2:]}{suffix}"


def evidence_file(practice: Practice, evidence: Evidence) -> Path:
    """Return the path of a file of evidence."""
    return practice.folder / evidence_name(evidence)


def suffix_of(media_type: str) -> str:
    """Return how the names of such files end when they are opened."""
    return _SUFFIXES[media_type]


def _bare(content: bytes, name: str) -> tuple[bytes, str]:
    """Return a file as it may be kept, and its media type."""
    from tracelabels.scanning import find_picture_kind, strip_picture  # noqa: PLC0415  heavy: only who keeps a file

    _require_size(content, name)
    kind = find_picture_kind(content)
    if kind is not None and kind.value == "PDF":
        return content, "application/pdf"
    if kind is not None:
        picture = strip_picture(content, name=name)
        return picture.content, picture.media_type
    if not _is_text(content):
        raise InputError(
            given=f"{name}, which is neither a photograph, nor a PDF, nor text",
            expected="a photograph, a PDF, or text such as a logger's CSV",
            remedy="save it as one of these; what lies hidden in other kinds cannot be told",
        )
    return content, "text/csv" if name.lower().endswith(".csv") else "text/plain"


def _require_size(content: bytes, name: str) -> None:
    if not 0 < len(content) <= LARGEST:
        raise InputError(
            given=f"{name}, which {'is empty' if not content else 'is too large'}",
            expected=f"a file of up to {LARGEST // 1024**2} MB",
            remedy="save or send it again",
        )


def _is_text(content: bytes) -> bool:
    """Say whether it is text: no control characters but breaks and tabs; UTF-16 is known by its mark."""
    if content[:2] in {b"\xff\xfe", b"\xfe\xff"}:
        text = content.decode("utf-16", errors="replace")
    else:
        text = content.decode("latin-1")
    return not any(sign < " " and sign not in "\t\r\n\f\x1d\x1e" for sign in text)


def _write(place: Path, content: bytes) -> None:
    """Write a file whole or not at all, and see it and its name safely on the disk before any fact names it."""
    if place.exists() and place.read_bytes() == content:
        return
    place.parent.mkdir(parents=True, exist_ok=True)
    leave_file(place, content)
    for folder in (place.parent, place.parent.parent):
        sync_folder(folder)
