"""Fetching by shape: any kind of thing by its name, and any kind of fact by the thing that it is about."""

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from sqlalchemy import ColumnElement, Connection, Select, Table, exists, func, select

from tracelabels.custody import Kind, Name
from tracelabels.errors import LedgerError
from tracelabels.records.among import among
from tracelabels.records.client_keys import bound_to_purpose, find_client_key, unseal
from tracelabels.records.fact_reading import (
    current,
    every_version,
    key_of,
    names,
    pair_is,
    pair_of,
    rows_in_force,
    same_pair,
    standing,
    wrote,
    wrote_by,
)
from tracelabels.records.facts import FactId, FactKind, Recorded
from tracelabels.records.kinds import KIND_OF, NAMINGS, SHAPES, Naming, shape_of
from tracelabels.records.refusals import known
from tracelabels.records.rows import Row, require_key, require_named, thing_named
from tracelabels.records.schema import claim, erasure, fact, request, sealed
from tracelabels.records.shapes import Form, Shape, fields_of, take_up
from tracelabels.records.tracing import Tracing
from tracelabels.words import in_words

V = TypeVar("V")


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedBy:
    """Facts of one kind that name a thing in one field."""

    kind: FactKind
    """Kind of fact."""
    field: str
    """The field."""
    count: int
    """So many such facts stand."""
    newest: tuple[Recorded[Any], ...]
    """The newest of them."""


