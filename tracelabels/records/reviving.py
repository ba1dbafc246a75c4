"""What an old copy must not revive: personal content that was erased since, and keys that were kept apart."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Final

from sqlalchemy import Connection, LargeBinary, Table, func, insert, select

from tracelabels.errors import LedgerError
from tracelabels.records.fact_reading import key_of, pair_is, pair_of, wrote
from tracelabels.records.facts import FactId
from tracelabels.records.schema import client_key, erasure, fact, sealed

KEY_TABLES: Final[tuple[Table, ...]] = (client_key,)
"""Tables whose rows are keys: no copy of a ledger holds them, so that what they open dies with them."""

KeyRows = Mapping[str, Sequence[Mapping[str, int | str]]]
"""Rows of the key tables by table; bytes as hexadecimal text."""


def erased_facts(connection: Connection) -> tuple[FactId, ...]:
    """Return the facts whose personal content is recorded as erased."""
    columns = pair_of(erasure, "erased")
    found = connection.execute(select(*columns).distinct().order_by(*columns))
    return tuple(FactId(site=site, sequence=sequence) for site, sequence in found)


def things_to_erase(connection: Connection, erased: Iterable[FactId]) -> tuple[FactId, ...]:
    """Return the things about which personal content is here although it was erased elsewhere."""
    query = select(*pair_of(fact, "thing")).join(sealed, wrote(sealed))
    things: dict[FactId, None] = {}
    for one in erased:
        found = connection.execute(query.where(pair_is(key_of(fact), one))).first()
        if found is not None:
            things[FactId(site=found[0], sequence=found[1])] = None
    return tuple(things)


def count_sealed(connection: Connection) -> int:
    """Return how many facts have personal content."""
    count: int = connection.execute(select(func.count()).select_from(sealed)).scalar_one()
    return count


def key_rows(connection: Connection) -> KeyRows:
    """Return the rows of the key tables, to be kept apart from any copy."""
    return {table.name: list(_rows_of(connection, table)) for table in KEY_TABLES}


def _rows_of(connection: Connection, table: Table) -> Iterator[dict[str, int | str]]:
    for row in connection.execute(select(table).order_by(*table.primary_key.columns)).mappings():
        yield {name: value.hex() if isinstance(value, bytes) else value for name, value in row.items()}


def put_key_rows(connection: Connection, rows: KeyRows) -> None:
    """Put keys back that were kept apart; those of facts that this ledger does not hold are left out.

    Raises:
        LedgerError: these are no keys of a ledger of this release.
    """
    tables = {table.name: table for table in KEY_TABLES}
    known = select(fact.c.site, fact.c.sequence)
    for name, several in rows.items():
        if name not in tables:
            raise _no_keys(given=f"keys of a kind {name!r} that this release does not know")
        table = tables[name]
        for row in several:
            values = _values(table, row)
            at = known.where(fact.c.site == values["site"], fact.c.sequence == values["sequence"])
            if connection.execute(at).first() is not None:
                connection.execute(insert(table), values)


def _values(table: Table, row: Mapping[str, int | str]) -> dict[str, int | str | bytes]:
    if set(row) != set(table.columns.keys()):
        raise _no_keys(given=f"a key whose parts are {', '.join(row)}")
    try:
        return {
            name: bytes.fromhex(str(value)) if isinstance(table.columns[name].type, LargeBinary) else value
            for name, value in row.items()
        }
    except ValueError as problem:
        raise _no_keys(given=f"a key of table {table.name} that is not hexadecimal") from problem


def _no_keys(*, given: str) -> LedgerError:
    return LedgerError(
        given=given, expected="keys as a backup kept them apart", remedy="name the newest file of keys of this practice"
    )
