"""The chain: digests of contents, links of facts, and the walk that checks them.

A fact's ``rows_digest`` is SHA-256 over the canonical JSON of the rows it wrote; ``sealed_digest`` is SHA-256 over a
random salt and the personal content. The ``link`` is HMAC-SHA-256, keyed by the practice's key, over the canonical JSON
of the fact's own columns and the previous link. Canonical JSON is that of RFC 8785 for the values used here (texts,
whole numbers, truth values): keys in order, no spaces, UTF-8; empty columns are left out.
"""

import hashlib
import hmac
import json
from collections.abc import Generator, Iterable, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from sqlalchemy import Boolean, ColumnElement, Connection, RowMapping, Table, func, select, type_coerce
from sqlalchemy.types import NullType

from tracelabels.records.facts import FactId, Head, Problem, ProblemKind
from tracelabels.records.schema import CONTENT_TABLES, erasure, fact, head_seen, sealed

Row = Mapping[str, Any] | RowMapping

NO_LINK: Final = bytes(32)
"""What stands as previous link in a chain's first fact."""
SALT_BYTES: Final = 16
STREAMED: Final = {"yield_per": 1_000}
"""Option of a query whose answer may be too large to hold: so many rows at a time."""
_BEYOND: Final = 2**63
_TRUTHS: Final = {0: False, 1: True}
_CANONICAL: Final = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), sort_keys=True, allow_nan=False)
_NOT_LINKED: Final = frozenset({"link"})
_KEY_COLUMNS: Final = frozenset({"site", "sequence"})


def canonical(value: object) -> bytes:
    """Return the one way to write a value as JSON."""
    return _CANONICAL.encode(value).encode()


def _plain(row: Row, leave_out: frozenset[str]) -> dict[str, object]:
    plain: dict[Any, object] = {}
    for name, value in row.items():
        if value is None or name in leave_out:
            continue
        if isinstance(value, bytes):
            plain[name] = value.hex()
        else:
            plain[name] = value.isoformat() if isinstance(value, date) else value
    return plain


def rows_digest(rows: Iterable[tuple[str, Row]]) -> bytes:
    """Return the digest of a fact's rows, given as (table, row)."""
    tables: dict[str, list[dict[str, object]]] = {}
    for name, row in rows:
        tables.setdefault(name, []).append(_plain(row, _KEY_COLUMNS))
    return hashlib.sha256(canonical(tables)).digest()


def sealed_digest(salt: bytes, content: bytes) -> bytes:
    """Return the digest of personal content; without the salt it cannot be guessed."""
    return hashlib.sha256(salt + content).digest()


def link_of(key: bytes, row: Row) -> bytes:
    """Return the link of a fact from its columns (its own link is not looked at)."""
    return hmac.digest(key, canonical(_plain(row, _NOT_LINKED)), "sha256")


def key_mark(key: bytes) -> bytes:
    """Return a digest by which a key is known again without being told."""
    return hmac.digest(key, b"practice key", "sha256")


def head_of(connection: Connection, site: int) -> Head:
    """Return the end of a site's chain."""
    row = connection.execute(
        select(fact.c.sequence, fact.c.link).where(fact.c.site == site).order_by(fact.c.sequence.desc()).limit(1),
    ).first()
    return Head(site=site, sequence=0, link=NO_LINK) if row is None else Head(site=site, sequence=row[0], link=row[1])


def sites_of(connection: Connection) -> tuple[int, ...]:
    """Return the sites that have a chain here, or rows without one."""
    return tuple(sorted({site for table in (fact, sealed, *CONTENT_TABLES) for site in _sites_in(connection, table)}))


def _sites_in(connection: Connection, table: Table) -> Iterator[int]:
    """Give a table's sites, each with one step through its key."""
    site = connection.execute(select(func.min(table.c.site))).scalar_one()
    while site is not None:
        yield site
        site = connection.execute(select(func.min(table.c.site)).where(table.c.site > site)).scalar_one()


def as_stored(table: Table) -> list[ColumnElement[Any]]:
    """Return a table's columns as the database gives them, so that a damaged value is compared and not refused."""
    return [type_coerce(column, NullType()).label(column.name) for column in table.columns]


def _number(row: Row) -> int:
    """Return the number of the fact that a row belongs to; a damaged one belongs after all others."""
    number = row["sequence"]
    return number if isinstance(number, int) else _BEYOND


class _Rows:
    """The rows of one table in the order of facts, read a few at a time."""

    def __init__(self, connection: Connection, table: Table, after: Head) -> None:
        self.name = table.name
        order = list(table.primary_key.columns)
        query = select(*as_stored(table)).where(table.c.site == after.site, table.c.sequence > after.sequence)
        query = query.order_by(*order)
        self._truths = tuple(column.name for column in table.columns if isinstance(column.type, Boolean))
        self._result = connection.execute(query, execution_options=STREAMED).mappings()
        self._rows = iter(self._result)
        self.next: Row | None = next(self._rows, None)

    def take_until(self, sequence: int) -> Iterator[Row]:
        """Give the rows of facts up to this one."""
        while self.next is not None and _number(self.next) <= sequence:
            yield {**self.next, **self._truths_of(self.next)} if self._truths else self.next
            self.next = next(self._rows, None)

    def close(self) -> None:
        """Give the query up."""
        self._result.close()

    def _truths_of(self, row: Row) -> dict[str, object]:
        """SQLite stores truth values as 0 and 1."""
        return {name: _TRUTHS.get(row[name], row[name]) for name in self._truths}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Contents:
    """The rows that belong to one fact, and those that belong to none before it."""

    rows: list[tuple[str, Row]]
    strays: list[tuple[str, int]]


