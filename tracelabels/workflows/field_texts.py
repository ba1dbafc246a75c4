"""Fields of recorded values as texts that people type and read: the one is the other backwards."""

import types
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass, replace
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from enum import StrEnum
from functools import singledispatch
from typing import TYPE_CHECKING, Any, ClassVar, Final, Protocol, TypeVar, get_args, get_origin, get_type_hints

from tracelabels.custody import Bottle, Component, Diluent, Expiry, Kind, Name, Opening, Period, Product, parse_period
from tracelabels.custody import ExpiryPrecision as Precision
from tracelabels.errors import InputError
from tracelabels.identifiers import find_iso_day
from tracelabels.workflows.practice import Practice

if TYPE_CHECKING:
    from tracelabels.records import Reading


class Recordable(Protocol):
    """A value that is a dataclass, as every recorded value is."""

    __dataclass_fields__: ClassVar[dict[str, Any]]


Value = TypeVar("Value", bound=Recordable)

NOTHING: Final = "-"
"""How a field that says nothing is written."""
_TRUTHS: Final = {"yes": True, "no": False}
_SIGNED: Final = frozenset({"offset_s"})
"""Fields that may lie below nothing: a clock can be behind."""


@singledispatch
def as_text(value: object) -> str:
    """Write a field's value as people read it.

    >>> as_text(Name(Kind.SPORE_TEST, "B01-0001")), as_text(None), as_text((True, Decimal("1.50")))
    ('spore_test:B01-0001', '-', 'yes,1.50')
    """
    if is_dataclass(value):
        return " ".join(as_text(getattr(value, one.name)) for one in fields(value))
    return NOTHING if value is None else str(value)


@as_text.register
def _(value: bool) -> str:  # noqa: FBT001  a value to be written
    return "yes" if value else "no"


@as_text.register
def _(value: Name) -> str:
    return f"{value.kind.value}:{value.text}"


@as_text.register(tuple)
def _(value: tuple[object, ...]) -> str:
    between = " | " if value and type(value[0]) is str else ","
    return between.join(map(as_text, value)) or NOTHING


@as_text.register
def _(value: date) -> str:
    return value.isoformat()


@as_text.register
def _(value: Product) -> str:
    return value.as_name.text


@as_text.register
def _(value: Expiry) -> str:
    return value.last_day.isoformat()[: 7 if value.precision is Precision.MONTH else 10]


@as_text.register
def _(value: Period) -> str:
    return str(value)


@as_text.register
def _(value: Opening) -> str:
    return "unknown" if value.on is None else value.on.isoformat()


@as_text.register
def _(part: Component) -> str:
    source = part.source
    name = source.serial if isinstance(source, Bottle) else f"{source.name}/{source.batch}/{as_text(source.expiry)}"
    return name if part.amount_ml is None else f"{name}={part.amount_ml}"


def with_changes(practice: Practice, ledger: "Reading", value: Value, changes: Mapping[str, str]) -> Value:
    """Return a value with some of its fields replaced by what people typed.

    Raises:
        InputError: no such field, or the text is none of its kind.
        LedgerError: it names something that is not on record.
    """
    known = {one.name for one in fields(value)}
    hints = get_type_hints(type(value))
    new: dict[str, Any] = {}
    for name, text in changes.items():
        if name not in known:
            raise InputError(
                given=f"field {name!r} of a {type(value).__name__}",
                expected=f"one of {', '.join(sorted(known))}",
                remedy="correct its name",
            )
        reader = _Reader(practice=practice, ledger=ledger, field=name, before=getattr(value, name))
        new[name] = reader.read(hints[name], text.strip())
    return replace(value, **new)


