"""Facts as they stand, and how every kind of fetching asks for them.

Of all the facts about a thing the one with the highest version stands; where two sites corrected the same fact apart
from each other, the higher (site, sequence) stands at every site alike, and ``conflicts`` names both for a person to
settle by one more correction.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Final, Self

from sqlalchemy import (
    ColumnElement,
    CompoundSelect,
    Connection,
    FromClause,
    Integer,
    Select,
    Table,
    exists,
    func,
    literal_column,
    select,
    tuple_,
    union_all,
)

from tracelabels.errors import LedgerError
from tracelabels.records import rows
from tracelabels.records.among import Pair, is_given
from tracelabels.records.chain import STREAMED, head_of
from tracelabels.records.facts import Fact, FactId, FactKind, Head, Recorded
from tracelabels.records.rows import Row, require_key, require_named
from tracelabels.records.schema import erasure, fact

_FIRST: Final[ColumnElement[int]] = literal_column("1", Integer)
"""The version that corrects nothing. As text and no parameter, so that a database sees that the small indexes of
corrections can answer."""


def pair_of(table: FromClause, name: str) -> Pair:
    """Return the columns by which the rows of a table name a thing."""
    return table.c[f"{name}_site"], table.c[f"{name}_sequence"]


def key_of(table: FromClause) -> Pair:
    """Return the columns that name the fact that wrote a row."""
    return table.c.site, table.c.sequence


def same_pair(one: Pair, other: Pair) -> ColumnElement[bool]:
    """Return the condition that two pairs name the same."""
    return (one[0] == other[0]) & (one[1] == other[1])


def pair_is(pair: Pair, thing: FactId) -> ColumnElement[bool]:
    """Return the condition that a pair names a thing."""
    return (pair[0] == thing.site) & (pair[1] == thing.sequence)


@cache
def _later() -> FromClause:
    """Return the other facts about a thing; made once, since every reading asks, and an alias is slow to make."""
    return fact.alias("later_fact")


def standing(of: Any = fact) -> ColumnElement[bool]:  # noqa: ANN401  the fact table or an alias of it
    """Return the condition that no later fact about the same thing exists."""
    return _none_later(pair_of(of, "thing"), (of.c.version, *key_of(of)))


def _none_later(thing: Pair, rank: tuple[ColumnElement[Any], ...]) -> ColumnElement[bool]:
    later = _later()
    return ~exists(_FIRST).where(
        later.c.version > _FIRST,
        same_pair(pair_of(later, "thing"), thing),
        tuple_(later.c.version, *key_of(later)) > tuple_(*rank),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnFact:
    """The fact that wrote a row, without fetching it unless it is a correction.

    A fact is wide, and of many facts each lies on another page of the file: to fetch one for each row is what a long
    answer would wait for. A fact that corrects nothing bears the name of its thing and has version 1; the few others
    have indexes of their own.
    """

    table: Table
    """The rows."""
    correction: FromClause
    """The fact, if it corrects another."""

    @classmethod
    def of(cls, table: Table) -> Self:
        """Return the own facts of a table's rows."""
        return cls(table=table, correction=fact.alias("correction"))

    @property
    def thing(self) -> Pair:
        """Return the name of the thing that a row is about."""
        (site, sequence), own = pair_of(self.correction, "thing"), key_of(self.table)
        return func.coalesce(site, own[0]), func.coalesce(sequence, own[1])

    def standing(self, query: Select[Any]) -> Select[Any]:
        """Return a query over the table with only the rows that stand."""
        corrects = wrote(self.table, self.correction) & (self.correction.c.version > _FIRST)
        rank = (func.coalesce(self.correction.c.version, _FIRST), *key_of(self.table))
        return query.outerjoin(self.correction, corrects).where(_none_later(self.thing, rank))


def standing_of_given(table: Table, *columns: ColumnElement[Any], where: ColumnElement[bool]) -> CompoundSelect[Any]:
    """Return the query for the rows that stand of the things of a chunk: each thing's name, and columns of its row.

    What was never corrected is found under the thing's own name; what was, through the index of corrections.

    Args:
        table: whose rows; they are about the things.
        columns: of the table.
        where: a condition on the rows.
    """
    own, thing = key_of(table), pair_of(fact, "thing")
    firsts = select(*own, *columns).where(is_given(own), _none_later(own, (_FIRST, *own)), where)
    others = standing_rows(table, *thing, *columns).where(is_given(thing), fact.c.version > _FIRST, where)
    return union_all(firsts, others)


def wrote(table: FromClause, of: Any = fact) -> ColumnElement[bool]:  # noqa: ANN401  as above
    """Return the condition that a fact wrote a row."""
    return same_pair(key_of(table), key_of(of))


@cache
def current(table: Table) -> Select[Any]:
    """Return the query for a table's rows that stand today, each with the name of its thing."""
    return every_version(table).where(standing())


def every_version(table: Table) -> Select[Any]:
    """Return the query for all of a table's rows, each with the name of its thing."""
    return select(table, fact.c.thing_site, fact.c.thing_sequence).join(fact, wrote(table))