class _Reader:
    """Contents of facts, all tables side by side."""

    def __init__(self, connection: Connection, after: Head) -> None:
        self._tables = [_Rows(connection, table, after) for table in CONTENT_TABLES]

    def at(self, sequence: int) -> _Contents:
        """Return the rows of the fact with this number; facts must be asked for in order."""
        contents = _Contents(rows=[], strays=[])
        for table in self._tables:
            for row in table.take_until(sequence):
                if row["sequence"] == sequence:
                    contents.rows.append((table.name, row))
                else:
                    contents.strays.append((table.name, row["sequence"]))
        return contents

    def close(self) -> None:
        """Give the queries up."""
        for table in self._tables:
            table.close()

    def rest(self) -> Iterator[tuple[str, int]]:
        """Give the rows beyond the last fact."""
        for table in self._tables:
            for row in table.take_until(_BEYOND):
                yield table.name, row["sequence"]


def verify_chain(connection: Connection, key: bytes, after: Head) -> Generator[Problem, None, None]:
    """Walk one site's chain from a trusted place to its end, in constant memory, and give what is wrong.

    A broken place is told once: the walk goes on from what is stored.
    """
    with closing(_Reader(connection, after)) as contents, closing(_Rows(connection, sealed, after)) as seals:
        previous, expected = after.link, after.sequence + 1
        for row in _facts(connection, after):
            at = FactId(site=after.site, sequence=_number(row))
            yield from _check_link(key, row, at, previous, expected)
            found = contents.at(at.sequence)
            yield from (_stray(after.site, name, sequence) for name, sequence in found.strays)
            if rows_digest(found.rows) != row["rows_digest"]:
                yield _problem(ProblemKind.CHANGED_CONTENT, at, "its content is not what was recorded")
            yield from _check_seal(connection, row, at, list(seals.take_until(at.sequence)))
            previous, expected = row["link"], at.sequence + 1
        yield from (_stray(after.site, name, sequence) for name, sequence in contents.rest())
        yield from (_stray(after.site, "sealed", row["sequence"]) for row in seals.take_until(_BEYOND))


def _facts(connection: Connection, after: Head) -> Iterator[Row]:
    query = select(*as_stored(fact)).where(fact.c.site == after.site, fact.c.sequence > after.sequence)
    with connection.execute(query.order_by(fact.c.sequence), execution_options=STREAMED) as result:
        yield from result.mappings()


def _check_link(key: bytes, row: Row, at: FactId, previous: bytes, expected: int) -> Iterator[Problem]:
    if at.sequence != expected:
        gap = FactId(site=at.site, sequence=expected)
        yield _problem(ProblemKind.MISSING_FACTS, gap, f"facts from here up to {at} (exclusive) are missing")
    elif row["previous"] != previous:
        yield _problem(ProblemKind.BROKEN_LINK, at, "it does not follow on the fact before it")
    if link_of(key, row) != row["link"]:
        yield _problem(ProblemKind.CHANGED_FACT, at, "the fact is not what was recorded")


def _check_seal(connection: Connection, row: Row, at: FactId, seals: Sequence[Row]) -> Iterator[Problem]:
    seal = next((one for one in seals if one["sequence"] == at.sequence), None)
    yield from (_stray(at.site, "sealed", one["sequence"]) for one in seals if one is not seal)
    if row["sealed_digest"] is None:
        if seal is not None:
            yield _stray(at.site, "sealed", at.sequence)
        return
    erased = is_erased(connection, at)
    if seal is None and not erased:
        yield _problem(ProblemKind.MISSING_SEALED, at, "its personal content is missing, and no erasure is recorded")
    elif seal is not None and erased:
        yield _problem(ProblemKind.ERASED_CAME_BACK, at, "its personal content was erased and is here again")
    elif seal is not None and not _fits(seal, row["sealed_digest"]):
        yield _problem(ProblemKind.CHANGED_SEALED, at, "its personal content is not what was recorded")


def _fits(seal: Row, digest: object) -> bool:
    salt, content = seal["salt"], seal["content"]
    return isinstance(salt, bytes) and isinstance(content, bytes) and sealed_digest(salt, content) == digest


def is_erased(connection: Connection, at: FactId) -> bool:
    """Say whether an erasure of this fact's personal content is recorded."""
    query = select(erasure.c.site).where(erasure.c.erased_site == at.site, erasure.c.erased_sequence == at.sequence)
    return connection.execute(query.limit(1)).first() is not None


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
    query = select(fact.c.link).where(fact.c.site == head.site, fact.c.sequence == head.sequence)
    link = connection.execute(query).scalar_one_or_none()
    if head.sequence and link != head.link:
        at = FactId(site=head.site, sequence=head.sequence)
        how = "is missing" if link is None else "has another link"
        yield _problem(ProblemKind.HEAD_DIFFERS, at, f"it {how}, against {witness}")


def _stray(site: int, table: str, sequence: int) -> Problem:
    at = FactId(site=site, sequence=sequence)
    return _problem(ProblemKind.CONTENT_WITHOUT_FACT, at, f"a row in {table} that no fact wrote")


def _problem(kind: ProblemKind, at: FactId, what: str) -> Problem:
    return Problem(kind=kind, at=at, sentence=f"fact {at}: {what}")
