"""The walk along a chain that checks every link and every digest, in constant memory.

All tables are read side by side in the order of facts, each a few rows at a time; a queue knows which table has the
next row, so that a fact costs its own rows and not the number of tables.
"""

from collections.abc import Generator, Iterable, Iterator, Sequence
from contextlib import closing
from heapq import heapify, heappop, heapreplace
from operator import itemgetter
from typing import Any, Final

from sqlalchemy import Boolean, ColumnElement, Connection, CursorResult, Table, select, type_coerce
from sqlalchemy.types import NullType

from tracelabels.records.chain import (
    NO_LINK,
    STREAMED,
    digest_of_tables,
    link_at,
    link_of_values,
    plain_values,
    sealed_digest,
    sites_of,
)
from tracelabels.records.client_keys import clients_with_key_again, clients_without_key
from tracelabels.records.fact_reading import names
from tracelabels.records.facts import FactId, Head, Problem, ProblemKind
from tracelabels.records.schema import CONTENT_TABLES, erasure, fact, head_seen, sealed

Values = Sequence[Any]

_BEYOND: Final = 2**63
_SEQUENCE: Final = 1
"""Every table begins with the fact's name: site, sequence."""
_TRUTHS: Final = {0: False, 1: True}


def as_stored(table: Table) -> list[ColumnElement[Any]]:
    """Return a table's columns as the database gives them, so that a damaged value is compared and not refused."""
    return [type_coerce(column, NullType()).label(column.name) for column in table.columns]


class _Rows:
    """The rows of one table in the order of facts, read a few at a time."""

    def __init__(self, connection: Connection, table: Table, after: Head) -> None:
        self.table = table.name
        self.names = [column.name for column in table.columns]
        truths = (column.name for column in table.columns if isinstance(column.type, Boolean))
        self._truths = [self.names.index(name) for name in truths]
        query = select(*as_stored(table)).where(table.c.site == after.site)
        if after.sequence:  # from the beginning everything is read: a number below 1 must not hide a row
            query = query.where(table.c.sequence > after.sequence)
        ordered = query.order_by(*table.primary_key.columns)
        self._result: CursorResult[Any] = connection.execute(ordered, execution_options=STREAMED)
        self._rows = iter(self._result)
        self.number: int = 0
        """Number of the fact that the next row belongs to; beyond all of them at the end, or if it is damaged."""
        self.values: Values | None = None
        """The next row."""
        self.advance()

    def advance(self) -> None:
        """Go on to the next row."""
        values: Values | None = next(self._rows, None)
        if values is None:
            self.number, self.values = _BEYOND, None
            return
        number = values[_SEQUENCE]
        self.number = number if isinstance(number, int) else _BEYOND
        self.values = self._with_truths(values) if self._truths else values

    def take_until(self, sequence: int) -> Iterator[Values]:
        """Give the rows of facts up to this one."""
        while self.values is not None and self.number <= sequence:
            yield self.values
            self.advance()

    def close(self) -> None:
        """Give the query up."""
        self._result.close()

    def _with_truths(self, values: Values) -> Values:
        """SQLite stores truth values as 0 and 1."""
        changed = list(values)
        for place in self._truths:
            changed[place] = _TRUTHS.get(changed[place], changed[place])
        return changed


class _Contents:
    """Contents of facts, all tables side by side."""

    def __init__(self, connection: Connection, after: Head) -> None:
        tables = [_Rows(connection, table, after) for table in CONTENT_TABLES]
        self._tables = tables
        self._parts = [_content_columns(rows.names) for rows in tables]
        self._queue = [(rows.number, place) for place, rows in enumerate(tables)]
        heapify(self._queue)

    def at(self, sequence: int, strays: list[tuple[str, object]]) -> dict[str, list[dict[str, object]]]:
        """Return the rows of the fact with this number; facts must be asked for in order.

        Args:
            sequence: the fact's number.
            strays: takes the rows that belong to no fact before it.
        """
        found: dict[str, list[dict[str, object]]] = {}
        while self._queue and self._queue[0][0] <= sequence:
            place = self._queue[0][1]
            rows = self._tables[place]
            names, pick = self._parts[place]
            for values in rows.take_until(sequence):
                number = values[_SEQUENCE]
                if number == sequence:
                    found.setdefault(rows.table, []).append(plain_values(names, pick(values)))
                else:
                    strays.append((rows.table, number))
            if rows.values is None:
                heappop(self._queue)
            else:
                heapreplace(self._queue, (rows.number, place))
        return found

    def rest(self) -> Iterator[tuple[str, object]]:
        """Give the rows beyond the last fact."""
        for rows in self._tables:
            for values in rows.take_until(_BEYOND):
                yield rows.table, values[_SEQUENCE]

    def close(self) -> None:
        """Give the queries up."""
        for rows in self._tables:
            rows.close()


