"""What is on record about lots, sterilisers, loads, tests, clients, uses, recalls; and the facts that name anything."""

from collections.abc import Iterator
from dataclasses import dataclass, fields
from datetime import datetime
from typing import TYPE_CHECKING, Any, Final

from tracelabels.custody import (
    AdverseEvent,
    Client,
    Consumable,
    Hold,
    Incident,
    Kind,
    Load,
    Name,
    Recall,
    SporeTest,
    Steriliser,
    Use,
)
from tracelabels.words import MOST_NAMED, in_words, local_minute, some
from tracelabels.workflows.field_texts import NOTHING, as_text
from tracelabels.workflows.practice import Practice

if TYPE_CHECKING:
    from tracelabels.records import Reading

_BY_NAME: Final = (Steriliser, Load, SporeTest, Hold, Client, Use, Incident, AdverseEvent, Recall)
_PERSONAL: Final = "on file, sealed; --personal shows it"
_ERASED: Final = "erased"


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """One thing, with what hangs together with it."""

    kind: str
    """Product, bottle, load, client and so on."""
    name: str
    """Its number or serial."""
    facts: tuple[tuple[str, str], ...]
    """What is known of it, in order, as (what, value)."""


def find_recorded(practice: Practice, ledger: "Reading", text: str, *, show_personal: bool) -> Iterator[Found]:
    """Give whatever bears a name, other than the things of the bench."""
    for kind in _BY_NAME:
        recorded = ledger.find(kind, text)
        if recorded is not None:
            value: Any = recorded.value
            yield _described(practice, ledger, value.as_name, value, show_personal=show_personal)
    for consumable in ledger.having(Consumable, "lot", text.rpartition("/")[2]):
        name = consumable.value.name
        if text in {name.text, consumable.value.lot}:
            yield _described(practice, ledger, name, consumable.value, show_personal=show_personal)
    staff = ledger.find_staff(text)
    if staff is not None:
        name = Name(Kind.STAFF, staff.value.code)
        yield _described(practice, ledger, name, staff.value, show_personal=show_personal)


def _described(
    practice: Practice,
    ledger: "Reading",
    name: Name,
    value: Any,  # noqa: ANN401  any recorded value
    *,
    show_personal: bool,
) -> Found:
    from tracelabels.records import personal_fields  # noqa: PLC0415  heavy: only who needs the ledger

    personal = personal_fields(value)
    shown = [
        (in_words(one.name), _shown(practice, getattr(value, one.name)))
        for one in fields(value)
        if show_personal or one.name not in personal
    ]
    if personal and not show_personal:
        shown.append(("personal", _personal(ledger, name, value, personal)))
    known = tuple((what, text) for what, text in shown if text != NOTHING)
    return Found(kind=in_words(name.kind), name=name.text, facts=known)


def _personal(ledger: "Reading", name: Name, value: Any, personal: frozenset[str]) -> str:  # noqa: ANN401  as above
    owner = name if name.kind is Kind.CLIENT else getattr(value, "client", None)
    if owner is not None and ledger.is_erased(owner):
        return _ERASED
    return _PERSONAL if any(getattr(value, one) is not None for one in personal) else NOTHING


def facts_about(practice: Practice, ledger: "Reading", name: Name) -> Iterator[tuple[str, str]]:
    """Give the facts that name a thing as (kind of fact, the newest of them in words), nothing personal."""
    from tracelabels.records import personal_fields  # noqa: PLC0415  as above

    for found in ledger.naming(name, most=MOST_NAMED):
        texts = [
            " ".join(_of_fact(practice, one.value, leave_out=personal_fields(one.value) | {found.field}))
            for one in found.newest
        ]
        what = in_words(found.kind)
        more = f"; and {found.count - len(texts)} before" if found.count > len(texts) else ""
        yield f"{what} ({in_words(found.field)})", "; ".join(texts) + more


def _of_fact(practice: Practice, value: Any, *, leave_out: frozenset[str]) -> Iterator[str]:  # noqa: ANN401  as above
    """Give the fields of a fact in words; of a thing with a name only that and when."""
    own: Name | None = getattr(value, "as_name", None)
    if own is not None:
        at = getattr(value, "at", None)
        yield own.text if at is None else f"{own.text} ({_shown(practice, at)})"
        return
    for one in fields(value):
        content = getattr(value, one.name)
        if one.name not in leave_out and content not in {None, (), False}:
            yield in_words(one.name) if content is True else _shown(practice, content)


def _shown(practice: Practice, value: object) -> str:
    """Write a value for people: moments in the practice's zone, things by kind and name, long lists cut short."""
    if isinstance(value, datetime):
        return local_minute(value, practice.settings.zone)
    if isinstance(value, Name):
        return str(value)
    if isinstance(value, tuple):
        return some(_shown(practice, one) for one in value) or NOTHING
    return as_text(value)
