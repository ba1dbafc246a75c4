"""Shapes: how each kind of value is laid down in its tables, read from the value's own type.

A field of a value becomes, by its type:

- text, number, day, truth value: a column; a moment, a decimal number or a closed choice: a column of text.
- ``Name``: a pair of columns that names the thing, so that a corrected number is followed everywhere.
- a tuple of names, of texts, or of small values: a table of its own, ``<table>_<field>``, one row each.
- a sealed field: no column; it goes into the sealed content, under the key of the client it is about.
"""

import dataclasses
import json
import types
from collections.abc import Callable, Hashable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum
from functools import cache
from typing import Any, Final, Generic, TypeVar, cast, get_args, get_origin, get_type_hints

from sqlalchemy import Table

from tracelabels.custody import Kind, Name
from tracelabels.records.chain import canonical, plain_values
from tracelabels.records.facts import FactId, FactKind
from tracelabels.records.rows import NewRow, Row, instant_text, named, thing_named
from tracelabels.records.schema import metadata

V = TypeVar("V")
NOTHING_PERSONAL: Final = canonical({})
"""The sealed content of a value none of whose sealed fields says anything."""
ThingOf = Callable[[Name], FactId]
NameOf = Callable[[FactId], Name]
PartsOf = Callable[[Table], list[Row]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape(Generic[V]):
    """How one kind of value is recorded."""

    value: type[V]
    """The value's class."""
    kind: FactKind
    """Its kind of fact; its table bears the same name."""
    thing: Kind | None = None
    """The kind of thing it makes; None for a fact about other things, which has no name of its own."""
    named_by: tuple[str, ...] = ()
    """The fields by which people name it."""
    sealed: frozenset[str] = frozenset()
    """Fields that are sealed."""
    owner: str | None = None
    """The field that names the client under whose key it is sealed; empty for the client's own record."""

    @property
    def table(self) -> Table:
        """Return its table."""
        return metadata.tables[self.kind.value]

    def part(self, field: str) -> Table:
        """Return the table of one of its tuples."""
        return metadata.tables[f"{self.kind.value}_{field}"]


class Form(StrEnum):
    """What becomes of a field."""

    COLUMN = "column"
    NAME = "name"
    NAMES = "names"
    TEXTS = "texts"
    PARTS = "parts"


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One field of a value."""

    name: str
    """Its name."""
    form: Form
    """What becomes of it."""
    inner: type[Any]
    """The type without *or None*; of a tuple, the type of its members."""

    def laid(self, value: Any) -> Any:  # noqa: ANN401  any of the plain types
        """Return what stands in the column."""
        if isinstance(value, StrEnum):
            return value.value
        if isinstance(value, datetime):
            return instant_text(value)
        return format(value, "f") if isinstance(value, Decimal) else value

    def read(self, stored: Any) -> Any:  # noqa: ANN401  any of the plain types
        """Return the value of what stands in the column."""
        if stored is None or self.inner in {str, int, bool}:
            return stored
        if self.inner is datetime:
            return datetime.fromisoformat(stored)
        if self.inner is date:
            return stored if isinstance(stored, date) else date.fromisoformat(stored)
        return self.inner(stored)


def fields_of(value: type[Any]) -> tuple[Field, ...]:
    """Return the fields of a value's class, in order."""
    return _fields(cast("Hashable", value))


@cache
def _fields(value: Hashable) -> tuple[Field, ...]:
    hints = get_type_hints(value)
    return tuple(_field(one.name, hints[one.name]) for one in dataclasses.fields(cast("type[Any]", value)))


def _field(name: str, hint: Any) -> Field:  # noqa: ANN401  a type as it is written
    inner = _without_none(hint)
    if get_origin(inner) is not tuple:
        return Field(name=name, form=Form.NAME if inner is Name else Form.COLUMN, inner=inner)
    member = get_args(inner)[0]
    if member is Name:
        return Field(name=name, form=Form.NAMES, inner=member)
    form = Form.PARTS if dataclasses.is_dataclass(member) else Form.TEXTS
    return Field(name=name, form=form, inner=member)


def _without_none(hint: Any) -> Any:  # noqa: ANN401  a type as it is written
    if get_origin(hint) is types.UnionType:
        return next(one for one in get_args(hint) if one is not type(None))
    return hint


def lay_down(shape: Shape[V], value: V, thing_of: ThingOf) -> list[tuple[Table, NewRow]]:
    """Return the rows of a value, without their key.

    Args:
        shape: how.
        value: what.
        thing_of: finds the thing that a name means, or refuses.
    """
    main: NewRow = {}
    parts: list[tuple[Table, NewRow]] = []
    for field in fields_of(shape.value):
        content = getattr(value, field.name)
        if field.name in shape.sealed:
            continue
        if field.form is Form.COLUMN:
            main[field.name] = field.laid(content)
        elif field.form is Form.NAME:
            main |= named(field.name, None if content is None else thing_of(content))
        else:
            table = shape.part(field.name)
            laid = (_member(field, one, thing_of) for one in content)
            parts += [(table, {"position": place, **row}) for place, row in enumerate(laid)]
    return [(shape.table, main), *parts]


def _member(field: Field, value: Any, thing_of: ThingOf) -> NewRow:  # noqa: ANN401  a name, a text or a small value
    if field.form is Form.NAMES:
        return named("item", thing_of(value))
    if field.form is Form.TEXTS:
        return {"item": field.laid(value)}
    return {one.name: one.laid(getattr(value, one.name)) for one in fields_of(field.inner)}


def sealed_content(shape: Shape[V], value: V) -> bytes | None:
    """Return the sealed fields of a value as JSON; None for a shape that seals nothing."""
    if not shape.sealed:
        return None
    fields = [field for field in fields_of(shape.value) if field.name in shape.sealed]
    laid = [field.laid(getattr(value, field.name)) for field in fields]
    return canonical(plain_values((field.name for field in fields), laid))


def take_up(shape: Shape[V], row: Row, parts: PartsOf, name_of: NameOf, personal: bytes | None) -> V:
    """Read a value.

    Args:
        shape: how.
        row: its main row.
        parts: gives the rows of a table of parts, in order.
        name_of: gives the name of a thing today.
        personal: the sealed content; None where there is none any more.
    """
    opened: Mapping[str, Any] = {} if personal is None else json.loads(personal)
    values = dict(_values(shape, row, parts, name_of, opened))
    return shape.value(**values)


def _values(
    shape: Shape[V], row: Row, parts: PartsOf, name_of: NameOf, opened: Mapping[str, Any]
) -> Iterator[tuple[str, Any]]:
    for field in fields_of(shape.value):
        if field.name in shape.sealed:
            yield field.name, field.read(opened.get(field.name))
        elif field.form is Form.COLUMN:
            yield field.name, field.read(row[field.name])
        elif field.form is Form.NAME:
            thing = thing_named(field.name, row)
            yield field.name, None if thing is None else name_of(thing)
        else:
            yield field.name, tuple(_read_member(field, one, name_of) for one in parts(shape.part(field.name)))


def _read_member(field: Field, row: Row, name_of: NameOf) -> Any:  # noqa: ANN401  a name, a text or a small value
    if field.form is Form.NAMES:
        return name_of(FactId(site=row["item_site"], sequence=row["item_sequence"]))
    if field.form is Form.TEXTS:
        return field.read(row["item"])
    return field.inner(**{one.name: one.read(row[one.name]) for one in fields_of(field.inner)})