def _content_columns(names: Sequence[str]) -> tuple[list[str], Any]:
    """Return the columns that say something, and what picks them out of a row: all but the fact's own name."""
    wanted = [place for place, name in enumerate(names) if name not in {"site", "sequence"}]
    pick = itemgetter(*wanted) if len(wanted) > 1 else lambda values: (values[wanted[0]],)
    return [names[place] for place in wanted], pick


class _Walk:
    """One site's chain, from a trusted place to its end."""

    def __init__(self, connection: Connection, key: bytes, after: Head) -> None:
        self._connection = connection
        self._key = key
        self._site = after.site
        self._contents = _Contents(connection, after)
        self._seals = _Rows(connection, sealed, after)
        self._facts = _Rows(connection, fact, after)
        places = {name: place for place, name in enumerate(self._facts.names)}
        self._link, self._previous = places["link"], places["previous"]
        self._rows_digest, self._sealed_digest = places["rows_digest"], places["sealed_digest"]

    def close(self) -> None:
        """Give the queries up."""
        for one in (self._contents, self._seals, self._facts):
            one.close()

    def problems(self, after: Head) -> Iterator[Problem]:
        """Give what is wrong; a broken place is told once, the walk goes on from what is stored."""
        previous, expected = after.link, after.sequence + 1
        strays: list[tuple[str, object]] = []
        for values in self._facts.take_until(_BEYOND):
            sequence = values[_SEQUENCE] if isinstance(values[_SEQUENCE], int) else _BEYOND
            found = self._contents.at(sequence, strays)
            link = values[self._link]
            if sequence < 1:
                yield self._problem(ProblemKind.CHANGED_FACT, sequence, "it has no place in the chain")
                continue
            if sequence != expected or values[self._previous] != previous:
                yield self._out_of_place(sequence, expected)
            if link_of_values(self._key, self._facts.names, values) != link:
                yield self._problem(ProblemKind.CHANGED_FACT, sequence, "the fact is not what was recorded")
            if strays:
                yield from (_stray(self._site, *one) for one in strays)
                strays.clear()
            if digest_of_tables(found) != values[self._rows_digest]:
                yield self._problem(ProblemKind.CHANGED_CONTENT, sequence, "its content is not what was recorded")
            if values[self._sealed_digest] is not None or self._seals.number <= sequence:
                yield from self._check_seal(sequence, values[self._sealed_digest])
            previous, expected = link, sequence + 1
        yield from (_stray(self._site, *one) for one in self._contents.rest())
        yield from (_stray(self._site, "sealed", values[_SEQUENCE]) for values in self._seals.take_until(_BEYOND))

    def _out_of_place(self, sequence: int, expected: int) -> Problem:
        if sequence == expected:
            return self._problem(ProblemKind.BROKEN_LINK, sequence, "it does not follow on the fact before it")
        until = FactId(site=self._site, sequence=sequence)
        return self._problem(
            ProblemKind.MISSING_FACTS, expected, f"facts from here up to {until} (exclusive) are missing"
        )

    def _check_seal(self, sequence: int, digest: object) -> Iterator[Problem]:
        seals = list(self._seals.take_until(sequence))
        own = next((one for one in seals if one[_SEQUENCE] == sequence), None)
        seal = None if own is None else dict(zip(self._seals.names, own, strict=True))
        yield from (_stray(self._site, "sealed", one[_SEQUENCE]) for one in seals if one[_SEQUENCE] != sequence)
        if digest is None:
            if seal is not None:
                yield _stray(self._site, "sealed", sequence)
            return
        erased = is_erased(self._connection, FactId(site=self._site, sequence=sequence))
        if seal is None and not erased:
            what = "its personal content is missing, and no erasure is recorded"
            yield self._problem(ProblemKind.MISSING_SEALED, sequence, what)
        elif seal is not None and erased:
            what = "its personal content was erased and is here again"
            yield self._problem(ProblemKind.ERASED_CAME_BACK, sequence, what)
        elif seal is not None and not _fits(seal["salt"], seal["content"], digest):
            what = "its personal content is not what was recorded"
            yield self._problem(ProblemKind.CHANGED_SEALED, sequence, what)

    def _problem(self, kind: ProblemKind, sequence: int, what: str) -> Problem:
        return _problem(kind, FactId(site=self._site, sequence=sequence), what)


