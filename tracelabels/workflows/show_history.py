"""Every version of a recorded thing: who recorded it and when, when it happened, why, and what was changed."""

from collections.abc import Iterator
from dataclasses import dataclass, fields
from datetime import datetime
from typing import TYPE_CHECKING, Any, Final

from tracelabels.custody import Kind, Name
from tracelabels.workflows.correct_record import FACT, Change, require_recorded
from tracelabels.workflows.field_texts import NOTHING, as_text
from tracelabels.workflows.practice import Practice

if TYPE_CHECKING:
    from tracelabels.records import Fact, FactId, Reading

PERSONAL: Final = "(personal)"
"""Stands for a personal text that nobody asked to see."""
ERASED_OR_NONE: Final = "(none, or erased)"
MOST_FACTS: Final = 200
"""So many facts about a thing are listed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Version:
    """One version of a thing."""

    fact: str
    """The fact that holds it."""
    by: str
    """Opaque staff id of who recorded it."""
    recorded_at: datetime
    """When it was written down (UTC)."""
    happened_at: datetime
    """When it happened (UTC)."""
    reason: str | None
    """Why it was corrected or taken back; None for the first version."""
    is_taken_back: bool
    """Nothing stands in its place."""
    changes: tuple[Change, ...]
    """What is different from the version before; everything that is said, in the first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AboutIt:
    """A fact that names the thing."""

    fact: str
    """Its name; 'correct fact' and 'take-back fact' take it."""
    kind: str
    """What it says."""
    by: str
    """Opaque staff id of who recorded it."""
    recorded_at: datetime
    """When it was written down (UTC)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """All versions of a thing, and what names it."""

    name: str
    """What it is called, as asked."""
    versions: tuple[Version, ...]
    """From the first to the one that stands."""
    about: tuple[AboutIt, ...]
    """Facts that name it, in the order recorded; at most :data:`MOST_FACTS`."""
    more: int
    """So many further facts name it."""


def show_history(practice: Practice, kind: str, text: str, *, show_personal: bool = False) -> History:
    """Return every version of a recorded thing.

    Args:
        practice: the practice.
        kind: kind of thing, or ``fact``.
        text: its name; ``1-45`` for a fact without a name.
        show_personal: whether personal texts are shown.

    Raises:
        InputError: there is no such kind.
        LedgerError: it is not on record.
    """
    with practice.ledger.read() as ledger:
        thing = _ever_recorded(ledger, kind, text)
        versions = tuple(_versions(ledger, ledger.history(thing), show_personal=show_personal))
        naming = [_about(one) for one in ledger.facts_naming(thing)]
    about = tuple(naming[:MOST_FACTS])
    return History(name=f"{kind} {text}", versions=versions, about=about, more=len(naming) - len(about))


def _ever_recorded(ledger: "Reading", kind: str, text: str) -> "FactId":
    """Return what people call so, or called so before it was corrected or taken back."""
    if kind != FACT:
        found = ledger.find_ever_named(Name(Kind(kind.replace("-", "_")), text.strip()))
        if found is not None:
            return found
    return require_recorded(ledger, kind, text)


def _versions(ledger: "Reading", facts: tuple["Fact", ...], *, show_personal: bool) -> Iterator[Version]:
    before: Any = None
    for one in facts:
        said: Any = ledger.said(one.id)
        taken_back = one.kind.value == "retraction"
        changes = () if said is None else tuple(_changes(before, said, show_personal=show_personal))
        yield Version(
            fact=str(one.id),
            by=one.by,
            recorded_at=one.recorded_at,
            happened_at=one.happened_at,
            reason=one.reason,
            is_taken_back=taken_back,
            changes=changes,
        )
        before = said if said is not None else before


def _changes(before: Any, after: Any, *, show_personal: bool) -> Iterator[Change]:  # noqa: ANN401  recorded values
    from tracelabels.records import personal_fields  # noqa: PLC0415  heavy: only who needs the ledger

    hidden = frozenset[str]() if show_personal else personal_fields(after)
    for one in fields(after):
        old, new = None if before is None else getattr(before, one.name), getattr(after, one.name)
        if old == new or (before is None and as_text(new) == NOTHING):
            continue
        shown = _hidden if one.name in hidden else as_text
        yield Change(field=one.name, before=NOTHING if before is None else shown(old), after=shown(new))


def _hidden(value: object) -> str:
    return ERASED_OR_NONE if value is None else PERSONAL


def _about(one: "Fact") -> AboutIt:
    return AboutIt(fact=str(one.id), kind=one.kind.value, by=one.by, recorded_at=one.recorded_at)