def standing_rows(table: Table, *columns: ColumnElement[Any]) -> Select[Any]:
    """Return the query for columns of a table's rows that stand today, or of the facts that wrote them."""
    return select(*columns).select_from(table).join(fact, wrote(table)).where(standing())


def rows_in_force(table: Table, *columns: ColumnElement[Any]) -> Select[Any]:
    """Return the query for columns of rows, or of the facts that wrote them, whose thing was not taken back.

    A correction says something else of the same thing; what the first fact claimed stays claimed.
    """
    other = fact.alias("of_the_same_thing")
    stands = exists().where(
        other.c.thing_site == fact.c.thing_site,
        other.c.thing_sequence == fact.c.thing_sequence,
        other.c.kind != FactKind.RETRACTION.value,
        standing(other),
    )
    return select(*columns).select_from(table).join(fact, wrote(table)).where(stands)


def names(column: str, table: Table, thing: FactId) -> ColumnElement[bool]:
    """Return the condition that a row names a thing in a pair of columns."""
    return pair_is(pair_of(table, column), thing)


def wrote_by(table: Table, row: Row) -> ColumnElement[bool]:
    """Return the condition that the same fact wrote both rows."""
    return pair_is(key_of(table), require_key(row))


def erased(pair: Pair) -> ColumnElement[bool]:
    """Return the condition that the erasure is recorded of what the fact with this name sealed."""
    return exists().where(same_pair(pair_of(erasure, "erased"), pair))


def pairs_in(table: Table) -> Iterator[Pair]:
    """Give the pairs of columns by which the rows of a table name things; not that which names the row's own fact."""
    for constraint in table.foreign_key_constraints:
        site, sequence = (table.c[name] for name in constraint.column_keys)
        if site.name != "site":
            yield site, sequence


class FactReading:
    """One unchanging state of the ledger, to ask as long as its unit lasts."""

    def __init__(self, connection: Connection) -> None:
        """Read through this connection."""
        self._connection = connection

    # -- facts ------------------------------------------------------------------------------------------------------

    def head(self, site: int) -> Head:
        """Return the end of a site's chain, to be kept outside the database."""
        self._settle()
        return head_of(self._connection, site)

    def find_fact(self, at: FactId) -> Fact | None:
        """Return one fact."""
        found = self._first(select(fact).where(pair_is(key_of(fact), at)))
        return None if found is None else rows.fact_from(found)

    def history(self, thing: FactId) -> tuple[Fact, ...]:
        """Return every fact about a thing, in the order of versions: its first record, corrections, a retraction."""
        query = select(fact).where(names("thing", fact, thing))
        query = query.order_by(fact.c.version, fact.c.site, fact.c.sequence)
        return tuple(rows.fact_from(row) for row in self._all(query))

    def conflicts(self) -> tuple[FactId, ...]:
        """Return the things that two sites corrected apart from each other, so that a person can settle it.

        Only the highest version counts: a later correction settles what lies below it.
        """
        pair = (fact.c.thing_site, fact.c.thing_sequence)
        top = select(*pair, func.max(fact.c.version).label("version")).where(fact.c.version > 1).group_by(*pair)
        best = top.subquery()
        query = (
            select(*pair)
            .join(best, (best.c.thing_site == pair[0]) & (best.c.thing_sequence == pair[1]))
            .where(fact.c.version == best.c.version)
            .group_by(*pair)
            .having(func.count() > 1)
            .order_by(*pair)
        )
        return tuple(require_named("thing", row) for row in self._all(query))

    # -- inner workings ---------------------------------------------------------------------------------------------

    def _settle(self) -> None:
        """Make what this unit wrote visible to its own questions."""

    def _all(self, query: Select[Any]) -> Sequence[Row]:
        self._settle()
        return self._connection.execute(query).mappings().all()

    def _stream(self, query: Select[Any]) -> Iterator[Row]:
        self._settle()
        with self._connection.execute(query, execution_options=STREAMED) as result:
            yield from result.mappings()

    def _first(self, query: Select[Any]) -> Row | None:
        self._settle()
        return self._connection.execute(query.limit(1)).mappings().first()

    def _only(self, query: Select[Any], what: str) -> Row | None:
        self._settle()
        found = self._connection.execute(query.limit(2)).mappings().all()
        if len(found) > 1:
            raise LedgerError(
                given=f"{what}, which two sites recorded as two things",
                expected="a number that names one thing",
                remedy="correct the number of one of them, giving the reason",
            )
        return found[0] if found else None

    def _latest(self, table: Table, thing: FactId) -> Row:
        """Return the newest row of a thing that another row names, also if the thing was taken back since."""
        query = every_version(table).where(names("thing", fact, thing))
        row = self._first(query.order_by(fact.c.version.desc(), fact.c.site.desc(), fact.c.sequence.desc()))
        if row is None:
            raise LedgerError(
                given=f"{table.name} {thing}",
                expected="a thing that is recorded here",
                remedy="run verify: the ledger lacks a row",
            )
        return row

    def _recorded(self, row: Row, value: Any) -> Recorded[Any]:  # noqa: ANN401  each caller knows its type
        return Recorded(thing=require_named("thing", row), fact=require_key(row), value=value)
