"""Taking over another database's chains, so that one database holds the records of several sites."""

from collections.abc import Iterator
from contextlib import closing
from typing import Any

from sqlalchemy import Connection, Table, insert, select

from tracelabels.errors import LedgerError
from tracelabels.records.appending import Writing
from tracelabels.records.chain import STREAMED, head_of, link_at, sites_of
from tracelabels.records.facts import FactKind, Head
from tracelabels.records.rows import NewRow
from tracelabels.records.schema import CONTENT_TABLES, client_key, erasure, fact, head_seen, sealed, taken_serial
from tracelabels.records.walking import verify_chain
from tracelabels.records.writing import Draft


def merge_chains(source: Connection, unit: Writing, target: Connection, *, site: int, key: bytes) -> tuple[Head, ...]:
    """Copy what the source's chains have beyond ours, check it, and record the ends that were seen.

    Args:
        source: a reading connection to the other database.
        unit: the unit of writing here.
        target: that unit's connection.
        site: the site that writes here; its own chain is never taken from elsewhere.
        key: the practice's key.

    Returns:
        The new ends of the chains that grew.

    Raises:
        LedgerError: the chains contradict each other, or the other database is damaged; nothing is taken over.
    """
    unit.finish()
    grown = [(ours, theirs) for ours, theirs in _compare(source, target, site) if theirs.sequence > ours.sequence]
    for ours, theirs in grown:
        _copy(source, target, fact, ours, theirs)
    for ours, theirs in grown:
        for table in (*CONTENT_TABLES, sealed):
            _copy(source, target, table, ours, theirs)
    for ours, _ in grown:
        with closing(verify_chain(target, key, ours)) as problems:
            problem = next(problems, None)
        if problem is not None:
            raise LedgerError(
                given=f"a database to take over in which {problem.sentence}",
                expected="unbroken chains of this practice",
                remedy="run verify there, and take over a sound copy",
            )
    _copy_keys(source, target)
    ends = tuple(theirs for _, theirs in grown)
    if ends:
        unit.append(Draft(kind=FactKind.HEAD_SEEN, rows=[(head_seen, row) for row in _seen(ends)]))
        unit.finish()
    return ends


def _seen(ends: tuple[Head, ...]) -> Iterator[NewRow]:
    for place, end in enumerate(ends):
        yield {"position": place, "seen_site": end.site, "seen_sequence": end.sequence, "seen_link": end.link}


def _compare(source: Connection, target: Connection, own: int) -> Iterator[tuple[Head, Head]]:
    """Give each chain's end here and there, after checking that one continues the other."""
    for site in sites_of(source):
        ours, theirs = head_of(target, site), head_of(source, site)
        if site == own and theirs.sequence > ours.sequence:
            raise LedgerError(
                given=f"a database with {theirs.sequence} facts of site {site}, whose own ledger has {ours.sequence}",
                expected="no more facts of this site than it wrote itself",
                remedy="this ledger lost facts or was put back from an old copy: restore the newest copy of it first",
            )
        common = min(ours.sequence, theirs.sequence)
        if common and link_at(source, site, common) != link_at(target, site, common):
            raise LedgerError(
                given=f"two chains of site {site} that differ at fact {common} or before",
                expected="one chain, written by one site",
                remedy="give each site its own number; run verify on both to see which one was changed",
            )
        yield ours, theirs


def _copy(source: Connection, target: Connection, table: Table, ours: Head, theirs: Head) -> None:
    query = select(table).where(table.c.site == ours.site, table.c.sequence > ours.sequence)
    query = query.where(table.c.sequence <= theirs.sequence).order_by(*table.primary_key.columns)
    with source.execute(query, execution_options=STREAMED) as result:
        for rows in result.mappings().partitions():
            if table is taken_serial:
                _refuse_taken(target, [row["serial"] for row in rows])
            target.execute(insert(table), [dict(row) for row in rows])


def _copy_keys(source: Connection, target: Connection) -> None:
    """Copy the keys of clients whom nobody erased, here or there; a copy of a ledger brings none.

    The erasures that the other database knows are here already.
    """
    here = {tuple(row) for row in target.execute(select(client_key.c.site, client_key.c.sequence))}
    gone = {tuple(row) for row in target.execute(select(erasure.c.erased_site, erasure.c.erased_sequence))}
    rows = source.execute(select(client_key)).mappings()
    new = [dict(row) for row in rows if (row["site"], row["sequence"]) not in here | gone]
    if new:
        target.execute(insert(client_key), new)


def _refuse_taken(target: Connection, serials: list[Any]) -> None:
    query = select(taken_serial.c.serial).where(taken_serial.c.serial.in_(serials)).limit(1)
    taken = target.execute(query).scalar_one_or_none()
    if taken is not None:
        raise LedgerError(
            given=f"serial {taken}, which stands for a thing here and for another one there",
            expected="serials that begin with their own site's number",
            remedy="correct the serial at one of the sites, giving the reason, and label that thing anew",
        )