class ShapedReading(Tracing):
    """Fetches what is recorded by its shape."""

    def __init__(self, connection: Connection) -> None:
        """Read through this connection."""
        super().__init__(connection)
        self._names: dict[FactId, Name] = {}

    # -- by name ----------------------------------------------------------------------------------------------------

    def find(self, kind: type[V], text: str) -> Recorded[V] | None:
        """Return the thing of a kind that bears a name today.

        Args:
            kind: class of the thing, such as ``Load``.
            text: its number, code, or ``kind/lot``.
        """
        shape = shape_of(kind)
        if shape.thing is None:
            message = f"{kind.__name__} makes no thing that has a name"
            raise TypeError(message)
        row = self._only(_with_name(NAMINGS[shape.thing], text), f"{shape.thing.value} {text}")
        return None if row is None else self._taken(shape, row)

    def require(self, kind: type[V], text: str) -> Recorded[V]:
        """Return the thing of a kind that bears a name today.

        Raises:
            LedgerError: there is none.
        """
        what = in_words(shape_of(kind).kind)
        return known(self.find(kind, text), what=what, name=text)

    def find_thing(self, name: Name) -> FactId | None:
        """Return the lasting name of the thing that people call so today."""
        row = self._only(_with_name(NAMINGS[name.kind], name.text), str(name))
        return None if row is None else require_named("thing", row)

    def require_thing(self, name: Name) -> FactId:
        """Return the lasting name of the thing that people call so today.

        Raises:
            LedgerError: there is none.
        """
        return known(self.find_thing(name), what=in_words(name.kind), name=name.text)

    def find_ever_named(self, name: Name) -> FactId | None:
        """Return the thing that people call so today, else the one that was called so last, also if taken back."""
        found = self.find_thing(name)
        if found is not None:
            return found
        query = _with_name(NAMINGS[name.kind], name.text, of=every_version)
        row = self._first(query.order_by(fact.c.recorded_at.desc(), fact.c.site, fact.c.sequence.desc()))
        return None if row is None else require_named("thing", row)

    def name_of(self, thing: FactId) -> Name:
        """Return what people call a thing today, also if it was taken back since.

        Raises:
            LedgerError: it has no name, because it is a fact about other things.
        """
        if thing not in self._names:
            made = known(self.find_fact(thing), what="thing", name=str(thing))
            kind = KIND_OF.get(made.kind)
            if kind is None:
                raise LedgerError(
                    given=f"fact {thing}, a {in_words(made.kind)}",
                    expected="a thing with a name",
                    remedy="name the thing that the fact is about",
                )
            naming = NAMINGS[kind]
            row = self._latest(naming.table, thing)
            self._names[thing] = Name(kind, "/".join(row[column] for column in naming.columns))
        return self._names[thing]

    def kinds_of_serial(self, text: str) -> tuple[Kind, ...]:
        """Return what bears a serial today: a bottle, a tube or a pouch."""
        return tuple(
            kind for kind in (Kind.TUBE, Kind.POUCH, Kind.BOTTLE) if self.find_thing(Name(kind, text)) is not None
        )

    # -- facts about things -----------------------------------------------------------------------------------------

    def every(self, kind: type[V]) -> Iterator[Recorded[V]]:
        """Give everything of a kind that stands, in the order recorded at each site."""
        shape = shape_of(kind)
        table = shape.table
        for row in self._stream(current(table).order_by(table.c.site, table.c.sequence)):
            yield self._taken(shape, row)

    def about(self, kind: type[V], field: str, thing: Name) -> tuple[Recorded[V], ...]:
        """Return every fact of a kind that names a thing in a field, in the order recorded at each site.

        Args:
            kind: class of the fact, such as ``LoadEnd``.
            field: the field that names the thing; a tuple's field if any of its members does.
            thing: the thing.

        Raises:
            LedgerError: there is no such thing.
        """
        shape = shape_of(kind)
        query = current(shape.table).where(_names_in(shape, field, self.require_thing(thing)))
        return self._take_all(shape, self._all(query.order_by(*key_of(shape.table))))

    def about_each(self, kind: type[V], field: str, things: Collection[FactId]) -> tuple[Recorded[V], ...]:
        """Return every fact of a kind that names one of many things in a field, in the order recorded at each site.

        Args:
            kind: class of the fact, such as ``SporeReading``.
            field: the field that names the thing; it names one, not several.
            things: any number of things.
        """
        shape = shape_of(kind)
        ends = pair_of(shape.table, field)
        rows = [row for condition in among(ends, things) for row in self._all(current(shape.table).where(condition))]
        return self._take_all(shape, sorted(rows, key=require_key))

    def standing_of(self, kind: type[V], things: Collection[FactId]) -> tuple[Recorded[V], ...]:
        """Return those of many things of a kind that stand, in the order recorded at each site.

        Args:
            kind: class of the things, such as ``Load``.
            things: any number of lasting names.
        """
        shape = shape_of(kind)
        ends = pair_of(fact, "thing")
        rows = [row for condition in among(ends, things) for row in self._all(current(shape.table).where(condition))]
        return self._take_all(shape, sorted(rows, key=require_key))

    def naming(self, thing: Name, *, most: int) -> Iterator[NamedBy]:
        """Give what names a thing, by kind of fact and field; of each the newest facts that stand, and how many stand.

        Args:
            thing: the thing.
            most: so many facts of each are fetched.

        Raises:
            LedgerError: there is no such thing.
        """
        named_thing = self.require_thing(thing)
        for shape in SHAPES:
            for field in fields_of(shape.value):
                if field.form not in {Form.NAME, Form.NAMES}:
                    continue
                query = current(shape.table).where(_names_in(shape, field.name, named_thing))
                newest = query.order_by(shape.table.c.site.desc(), shape.table.c.sequence.desc()).limit(most)
                found = self._take_all(shape, self._all(newest))
                if found:
                    count = len(found) if len(found) < most else self._count(query)
                    yield NamedBy(kind=shape.kind, field=field.name, count=count, newest=found)

    def having(self, kind: type[V], field: str, value: str) -> tuple[Recorded[V], ...]:
        """Return every fact of a kind that stands and says this text in a field, in the order recorded at each site."""
        shape = shape_of(kind)
        query = current(shape.table).where(shape.table.c[field] == value)
        return self._take_all(shape, self._all(query.order_by(*key_of(shape.table))))

    def without(self, kind: Kind, by: type[V], field: str) -> Iterator[Name]:
        """Give the things of a kind that no fact of a class names in a field: pouches without a load, for example.

        Args:
            kind: kind of the things.
            by: class of the facts, such as ``Load``.
            field: the field that would name one; a tuple's field if any of its members would.
        """
        naming, shape = NAMINGS[kind], shape_of(by)
        is_single = next(one.form for one in fields_of(by) if one.name == field) is Form.NAME
        table, column = (shape.table, field) if is_single else (shape.part(field), "item")
        told = fact.alias("told")
        is_named = exists().where(
            wrote(table, told),
            standing(told),
            same_pair(pair_of(table, column), pair_of(fact, "thing")),
        )
        columns = [naming.table.c[name] for name in naming.columns]
        for row in self._stream(current(naming.table).where(~is_named).order_by(*columns)):
            yield Name(kind, "/".join(row[name] for name in naming.columns))

    def find_answered(self, key: str) -> FactId | None:
        """Return the fact that answered a request with this key; None if it was never asked.

        Also if it was corrected or taken back since: a key is answered once for good.
        """
        row = self._first(select(*key_of(request)).where(request.c.key == key))
        return None if row is None else require_key(row)

    def value_of(self, kind: type[V], at: FactId) -> Recorded[V] | None:
        """Return what a fact of a kind says, whether it stands today or not; None for a fact of another kind."""
        shape = shape_of(kind)
        row = self._first(every_version(shape.table).where(pair_is(key_of(shape.table), at)))
        return None if row is None else self._taken(shape, row)

    def value_today(self, recorded: Recorded[V]) -> Recorded[V] | None:
        """Return today's version of what a fact says; None if it was taken back."""
        shape = shape_of(type(recorded.value))
        row = self._first(current(shape.table).where(pair_is(pair_of(fact, "thing"), recorded.thing)))
        return None if row is None else self._taken(shape, row)

    def claims(self, what: str, item: Name) -> tuple[FactId, ...]:
        """Return the facts that stand and claim a thing for good: nothing, one, or several after a merge."""
        return self._claims(what, self.require_thing(item))

    # -- clients ------------------------------------------------------------------------------------------------------

    def require_client(self, client: Name) -> FactId:
        """Return the lasting name of a client, also of one whose record was taken back: it still can be erased.

        Raises:
            LedgerError: there never was such a client.
        """
        found = self.find_thing(client)
        before = self.find_ever_named(client) if found is None else None
        if before is not None and self.history(before)[-1].kind is FactKind.RETRACTION:
            found = before if self.name_of(before) == client else None
        return known(found, what="client", name=client.text)

    def is_erased(self, client: Name) -> bool:
        """Say whether everything personal about a client was erased.

        Raises:
            LedgerError: there never was such a client.
        """
        thing = self.require_client(client)
        return self._first(select(erasure.c.site).where(names("erased", erasure, thing))) is not None

    def unsealed(self, client: Name, content: bytes, *, purpose: str) -> bytes | None:
        """Open what was sealed apart from the ledger with a client's key.

        Args:
            client: the client.
            content: as :meth:`Writing.sealed_for` gave it.
            purpose: the same as then.

        Returns:
            None once the client's key is destroyed, or if it is not what was sealed.
        """
        thing = self.require_thing(client)
        key = find_client_key(self._connection, thing)
        return None if key is None else unseal(key, content, bound_to=bound_to_purpose(purpose, thing))

    # -- inner workings ---------------------------------------------------------------------------------------------

    def _taken(self, shape: Shape[V], row: Row) -> Recorded[V]:
        (recorded,) = self._take_all(shape, [row])
        return recorded

    def _claims(self, what: str, thing: FactId) -> tuple[FactId, ...]:
        query = rows_in_force(claim, *key_of(fact)).where(claim.c.what == what, names("item", claim, thing))
        return tuple(require_key(row) for row in self._all(query.order_by(*key_of(fact))))

    def _count(self, query: Select[Any]) -> int:
        self._settle()
        count: int = self._connection.execute(select(func.count()).select_from(query.subquery())).scalar_one()
        return count

    def _take_all(self, shape: Shape[V], rows: Sequence[Row]) -> tuple[Recorded[V], ...]:
        """Read many rows; their parts and the things that they name are looked up together, not one by one."""
        fields = fields_of(shape.value)
        things = {thing_named(field.name, row) for row in rows for field in fields if field.form is Form.NAME}
        parts: dict[Table, dict[FactId, list[Row]]] = {}
        for field in fields:
            if field.form in {Form.COLUMN, Form.NAME}:
                continue
            table = shape.part(field.name)
            parts[table] = self._parts(table, rows)
            if field.form is Form.NAMES:
                things |= {require_named("item", part) for several in parts[table].values() for part in several}
        unknown = [thing for thing in things if thing is not None and thing not in self._names]
        if len(unknown) > 1:
            self._names.update(self.names_of(self.kinds_of(unknown)))
        return tuple(self._recorded_from(shape, row, parts) for row in rows)

    def _recorded_from(
        self, shape: Shape[V], row: Row, parts: Mapping[Table, Mapping[FactId, list[Row]]]
    ) -> Recorded[V]:
        at = require_key(row)
        value = take_up(shape, row, lambda table: parts[table][at], self.name_of, self._opened(shape, row))
        recorded: Recorded[V] = self._recorded(row, value)
        return recorded

    def _parts(self, table: Table, rows: Sequence[Row]) -> dict[FactId, list[Row]]:
        """Return the rows of a table of parts that the same facts wrote, in order."""
        found: dict[FactId, list[Row]] = {require_key(row): [] for row in rows}
        query = select(table).order_by(*table.primary_key.columns)
        for condition in among(key_of(table), found):
            for part in self._all(query.where(condition)):
                found[require_key(part)].append(part)
        return found

    def _opened(self, shape: Shape[V], row: Row) -> bytes | None:
        """Return the sealed content of a row, opened; None once it was erased."""
        if not shape.sealed:
            return None
        found = self._first(select(sealed.c.content).where(wrote_by(sealed, row)))
        owner = self._owner(shape, row)
        if found is None or owner is None:
            return None if found is None else found["content"]
        key = find_client_key(self._connection, owner)
        return None if key is None else unseal(key, found["content"], bound_to=str(require_key(row)))

    def _owner(self, shape: Shape[V], row: Row) -> FactId | None:
        """Return the client under whose key a row is sealed."""
        return require_named("thing", row) if shape.owner == "" else thing_named(str(shape.owner), row)


def _with_name(naming: Naming, text: str, *, of: "Callable[[Table], Any]" = current) -> Any:  # noqa: ANN401  a query
    """Return the query for the rows that bear a name; a name of several parts may hold slashes in its last part."""
    parts = text.split("/", maxsplit=len(naming.columns) - 1)
    if len(parts) < len(naming.columns):
        raise LedgerError(
            given=f"{naming.kind.value} {text!r}",
            expected="/".join(in_words(column) for column in naming.columns),
            remedy="write both parts with a slash between them",
        )
    query = of(naming.table)
    for column, part in zip(naming.columns, parts, strict=True):
        query = query.where(naming.table.c[column] == part)
    return query


def _names_in(shape: Shape[V], field: str, thing: FactId) -> ColumnElement[bool]:
    form = next(one.form for one in fields_of(shape.value) if one.name == field)
    if form is Form.NAME:
        return names(field, shape.table, thing)
    part = shape.part(field)
    return exists().where(wrote(part, shape.table), names("item", part, thing))