def verify_chain(connection: Connection, key: bytes, after: Head) -> Generator[Problem, None, None]:
    """Walk one site's chain from a trusted place to its end, in constant memory, and give what is wrong.

    A broken place is told once: the walk goes on from what is stored.
    """
    with closing(_Walk(connection, key, after)) as walk:
        yield from walk.problems(after)


def _fits(salt: object, content: object, digest: object) -> bool:
    return isinstance(salt, bytes) and isinstance(content, bytes) and sealed_digest(salt, content) == digest


def is_erased(connection: Connection, at: FactId) -> bool:
    """Say whether an erasure of this fact's personal content is recorded."""
    query = select(erasure.c.site).where(names("erased", erasure, at))
    return connection.execute(query.limit(1)).first() is not None


def verify_all(connection: Connection, key: bytes, known: Iterable[Head]) -> Generator[Problem, None, None]:
    """Walk every site's chain, then compare heads known from elsewhere."""
    for site in sites_of(connection):
        yield from verify_chain(connection, key, Head(site=site, sequence=0, link=NO_LINK))
    yield from verify_heads(connection, known)


def verify_client_keys(connection: Connection) -> Iterator[Problem]:
    """Give the clients whose key is gone without an erasure, and those who were erased and whose key is here again.

    No copy of a ledger holds keys, so this is asked of a ledger at work only.
    """
    for at in clients_without_key(connection):
        what = "the client's key is missing, and no erasure is recorded: nothing personal can be read"
        yield _problem(ProblemKind.MISSING_KEY, at, what)
    for at in clients_with_key_again(connection):
        yield _problem(ProblemKind.ERASED_CAME_BACK, at, "the client was erased, and the key is here again")


def verify_heads(connection: Connection, known: Iterable[Head]) -> Iterator[Problem]:
    """Compare heads known from elsewhere, and those that sites saw of each other, with the chains here."""
    for head in known:
        yield from _check_head(connection, head, "a head kept outside this database")
    seen = select(*as_stored(head_seen)).order_by(head_seen.c.site, head_seen.c.sequence, head_seen.c.position)
    with connection.execute(seen, execution_options=STREAMED) as result:
        for row in result.mappings():
            head = Head(site=row["seen_site"], sequence=row["seen_sequence"], link=row["seen_link"])
            yield from _check_head(connection, head, f"what site {row['site']} saw")


def _check_head(connection: Connection, head: Head, witness: str) -> Iterator[Problem]:
    link = link_at(connection, head.site, head.sequence)
    if head.sequence and link != head.link:
        at = FactId(site=head.site, sequence=head.sequence)
        how = "is missing" if link is None else "has another link"
        yield _problem(ProblemKind.HEAD_DIFFERS, at, f"it {how}, against {witness}")


def _stray(site: int, table: str, sequence: Any) -> Problem:  # noqa: ANN401  a damaged number is told as it is
    at = FactId(site=site, sequence=sequence)
    return _problem(ProblemKind.CONTENT_WITHOUT_FACT, at, f"a row in {table} that no fact wrote")


def _problem(kind: ProblemKind, at: FactId, what: str) -> Problem:
    return Problem(kind=kind, at=at, sentence=f"fact {at}: {what}")
