"""The chain: digests of contents, links of facts, ends of chains. ``walking`` checks them.

A fact's ``rows_digest`` is SHA-256 over the canonical JSON of the rows it wrote; ``sealed_digest`` is SHA-256 over a
random salt and the personal content. The ``link`` is HMAC-SHA-256, keyed by the practice's key, over the canonical JSON
of the fact's own columns and the previous link. Canonical JSON is that of RFC 8785 for the values used here (texts,
whole numbers, truth values): keys in order, no spaces, UTF-8; empty columns are left out.
"""

import hashlib
import hmac
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from typing import Any, Final

import msgspec
from sqlalchemy import Connection, RowMapping, Table, func, select

from tracelabels.records.facts import Head
from tracelabels.records.schema import CONTENT_TABLES, fact, sealed

Row = Mapping[str, Any] | RowMapping

NO_LINK: Final = bytes(32)
"""What stands as previous link in a chain's first fact."""
SALT_BYTES: Final = 16
STREAMED: Final = {"yield_per": 1_000}
"""Option of a query whose answer may be too large to hold: so many rows at a time."""
_WIDTH: Final = 20
"""Digits that the longest whole number of a database needs; damaged numbers are put in order after them."""
_CANONICAL: Final = msgspec.json.Encoder(order="sorted")
_NOT_LINKED: Final = "link"
_KEY_COLUMNS: Final = frozenset({"site", "sequence"})


def canonical(value: object) -> bytes:
    """Return the one way to write a value as JSON."""
    return _CANONICAL.encode(value)


def plain_values(names: Iterable[str], values: Iterable[object]) -> dict[str, object]:
    """Return a row's values as JSON knows them, under their names; empty ones are left out."""
    plain: dict[str, object] = {}
    for name, value in zip(names, values, strict=True):
        if value is None:
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
        plain = plain_values(row.keys(), row.values())
        tables.setdefault(name, []).append({key: plain[key] for key in plain if key not in _KEY_COLUMNS})
    return digest_of_tables(tables)


def digest_of_tables(tables: Mapping[str, list[dict[str, object]]]) -> bytes:
    """Return the digest of a fact's rows, given as plain values by table, without the fact's own name."""
    return hashlib.sha256(canonical(tables)).digest()


def sealed_digest(salt: bytes, content: bytes) -> bytes:
    """Return the digest of personal content; without the salt it cannot be guessed."""
    return hashlib.sha256(salt + content).digest()


def link_of(key: bytes, row: Row) -> bytes:
    """Return the link of a fact from its columns (its own link is not looked at)."""
    return link_of_values(key, row.keys(), row.values())


def link_of_values(key: bytes, names: Iterable[str], values: Iterable[object]) -> bytes:
    """Return the link of a fact from its columns' names and values."""
    plain = plain_values(names, values)
    plain.pop(_NOT_LINKED, None)
    return hmac.digest(key, canonical(plain), "sha256")


def key_mark(key: bytes) -> bytes:
    """Return a digest by which a key is known again without being told."""
    return hmac.digest(key, b"practice key", "sha256")


def head_of(connection: Connection, site: int) -> Head:
    """Return the end of a site's chain."""
    row = connection.execute(
        select(fact.c.sequence, fact.c.link).where(fact.c.site == site).order_by(fact.c.sequence.desc()).limit(1),
    ).first()
    return Head(site=site, sequence=0, link=NO_LINK) if row is None else Head(site=site, sequence=row[0], link=row[1])


def link_at(connection: Connection, site: int, sequence: int) -> bytes | None:
    """Return the link of a fact; None if it is not there."""
    query = select(fact.c.link).where(fact.c.site == site, fact.c.sequence == sequence)
    link: bytes | None = connection.execute(query).scalar_one_or_none()
    return link


def sites_of(connection: Connection) -> tuple[int, ...]:
    """Return the sites that have a chain here, or rows without one."""
    found = {site for table in (fact, sealed, *CONTENT_TABLES) for site in _sites_in(connection, table)}
    return tuple(sorted(found, key=lambda site: (not isinstance(site, int), str(site).zfill(_WIDTH))))


def _sites_in(connection: Connection, table: Table) -> Iterator[int]:
    """Give a table's sites, each with one step through its key."""
    site = connection.execute(select(func.min(table.c.site))).scalar_one()
    while site is not None:
        yield site
        site = connection.execute(select(func.min(table.c.site)).where(table.c.site > site)).scalar_one()
