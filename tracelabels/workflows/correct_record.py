"""Correct what is on record, or take it back: a new fact with a reason; what was there before stays readable.

A corrected batch, date or expiry may make printed labels say something else than the record: they are listed, to be
printed again. Until then the gate stops a label whose batch or date prepared was corrected, and goes by the earlier
use-by.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from datetime import date
from typing import TYPE_CHECKING, Any, Final

from tracelabels.custody import (
    Bottle,
    Kind,
    LabelKind,
    LoadReadings,
    Name,
    Pouch,
    Preparation,
    PrintedLabel,
    Product,
    ReadingsVerdict,
    Tube,
)
from tracelabels.errors import InputError, LedgerError
from tracelabels.identifiers import IdentifierMode, LabelIdentity, compose_label
from tracelabels.workflows.field_texts import as_text, with_changes
from tracelabels.workflows.label_contents import ContentWriter
from tracelabels.workflows.plain_reasons import require_plain
from tracelabels.workflows.practice import Practice, require_own_serial

if TYPE_CHECKING:
    from tracelabels.records import FactId, Reading

FACT: Final = "fact"
"""The kind by which a fact without a name of its own is named: ``fact 1-45``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One field that was changed, as texts."""

    field: str
    """Its name."""
    before: str
    """What stood there."""
    after: str
    """What stands there now."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OutdatedLabel:
    """A valid label that says something else than the record does now."""

    serial: str
    """Serial on it."""
    kind: LabelKind
    """Surface it is for."""
    run: str
    """Its print run."""
    differences: tuple[str, ...]
    """What it says, and what is on record."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Corrected:
    """A correction, or something taken back."""

    name: str
    """What it is called now, in words."""
    fact: str
    """The fact that corrects or takes back."""
    changes: tuple[Change, ...]
    """What was changed; empty for what was taken back."""
    outdated: tuple[OutdatedLabel, ...]
    """Labels to be printed again."""


def correct_record(
    practice: Practice, kind: str, text: str, changes: Mapping[str, str], *, by: str, reason: str
) -> Corrected:
    """Correct fields of a recorded thing or fact.

    Args:
        practice: the practice.
        kind: kind of thing, or ``fact``.
        text: its name; ``1-45`` (site and number) for a fact without a name.
        changes: new texts by field; ``-`` for nothing.
        by: opaque staff id.
        reason: why; nothing personal.

    Raises:
        InputError: a field or a text is wrong, nothing is changed, or the reason says what is personal.
        LedgerError: it is not on record, was taken back, or the new value is refused.
    """
    with practice.write(by=by) as ledger:
        thing = require_recorded(ledger, kind, text)
        standing = ledger.history(thing)[-1].id
        before: Any = ledger.said(standing)
        if before is None:
            raise _without_fields(kind, text)
        after = with_changes(practice, ledger, before, changes)
        changed = tuple(_changes(before, after))
        _require_sound(kind, text, before, after, reason)
        at = _record(ledger, _recorded(thing, standing, before), after, reason)
        name = str(ledger.name_of(thing)) if kind != FACT else f"{FACT} {text}"
        outdated = tuple(_outdated(practice, ledger, after))
    return Corrected(name=name, fact=str(at), changes=changed, outdated=outdated)


def take_back(practice: Practice, kind: str, text: str, *, by: str, reason: str) -> Corrected:
    """Take back what was recorded by mistake; nothing stands in its place.

    Args:
        practice: the practice.
        kind: kind of thing, or ``fact``.
        text: its name; ``1-45`` (site and number) for a fact without a name.
        by: opaque staff id.
        reason: why; nothing personal.

    Raises:
        LedgerError: it is not on record, was taken back before, or something else names it.
        InputError: the reason says what is personal.
    """
    with practice.write(by=by) as ledger:
        thing = require_recorded(ledger, kind, text)
        said: Any = ledger.said(ledger.history(thing)[-1].id)
        if said is not None:
            require_plain(reason, said)
        serial = ledger.bottle_of_event(thing)
        at = ledger.retract(thing, reason=reason)
        bottle = None if serial is None else ledger.require_bottle(serial).value
        outdated = tuple(_outdated(practice, ledger, bottle))
    return Corrected(name=f"{kind} {text}", fact=str(at), changes=(), outdated=outdated)


def require_recorded(ledger: "Reading", kind: str, text: str) -> "FactId":
    """Return the lasting name of what people call so.

    Raises:
        InputError: there is no such kind, or it is no fact's name.
        LedgerError: it is not on record.
    """
    from tracelabels.records import FactId  # noqa: PLC0415  heavy: only who needs the ledger

    if kind != FACT:
        return ledger.require_thing(Name(Kind(kind.replace("-", "_")), text.strip()))
    site, _, sequence = text.partition("-")
    if not (site.isdecimal() and sequence.isdecimal()):
        raise InputError(given=f"fact {text!r}", expected="site and number, such as 1-45", remedy="see 'history'")
    found = ledger.find_fact(FactId(site=int(site), sequence=int(sequence)))
    if found is None:
        raise LedgerError(given=f"fact {text}", expected="a fact that is on record", remedy="see 'history'")
    return found.thing


def _recorded(thing: "FactId", fact: "FactId", value: Any) -> Any:  # noqa: ANN401  any recorded value
    from tracelabels.records import Recorded  # noqa: PLC0415  as above

    return Recorded(thing=thing, fact=fact, value=value)


def _record(ledger: Any, recorded: Any, after: Any, reason: str) -> "FactId":  # noqa: ANN401  any recorded value
    """Put the new version on record: by its shape, as staff, or as a thing of the bench."""
    from tracelabels.records import StaffMember, is_shaped  # noqa: PLC0415  as above

    at: FactId
    if is_shaped(after):
        at = ledger.amend(recorded, after, reason=reason)
    elif isinstance(after, StaffMember):
        at = ledger.correct_staff(recorded, after, reason=reason)
    else:
        at = ledger.correct(recorded, after, reason=reason)
    return at


def _changes(before: Any, after: Any) -> Iterator[Change]:  # noqa: ANN401  any recorded value
    for one in fields(before):
        old, new = getattr(before, one.name), getattr(after, one.name)
        if old != new:
            yield Change(field=one.name, before=as_text(old), after=as_text(new))


def _require_sound(kind: str, text: str, before: Any, after: Any, reason: str) -> None:  # noqa: ANN401  as above
    if before == after:
        raise InputError(
            given=f"a correction of {kind} {text} that changes nothing",
            expected="another value than the one on record",
            remedy="look it up; it may have been corrected already",
        )
    if isinstance(after, (Bottle, Tube, Pouch)):
        require_own_serial(after.serial)
    if isinstance(after, Bottle):  # what no code can carry is refused now, not at the print
        compose_label(LabelIdentity(lot=after.batch), IdentifierMode.IN_HOUSE)
    if isinstance(before, LoadReadings):
        _require_judgement_to_stand(before, after)
    require_plain(reason, before, after)


def _require_judgement_to_stand(before: LoadReadings, after: LoadReadings) -> None:
    """Refuse to correct what a verdict was computed from, or a verdict against computing: both would contradict."""
    changed = {one.field for one in _changes(before, after)}
    is_computed = before.computed is not None or after.computed is not None
    is_milder = after.computed is ReadingsVerdict.NOT_MET and after.verdict is not ReadingsVerdict.NOT_MET
    if is_computed and (is_milder or changed - {"verdict", "reasons"}):
        raise InputError(
            given=f"a correction of computed readings ({', '.join(sorted(changed))})",
            expected="reasons, or a verdict that computing does not speak against",
            remedy="take them back with the reason, and enter them again with 'tracelabels readings'",
        )


def _without_fields(kind: str, text: str) -> LedgerError:
    return LedgerError(
        given=f"a correction of {kind} {text}, which has no fields",
        expected="a thing or a fact that says something",
        remedy="take it back with 'tracelabels take-back' and record it again",
    )


def _outdated(practice: Practice, ledger: "Reading", value: object) -> Iterator[OutdatedLabel]:
    writer = ContentWriter(practice, ledger)
    for serial in dict.fromkeys(_serials(ledger, value)):
        labels = [one.value for one in ledger.labels_with_serial(serial) if one.value.voided_by is None]
        for label in labels:
            differences = tuple(_differences(writer, label))
            if differences:
                yield OutdatedLabel(serial=serial, kind=label.kind, run=label.run or "", differences=differences)


def _serials(ledger: "Reading", value: object) -> Iterator[str]:
    """Give the serials of all tubes and pouches whose labels speak of a thing."""
    if isinstance(value, Pouch):
        yield value.serial
    for tube in (value,) if isinstance(value, Tube) else _tubes(ledger, value):
        yield tube.serial
        yield from (pouch.value.serial for pouch in ledger.pouches_with(tube.serial))


def _tubes(ledger: "Reading", value: object) -> Iterator[Tube]:
    """Give the tubes of a preparation, of a bottle's preparations, or of a product's bottles' preparations."""
    match value:
        case Product():
            for bottle in ledger.bottles():
                if bottle.value.product == value:
                    yield from _tubes(ledger, bottle.value)
        case Bottle():
            for made in ledger.preparations(bottle_thing=ledger.require_thing(Name(Kind.BOTTLE, value.serial))):
                yield from _tubes(ledger, made.value)
        case Preparation():
            yield from (tube.value for tube in ledger.tubes_of(value.number))
        case _:
            return


def _differences(writer: ContentWriter, label: PrintedLabel) -> Iterator[str]:
    try:
        content = writer.content_of(label.serial, is_second=label.kind is LabelKind.SECOND)
    except InputError as problem:
        yield f"no label may be printed now: {problem.given}"
        return
    identity = content.identity
    for what, said, known in (
        ("batch", label.lot, identity.lot),
        ("use-by", label.use_by, identity.use_by),
        ("date prepared", label.prepared, identity.prepared),
        ("item number", label.item_number, content.item_number),
    ):
        if said != known:
            yield f"{what} {_shown(said)}, on record is {_shown(known)}"


def _shown(value: str | date | None) -> str:
    return "none" if value is None else str(value)
