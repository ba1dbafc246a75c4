"""Check the record: every link of the chain, every signed head that was kept, every file whose digest is on record."""

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from tracelabels.custody import Evidence
from tracelabels.errors import LedgerError
from tracelabels.workflows.keep_evidence import evidence_name
from tracelabels.workflows.practice import PRINTED, Practice
from tracelabels.workflows.signing_keys import find_signers

if TYPE_CHECKING:
    from tracelabels.records import Condition, Head, Reading


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing that is wrong with the record."""

    at: str
    """The fact, or the file."""
    sentence: str
    """What is wrong with it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RefusedHead:
    """A head file that could not be taken as a witness."""

    file: Path
    """The file."""
    sentence: str
    """Why not."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Verified:
    """What was checked, and what was found."""

    findings: tuple[Finding, ...]
    """What is wrong, the first broken link first; empty if nothing is."""
    condition: "Condition"
    """How the database works."""
    heads: int
    """So many signed heads were compared."""
    refused: tuple[RefusedHead, ...]
    """Head files that say nothing about this ledger."""
    files_checked: int
    """So many files have the digest that is on record."""
    files_elsewhere: tuple[str, ...]
    """Files with a digest on record that lie elsewhere: printed to another place, or kept by another site."""
    files_erased: int = 0
    """So many files of evidence were erased together with their client."""
    lost_keys: tuple[str, ...] = ()
    """Sentences about signing keys that are not here any more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedFile:
    """A file whose digest is on record."""

    name: str
    """Where it lies in the practice's folder."""
    digest: str
    """SHA-256, hexadecimal."""
    may_lie_elsewhere: bool = False
    """It may have been printed to another place."""
    site: int | None = None
    """The site in whose folder it was kept; None for this one."""
    is_erased: bool = False
    """It was about a client who was erased: it is rightly gone, and must not come back."""


def verify_records(
    practice: Practice,
    head_files: Sequence[Path] = (),
    *,
    heads: "Sequence[Head]" = (),
    besides: Sequence[Finding] = (),
) -> Verified:
    """Walk every chain from its first fact, compare the heads that were kept, and read every file on record.

    Args:
        practice: the practice.
        head_files: files with signed heads; one that cannot be used is named and the others still count.
        heads: ends of chains that are known otherwise.
        besides: what is known to be wrong already.
    """
    read, refused = _read_heads(practice, head_files)
    known = [*heads, *read]
    findings = [Finding(at=str(one.at), sentence=one.sentence) for one in practice.ledger.verify(heads=known)]
    with practice.ledger.read() as ledger:
        recorded = list(recorded_files(ledger))
    checked, elsewhere = 0, []
    for one in recorded:
        digest = _digest(practice.folder / one.name)
        sentence = _wrong_with(one, digest, own_site=practice.ledger.site)
        if sentence is not None:
            findings.append(Finding(at=one.name, sentence=f"{one.name}: {sentence}"))
        elif digest is not None:
            checked += 1
        elif not one.is_erased:
            elsewhere.append(one.name)
    return Verified(
        findings=(*findings, *besides),
        condition=practice.ledger.condition(),
        heads=len(known),
        refused=tuple(refused),
        files_checked=checked,
        files_elsewhere=tuple(elsewhere),
        files_erased=sum(one.is_erased for one in recorded),
        lost_keys=find_signers(practice).sentences,
    )


def _wrong_with(file: RecordedFile, digest: str | None, *, own_site: int) -> str | None:
    """Say what is wrong with a file on record; None if nothing is."""
    if file.is_erased:
        return None if digest is None else "it was erased with its client and is here again; erase the client again"
    if digest is None:
        elsewhere = file.may_lie_elsewhere or file.site not in {None, own_site}
        return None if elsewhere else "the file is missing"
    return None if digest == file.digest else "the file is not the one that is on record"


def recorded_files(ledger: "Reading") -> Iterator[RecordedFile]:
    """Give every file whose digest is on record; a new kind of file is added here."""
    for one in ledger.print_runs():
        if one.value.proof_digest is not None:
            name = f"{PRINTED}/{one.value.number}.pdf"
            yield RecordedFile(name=name, digest=one.value.proof_digest, may_lie_elsewhere=True)
    yield from _evidence(ledger)


def _evidence(ledger: "Reading") -> Iterator[RecordedFile]:
    seen: set[str] = set()
    for one in ledger.every(Evidence):
        name = evidence_name(one.value)
        if name not in seen:
            seen.add(name)
            client = one.value.client
            is_erased = client is not None and ledger.is_erased(client)
            yield RecordedFile(name=name, digest=one.value.digest, is_erased=is_erased, site=one.fact.site)


def _read_heads(practice: Practice, files: Sequence[Path]) -> tuple[list["Head"], list[RefusedHead]]:
    from tracelabels.records import read_head_file  # noqa: PLC0415  heavy: only who gives a head

    if not files:
        return [], []
    heads: list[Head] = []
    refused: list[RefusedHead] = []
    public_keys = find_signers(practice).known
    for file in files:
        try:
            heads += (one.head for one in read_head_file(file, public_keys=public_keys))
        except LedgerError as problem:
            refused.append(RefusedHead(file=file, sentence=str(problem)))
    return heads, refused


def _digest(file: Path) -> str | None:
    """Return a file's digest; None if it is not there."""
    try:
        with file.open("rb") as opened:
            return hashlib.file_digest(opened, "sha256").hexdigest()
    except FileNotFoundError:
        return None
