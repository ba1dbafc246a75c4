"""How tables are written down: facts, and rows that belong to facts.

Every table but ``sealed`` and ``client_key`` is append-only. All are keyed by the fact that wrote the row: (site,
sequence), and a position where one fact writes several rows. Released columns are never renamed or retyped, and a new
one may be null, so that the digests of old facts stay true.
"""

from typing import Final

from sqlalchemy import (
    Boolean,
    Column,
    Date,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    PrimaryKeyConstraint,
    String,
    Table,
    text,
)
from sqlalchemy.schema import SchemaItem

metadata = MetaData()

_TYPES: Final = {"int": Integer, "text": String, "date": Date, "bool": Boolean, "bytes": LargeBinary}


def foreign(*columns: str) -> ForeignKeyConstraint:
    """Return the constraint that the fact exists which a pair of columns names, at the end of a unit at the latest."""
    return ForeignKeyConstraint(columns, ["fact.site", "fact.sequence"], deferrable=True, initially="DEFERRED")


def reference(name: str) -> ForeignKeyConstraint:
    """Return the constraint that a thing or fact named in a row exists."""
    return foreign(f"{name}_site", f"{name}_sequence")


_CORRECTS: Final = text("version > 1")
"""Corrections and retractions are few: two small indexes tell what stands, and stay in memory."""

fact = Table(
    "fact",
    metadata,
    Column("site", Integer, nullable=False),
    Column("sequence", Integer, nullable=False),
    Column("kind", String, nullable=False),
    Column("thing_site", Integer, nullable=False),
    Column("thing_sequence", Integer, nullable=False),
    Column("version", Integer, nullable=False),
    Column("recorded_at", String, nullable=False),
    Column("happened_at", String, nullable=False),
    Column("recorded_by", String, nullable=False),
    Column("corrects_site", Integer),
    Column("corrects_sequence", Integer),
    Column("reason", String),
    Column("rows_digest", LargeBinary, nullable=False),
    Column("sealed_digest", LargeBinary),
    Column("previous", LargeBinary, nullable=False),
    Column("link", LargeBinary, nullable=False),
    PrimaryKeyConstraint("site", "sequence"),
    reference("thing"),
    reference("corrects"),
    Index("fact_by_thing", "thing_site", "thing_sequence", "version", "site", "sequence"),
    Index("fact_by_kind", "kind", "site", "sequence"),
    Index("fact_correcting", "site", "sequence", unique=True, sqlite_where=_CORRECTS, postgresql_where=_CORRECTS),
    Index(
        "fact_corrected",
        *("thing_site", "thing_sequence", "version", "site", "sequence"),
        sqlite_where=_CORRECTS,
        postgresql_where=_CORRECTS,
    ),
    sqlite_with_rowid=False,
)


def written(name: str, columns: str, *parts: Index, many: bool = False) -> Table:
    """Return a table of rows that belong to facts, from its columns as text.

    Args:
        name: the table's name.
        columns: ``name:type`` with blanks between, ``?`` after a type that may be missing. Types: ``int``, ``text``,
            ``date``, ``bool``, ``bytes``, ``thing``: a pair of columns that names a fact, with its index, and
            ``pair``: the same without one.
        parts: further indexes.
        many: whether one fact writes several rows.
    """
    key = ["site", "sequence", "position"] if many else ["site", "sequence"]
    made: list[SchemaItem] = []
    for said in columns.split():
        column, _, kind = said.partition(":")
        made += _made(name, column, kind.removesuffix("?"), is_open=kind.endswith("?"))
    return Table(
        name,
        metadata,
        *(Column(one, Integer, nullable=False) for one in key),
        *made,
        *parts,
        PrimaryKeyConstraint(*key),
        foreign("site", "sequence"),
        sqlite_with_rowid=False,
    )


def _made(table: str, column: str, kind: str, *, is_open: bool) -> list[SchemaItem]:
    if kind not in {"thing", "pair"}:
        return [Column(column, _TYPES[kind], nullable=is_open)]
    pair = [f"{column}_site", f"{column}_sequence"]
    index = [Index(f"{table}_by_{column}", *pair)] if kind == "thing" else []
    return [*(Column(one, Integer, nullable=is_open) for one in pair), reference(column), *index]
