"""Erase a client: everything personal goes for good; that there was a client, and what was used, stays on record.

Asked and done in one unit of writing: nobody can open a recall in between. Then the files go that were sealed with the
client's key (overwritten first; without the key they could not be read any more anyway), the letters and call lists
that were left for people and still lie in the practice's folder as they were left, and the database's own files are
scrubbed. Done again, it finishes what was interrupted.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final

from tracelabels.custody import (
    AdverseEvent,
    Client,
    Evidence,
    Fill,
    Incident,
    Kind,
    Name,
    PouchOpening,
    Reason,
    Recall,
    RecallAction,
    Use,
    open_recalls,
    reasons_to_keep,
)
from tracelabels.workflows.keep_evidence import evidence_file, evidence_name
from tracelabels.workflows.leave_file import destroy_file
from tracelabels.workflows.note_left_file import LeftFile, as_left_file, take_away
from tracelabels.workflows.plain_reasons import require_plain
from tracelabels.workflows.practice import Practice
from tracelabels.workflows.recall import clients_of

if TYPE_CHECKING:
    from tracelabels.records import Reading

NOT_REACHED: Final = (
    "backups taken before: destroy their files of keys (.keys) and keep the newest; what they hold cannot be read then",
    "what left this folder: printed letters, copies and exported files, another site's ledger until it is merged",
    "on PostgreSQL: archived write-ahead logs and the server's own backups",
)
"""What erasing here cannot reach, in words."""
_SHORTEST: Final = 4
"""Characters; shorter texts stand everywhere by chance."""
_IDENTIFYING: Final = ("name", "hospital_number", "contact")
_BLOCK: Final = 1 << 20


@dataclass(frozen=True, slots=True, kw_only=True)
class ClientErased:
    """What erasing a client did, or why it was refused."""

    client: Name
    """The client, by code."""
    refused: tuple[Reason, ...] = ()
    """Every reason against it; empty if it was done."""
    facts: int = 0
    """So many facts lost their personal content."""
    files: tuple[str, ...] = ()
    """Files of evidence that were destroyed."""
    letters: tuple[str, ...] = ()
    """Letters and call lists in the practice's folder that named the client and were destroyed, whole."""
    by_hand: tuple[str, ...] = ()
    """Of each other letter or call list on record a sentence: where to look for it by hand."""
    left_over: tuple[str, ...] = ()
    """Files of the practice's folder in which the client's name, number or contact still stands as plain text."""


def erase_client(practice: Practice, code: str, *, by: str, reason: str) -> ClientErased:
    """Erase everything personal about a client, unless something stands against it.

    Nothing stands against erasing a client who was recorded by mistake and taken back.

    Args:
        practice: the practice.
        code: the client's code.
        by: opaque staff id.
        reason: why; nothing personal.

    Raises:
        InputError: the reason says what is personal.
        LedgerError: no such client, or no reason is given; or the log could not be emptied: then do it again.
    """
    client = Name(Kind.CLIENT, code.strip())
    with practice.write(by=by) as ledger:
        thing = ledger.require_client(client)
        is_open = ledger.find_thing(client) is not None and not ledger.is_erased(client)
        refused = _reasons(practice, ledger, client) if is_open else ()
        if refused:
            return ClientErased(client=client, refused=refused)
        versions = [said for said in (ledger.said(one.id) for one in ledger.history(thing)) if isinstance(said, Client)]
        require_plain(reason, *versions)
        personal = {text for version in versions for text in _identifying(version)}
        files, left = _files(practice, ledger, client)
        facts = ledger.erase_client(client, reason=reason)
    destroyed = tuple(evidence_name(one) for one in files if destroy_file(evidence_file(practice, one)))
    taken = take_away(practice, left)
    practice.ledger.scrub()
    left_over = tuple(_holding(practice.folder, personal))
    return ClientErased(
        client=client,
        facts=facts,
        files=destroyed,
        letters=taken.destroyed,
        by_hand=taken.by_hand,
        left_over=left_over,
    )


def _files(practice: Practice, ledger: "Reading", client: Name) -> tuple[tuple[Evidence, ...], tuple[LeftFile, ...]]:
    """Return every file that was sealed with a client's key or left for people, also if its record was taken back."""
    said = [(one, ledger.said(one.id)) for one in ledger.facts_naming(ledger.require_client(client))]
    files = {one.digest: one for _, one in said if isinstance(one, Evidence) and one.client == client}
    left = (as_left_file(practice, fact, one) for fact, one in said)
    return tuple(files.values()), tuple(one for one in left if one is not None)


def _reasons(practice: Practice, ledger: "Reading", client: Name) -> tuple[Reason, ...]:
    events = [one.value for one in ledger.about(AdverseEvent, "client", client)]
    actions = (one.value for one in ledger.every(RecallAction))
    still_open = open_recalls((one.value for one in ledger.every(Recall)), actions)
    recalls = [one for one in still_open if _is_reached(practice, ledger, client, one)]
    return reasons_to_keep(
        rules=practice.settings.retention.as_rules(),
        last=_last_day(practice, ledger, client),
        today=practice.today,
        recalls=recalls,
        events=events,
    )


def _is_reached(practice: Practice, ledger: "Reading", client: Name, recall: Recall) -> bool:
    """Say whether a recall reached a client, also by an incident only, or reaches the client today.

    What happened during an outage is entered late, also after the recall was recorded.
    """
    touched = {one.value.as_name for one in ledger.about(Incident, "client", client)}
    was_reached = client in recall.clients or bool(touched.intersection(recall.incidents))
    return was_reached or client in clients_of(practice, ledger, recall)


def _last_day(practice: Practice, ledger: "Reading", client: Name) -> date:
    """Return the day on which something last happened to a client, in the practice's zone."""
    entered = ledger.find_fact(ledger.require_thing(client))
    moments: list[datetime] = [] if entered is None else [entered.happened_at]
    kinds: tuple[type[Use | Incident | PouchOpening | Fill], ...] = (Use, Incident, PouchOpening, Fill)
    moments += [one.value.at for kind in kinds for one in ledger.about(kind, "client", client)]
    days = [practice.day_of(moment) for moment in moments]
    days += [day for one in ledger.about(AdverseEvent, "client", client) for day in _days(one.value)]
    return max(days)


def _days(event: AdverseEvent) -> Iterator[date]:
    yield from (day for day in (event.onset, event.report_sent, event.closed_on) if day is not None)


def _identifying(client: Client) -> tuple[str, ...]:
    said = {one.name: getattr(client, one.name) for one in fields(client) if one.name in _IDENTIFYING}
    return tuple(text for text in said.values() if text is not None and len(text) >= _SHORTEST)


def _holding(folder: Path, texts: Iterable[str]) -> Iterator[str]:
    """Give the files that hold one of these texts as plain bytes; what is compressed or sealed is not looked into."""
    wanted = [text.encode(coding) for text in texts for coding in ("utf-8", "utf-16-le", "utf-16-be")]
    if not wanted:
        return
    overlap = max(map(len, wanted)) - 1
    for file in sorted(one for one in folder.rglob("*") if one.is_file()):
        tail = b""
        with file.open("rb") as opened:
            while block := opened.read(_BLOCK):
                window = tail + block
                if any(one in window for one in wanted):
                    yield file.relative_to(folder).as_posix()
                    break
                tail = window[-overlap:]
