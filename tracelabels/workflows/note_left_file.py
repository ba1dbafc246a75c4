"""Note files that were left for people in a recall, so that they can be found again when a client is erased.

A letter or a call list is no part of the record: it lies where staff put it, in plain. What the record keeps of it is a
step of its recall: the file's name, its digest, and the codes of the clients who are in it. Of a file that lies outside
the practice's folder only its own name is kept, since a folder above it may bear somebody's name.
"""

import hashlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from tracelabels.custody import Client, Name, RecallAction, RecallStep
from tracelabels.errors import InputError
from tracelabels.workflows.backup_format import FOLDERS
from tracelabels.workflows.leave_file import destroy_file
from tracelabels.workflows.plain_reasons import find_personal_field
from tracelabels.workflows.practice import Practice

if TYPE_CHECKING:
    from tracelabels.records import Fact, Writing

FILE_STEPS: Final = frozenset({RecallStep.FILE_LEFT, RecallStep.FILE_LEFT_ELSEWHERE})


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftFile:
    """A file that was left for people."""

    place: str
    """Where it lies in the practice's folder; its bare name if it was left elsewhere."""
    digest: str
    """SHA-256 (hexadecimal) of the file as it was left."""
    on: str
    """The day on which it was left, in the practice's zone."""
    is_elsewhere: bool
    """It was left outside the practice's folder."""
    site: int
    """The site that left it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenAway:
    """What became of the files that were left about a client."""

    destroyed: tuple[str, ...]
    """Files that were there as they were left, and were destroyed, whole."""
    by_hand: tuple[str, ...]
    """Of each other file a sentence: where to look for it."""


def require_unpacked(practice: Practice, place: Path) -> None:
    """See that a file with personal content does not come to lie where every backup would take a copy of it.

    Raises:
        InputError: it would.
    """
    inside = _inside(practice, place)
    if inside is not None and inside.partition("/")[0] in FOLDERS:
        raise InputError(
            given=f"{place}, of which every backup would hold a copy that erasing a client cannot reach",
            expected=f"a place outside the folders {', '.join(FOLDERS)}",
            remedy="choose another place; nothing was written",
        )


def note_left_file(
    unit: "Writing", practice: Practice, recall: Name, place: Path, content: bytes, clients: Sequence[Client]
) -> None:
    """Note a file in the unit after which it gets its name.

    Args:
        unit: the open unit.
        practice: where.
        recall: for which it is left.
        place: where it will lie.
        content: the file.
        clients: who is in it.

    Raises:
        InputError: its name repeats what is personal about one of them, and would stand in the record for good.
    """
    inside = _inside(practice, place)
    called = inside or place.name
    if find_personal_field(called, *clients) is not None:
        raise InputError(
            given=f"{called!r}, a file name that says something personal about a client in it",
            expected="a name without anything personal, for it stays in the record",
            remedy=f"call it for example {recall.text}{place.suffix}; nothing was written",
        )
    step = RecallStep.FILE_LEFT_ELSEWHERE if inside is None else RecallStep.FILE_LEFT
    unit.record(
        RecallAction(
            recall=recall,
            step=step,
            at=practice.now(),
            items=tuple(one.as_name for one in clients),
            place=called,
            note=hashlib.sha256(content).hexdigest(),
        )
    )


def as_left_file(practice: Practice, fact: "Fact", said: object) -> LeftFile | None:
    """Return the file that a recorded fact notes; None for a fact that notes none."""
    if not isinstance(said, RecallAction) or said.step not in FILE_STEPS:
        return None
    return LeftFile(
        place=said.place or "",
        digest=said.note or "",
        on=practice.day_of(said.at).isoformat(),
        is_elsewhere=said.step is RecallStep.FILE_LEFT_ELSEWHERE,
        site=fact.id.site,
    )


def take_away(practice: Practice, files: Iterable[LeftFile]) -> TakenAway:
    """Destroy every one of these files that still lies as it was left, and say of each other where to look for it."""
    known = list(dict.fromkeys(files))
    destroyed: list[str] = []
    by_hand = [f"{one.place}, left on {one.on}, {why}" for one in known for why in _out_of_reach(practice, one)]
    for one in known:
        if one.place not in destroyed and not any(_out_of_reach(practice, one)):
            destroy_file(practice.folder / one.place)
            destroyed.append(one.place)
    return TakenAway(destroyed=tuple(destroyed), by_hand=tuple(by_hand))


def _out_of_reach(practice: Practice, file: LeftFile) -> Iterator[str]:
    """Say why a file cannot be destroyed from here; nothing if it can."""
    if file.site != practice.ledger.site:
        yield f"at site {file.site}: erase the client there, too"
        return
    if file.is_elsewhere:
        yield "outside this folder: delete it by hand"
        return
    place = practice.folder / file.place
    if not place.is_file():
        yield "does not lie there any more: deleted already, or moved: look for it by hand"
    elif hashlib.sha256(place.read_bytes()).hexdigest() != file.digest:
        yield "was altered or replaced since: what lies there now was left alone, look at it by hand"


def _inside(practice: Practice, place: Path) -> str | None:
    """Return a place as seen from the practice's folder; None if it lies outside."""
    folder, file = practice.folder.resolve(), place.parent.resolve() / place.name
    return file.relative_to(folder).as_posix() if file.is_relative_to(folder) else None
