"""Letters and a call list for the clients of a recall: the one place of it where personal data is opened."""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from tracelabels.custody import Client, ClientEnd, ClientStanding, Kind, Link, Name, RecallAction, RecallStep
from tracelabels.errors import InputError, LedgerError
from tracelabels.lengths import Mm, Points
from tracelabels.paper import Face, Fragment, Paper, missing_characters, text_width
from tracelabels.words import as_cell
from tracelabels.workflows.keep_evidence import keep_evidence
from tracelabels.workflows.leave_file import FileKind, require_place, whole_files
from tracelabels.workflows.note_left_file import note_left_file, require_unpacked
from tracelabels.workflows.practice import Practice
from tracelabels.workflows.recall import Standing, find_recall

if TYPE_CHECKING:
    from tracelabels.records import Reading, Recorded

_PAGE: Final = (Mm(210.0), Mm(297.0))
_LEFT, _TOP, _ROOM, _STEP = 25.0, 30.0, 160.0, 5.6
_SIZE, _TITLE = Points(10.5), Points(13.0)
_WHY: Final = (
    "something that we used when you were with us is being called back. We write to everybody whom it may concern, "
    "and on our record you are one of them:"
)
_NO_ADVICE: Final = (
    "This letter says what our record says. It is no medical advice: what it means for you is for your physician "
    "to judge. Please show this letter to your physician, and to the surgeon who referred you if there is one."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ToTell:
    """One client who is to be told."""

    client: Client
    """Who, opened."""
    standing: ClientStanding
    """How the client stands in the recall."""
    uses: tuple[str, ...]
    """The uses and incidents that touched the client, each with its moment."""
    tried_on: tuple[str, ...]
    """The days on which somebody tried to reach the client in vain."""
    reached_on: str
    """The day on which the client was reached; empty as long as nobody did."""
    reached_by: str
    """Staff code of who recorded it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What was left."""

    letters: int
    """Letters set."""
    by_hand: tuple[Name, ...]
    """Clients whose letter has to be written by hand: no name on record, or a script that our face cannot show."""
    erased: tuple[Name, ...]
    """Clients of whom nothing personal is left."""


def leave_letters(practice: Practice, number: str, *, letters: Path | None, call_list: Path | None, by: str) -> Told:
    """Leave a letter for each client of a recall, one a page, and a list for calling them.

    Clients of protected care come first. What is left holds personal data: keep it as you keep the client's file. Each
    letter is kept as evidence, sealed with its client's key, and so is a list that shows one client only; the files
    that are left are noted, so that erasing a client finds them.

    Args:
        practice: where.
        number: the recall's number.
        letters: where the PDF goes; None for none.
        call_list: where the CSV goes; None for none.
        by: opaque staff id.

    Raises:
        InputError: there is no such recall, a place is taken, backups would copy it, or its name is personal.
        LedgerError: a client was erased meanwhile.
    """
    for place, kind in ((letters, FileKind.PDF), (call_list, FileKind.CSV)):
        if place is not None:
            require_place(place, kind)
            require_unpacked(practice, place)
    standing = find_recall(practice, number)
    if standing is None:
        raise InputError(given=f"recall {number}", expected="a recall on record", remedy="check its number")
    people = _people(practice, standing)
    by_hand = tuple(one.client.as_name for one in people if not _can_be_set(one.client))
    set_here = [one for one in people if _can_be_set(one.client)]
    files = []
    if letters is not None:
        files.append(_letters_file(practice, standing, letters, set_here))
    if call_list is not None:
        files.append(_call_list_file(call_list, people))
    with whole_files([(one.place, one.content) for one in files]):
        _record(practice, standing.recall.as_name, files, by=by)
    erased = tuple(one.client for one in standing.clients if one.end is ClientEnd.ERASED)
    return Told(letters=len(set_here) if letters else 0, by_hand=by_hand, erased=erased)


@dataclass(frozen=True, slots=True, kw_only=True)
class _ToLeave:
    """A file before it has its name."""

    place: Path
    content: bytes
    clients: Sequence[Client]
    alone: Sequence[tuple[Name, bytes]]
    """What of it shows one client alone, and whom: it is kept."""


def _letters_file(practice: Practice, standing: Standing, place: Path, people: Sequence[ToTell]) -> _ToLeave:
    return _ToLeave(
        place=place,
        content=_letters(practice, standing, people),
        clients=[one.client for one in people],
        alone=[(one.client.as_name, _letters(practice, standing, [one])) for one in people],
    )


def _call_list_file(place: Path, people: Sequence[ToTell]) -> _ToLeave:
    content, clients = _call_list(people), [one.client for one in people]
    alone = [(one.as_name, content) for one in clients] if len(clients) == 1 else []
    return _ToLeave(place=place, content=content, clients=clients, alone=alone)


def _record(practice: Practice, recall: Name, files: Sequence[_ToLeave], *, by: str) -> None:
    """Keep what shows one client alone, and note every file, in the unit after which the files get their names."""
    with practice.write(by=by) as unit:
        for file in files:
            for client in file.clients:
                _require_not_erased(unit, client.as_name)
            for name, content in file.alone:
                keep_evidence(practice, unit, content, name="alone.csv", about=recall, client=name)
            note_left_file(unit, practice, recall, file.place, file.content, file.clients)


def _require_not_erased(ledger: "Reading", client: Name) -> None:
    if ledger.is_erased(client):
        raise LedgerError(
            given=f"{client}, who was erased meanwhile",
            expected="a client whose name is on record",
            remedy="ask for the letters again; nothing was written",
        )


def _people(practice: Practice, standing: Standing) -> list[ToTell]:
    touched: dict[Name, list[str]] = {}
    graph = standing.trace.forward
    for edge in graph.edges:
        if edge.link in {Link.USE_CLIENT, Link.INCIDENT_CLIENT}:
            touched.setdefault(edge.effect, []).append(f"{edge.cause.text}, {graph.nodes[edge.cause].words}")
    with practice.ledger.read() as ledger:
        steps = ledger.about(RecallAction, "recall", standing.recall.as_name)
        people = [
            _to_tell(practice, ledger, one, uses=touched.get(one.client, ()), steps=steps)
            for one in standing.clients
            if one.client not in standing.trace.erased and one.client.kind is Kind.CLIENT
        ]
    return sorted(people, key=lambda one: (not one.client.is_protected, one.client.code))


def _to_tell(
    practice: Practice,
    ledger: "Reading",
    standing: ClientStanding,
    *,
    uses: Sequence[str],
    steps: "Sequence[Recorded[RecallAction]]",
) -> ToTell:
    own = sorted((one for one in steps if one.value.client == standing.client), key=lambda one: one.value.at)
    tried = [one for one in own if one.value.step is RecallStep.CLIENT_ATTEMPT]
    reached = next((one for one in own if one.value.step is RecallStep.CLIENT_REACHED), None)
    entered = None if reached is None else ledger.find_fact(reached.fact)
    return ToTell(
        client=ledger.require(Client, standing.client.text).value,
        standing=standing,
        uses=tuple(sorted(uses)),
        tried_on=tuple(practice.day_of(one.value.at).isoformat() for one in tried),
        reached_on="" if reached is None else practice.day_of(reached.value.at).isoformat(),
        reached_by="" if entered is None else entered.by,
    )


def _can_be_set(client: Client) -> bool:
    return bool(client.name) and not missing_characters(f"{client.name}{client.contact or ''}".replace("\n", ""))


def _call_list(people: Sequence[ToTell]) -> bytes:
    out = io.StringIO()
    table = csv.writer(out)
    table.writerow(
        ["code", "care", "name", "contact", "surgeon", "uses", "standing", "attempts", "tried on", "reached on", "by"]
    )
    for one in people:
        client = one.client
        care = "protected" if client.is_protected else "routine"
        cells = (client.code, care, client.name, client.contact, client.surgeon, "; ".join(one.uses))
        ends = (one.standing.end.value, one.standing.attempts, "; ".join(one.tried_on), one.reached_on, one.reached_by)
        table.writerow([*(as_cell(cell or "") for cell in cells), *ends])
    return out.getvalue().encode("utf-8-sig")


def _letters(practice: Practice, standing: Standing, people: Sequence[ToTell]) -> bytes:
    paper = Paper(width=_PAGE[0], height=_PAGE[1], dpi=300, title=f"Recall {standing.recall.number}: letters")
    for one in people:
        page = paper.fragment()
        _set_letter(page, practice, standing, one)
        paper.begin_page()
        paper.stamp(page, left=Mm(0.0), top=Mm(0.0))
    return paper.finish()


def _set_letter(page: Fragment, practice: Practice, standing: Standing, one: ToTell) -> None:
    y = _TOP
    page.text(practice.settings.practice.name, left=Mm(_LEFT), baseline=Mm(y), size=_TITLE, face=Face.BOLD)
    y += 2 * _STEP
    for paragraph in _paragraphs(practice, standing, one):
        for line in paragraph.splitlines():
            for part in _wrapped(line):
                page.text(part, left=Mm(_LEFT), baseline=Mm(y), size=_SIZE)
                y += _STEP
        y += _STEP * 0.7


def _paragraphs(practice: Practice, standing: Standing, one: ToTell) -> tuple[str, ...]:
    name, recall = one.client.name or "", standing.recall
    uses = "\n".join(f"   {use}" for use in one.uses)
    return (
        practice.today.isoformat(),
        f"{name}\n{one.client.contact or ''}".strip(),
        f"Dear {name},",
        _WHY,
        uses or "   (see our record)",
        f"Why: {recall.reason}.",
        "Please call us. We would like to tell you what we know, answer your questions, and hear how you are.",
        _NO_ADVICE,
        f"Reference for your call: recall {recall.number}, client {one.client.code}.",
        "For the practice:",
    )


def _wrapped(text: str) -> list[str]:
    """Return a line broken so that it fits the page; what stands in front of the first word is kept."""
    indent = text[: len(text) - len(text.lstrip())]
    lines: list[str] = []
    line = indent
    for word in text.split():
        longer = f"{line}{word}" if line == indent else f"{line} {word}"
        if line != indent and text_width(longer, Face.REGULAR, _SIZE) > _ROOM:
            lines.append(line)
            line = f"{indent}{word}"
        else:
            line = longer
    return [*lines, line]