class _Reader:
    """Reads one field's text."""

    def __init__(self, *, practice: Practice, ledger: "Reading", field: str, before: object) -> None:
        self._practice = practice
        self._ledger = ledger
        self._field = field
        self._before = before

    def read(self, hint: Any, text: str) -> object:  # noqa: ANN401  a type as it is written
        """Return the value."""
        options = [one for one in get_args(hint) if one is not type(None)]
        is_open = get_origin(hint) is types.UnionType and len(options) < len(get_args(hint))
        inner = options[0] if get_origin(hint) is types.UnionType else hint
        if get_origin(inner) is tuple:
            member = get_args(inner)[0]
            between = "|" if member is str else ","
            parts = [] if text in {"", NOTHING} else [one.strip() for one in text.split(between)]
            return tuple(self._read_one(member, one) for one in parts)
        if text in {"", NOTHING}:
            if not is_open:
                raise self._refused(text, "something: this field is never empty")
            return None
        return self._read_one(inner, text)

    def _read_one(self, kind: Any, text: str) -> object:  # noqa: ANN401  a type as it is written
        if isinstance(kind, type) and issubclass(kind, StrEnum):
            return self._choice(kind, text)
        readers: dict[Any, Callable[[str], object]] = {
            str: str,
            bool: self._truth,
            int: self._whole,
            Decimal: self._amount,
            date: self._day,
            datetime: self._moment,
            Name: self._name,
            Product: self._product,
            Expiry: self._expiry,
            Period: parse_period,
            Component: self._component,
        }
        if kind not in readers:
            raise InputError(
                given=f"a correction of {self._field}",
                expected="a field that can be typed",
                remedy="take the record back with 'tracelabels take-back' and enter it again",
            )
        return readers[kind](text)

    def _choice(self, kind: type[StrEnum], text: str) -> StrEnum:
        try:
            return kind(text)
        except ValueError:
            raise self._refused(text, f"one of {', '.join(kind)}") from None

    def _truth(self, text: str) -> bool:
        if text not in _TRUTHS:
            raise self._refused(text, "yes or no")
        return _TRUTHS[text]

    def _whole(self, text: str) -> int:
        if not text.isdecimal():
            raise self._refused(text, "a whole number")
        return int(text)

    def _amount(self, text: str) -> Decimal:
        try:
            amount = Decimal(text)
        except InvalidOperation:
            amount = Decimal("NaN")
        if not amount.is_finite() or (amount < 0 and self._field not in _SIGNED):
            raise self._refused(text, "a number such as 1.5")
        return amount

    def _day(self, text: str) -> date:
        day = find_iso_day(text)
        if day is None:
            raise self._refused(text, "a date such as 2026-11-25")
        return day

    def _moment(self, text: str) -> datetime:
        try:
            moment = datetime.fromisoformat(text)
        except ValueError:
            raise self._refused(text, "a time such as 2026-11-25 14:05 in the practice's zone") from None
        return moment if moment.tzinfo else moment.replace(tzinfo=self._practice.settings.zone)

    def _name(self, text: str) -> Name:
        kind, colon, rest = text.partition(":")
        if colon and kind in {one.value for one in Kind}:
            return Name(Kind(kind), rest)
        before = self._before[0] if isinstance(self._before, tuple) and self._before else self._before
        if not isinstance(before, Name):
            raise self._refused(text, "kind:name, such as load:L01-0001")
        return Name(before.kind, text)

    def _product(self, text: str) -> Product:
        maker, slash, item = text.rpartition("/")
        found = [one.value for one in self._ledger.products(item_number=item) if not slash or one.value.maker == maker]
        if len(found) != 1:
            raise self._refused(text, "maker/item number of a pigment on record")
        return found[0]

    def _expiry(self, text: str) -> Expiry:
        if find_iso_day(text) is not None:
            return Expiry.on_day(self._day(text))
        first = find_iso_day(f"{text}-01")
        if first is None:
            raise self._refused(text, "2027-11-30, or 2027-11 for a month")
        return Expiry.in_month(first.year, first.month)

    def _component(self, text: str) -> Component:
        source, equals, amount = text.partition("=")
        amount_ml = self._amount(amount) if equals else None
        if "/" in source:
            name, batch, expiry = [*source.split("/"), "", ""][:3]
            day = None if expiry in {"", NOTHING} else self._day(expiry)
            return Component(source=Diluent(name=name, batch=batch, expiry=day), amount_ml=amount_ml)
        bottle = self._ledger.find_bottle(source)
        if bottle is None:
            raise self._refused(text, "serial=mL of a bottle on record, or name/batch/expiry=mL of a diluent")
        return Component(source=bottle.value, amount_ml=amount_ml)

    def _refused(self, text: str, expected: str) -> InputError:
        return InputError(given=f"{self._field} {text!r}", expected=expected, remedy="type it again")
