"""The ledger: open it, read from it, write to it, check it, join it with another site's."""

import secrets
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, closing, contextmanager
from datetime import datetime
from itertools import chain, islice
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from sqlalchemy import URL, Connection, insert, select

from tracelabels.errors import LedgerError
from tracelabels.records.appending import Writing
from tracelabels.records.chain import head_of, key_mark, sites_of
from tracelabels.records.condition import Condition, condition_of
from tracelabels.records.copying import CopyDone, copy_ledger
from tracelabels.records.engine import Store, is_undecodable, location_url
from tracelabels.records.erasing import delete_erased
from tracelabels.records.facts import FactId, Head, Problem
from tracelabels.records.keys import key_path, read_or_make_key
from tracelabels.records.merging import merge_chains
from tracelabels.records.migrating import migrate, revision_of
from tracelabels.records.reading import Reading
from tracelabels.records.reviving import KeyRows, count_sealed, erased_facts, key_rows, put_key_rows, things_to_erase
from tracelabels.records.schema import REVISION, ledger_key
from tracelabels.records.walking import verify_all, verify_client_keys
from tracelabels.records.writing import RandomBytes, Scribe

SITES: Final = range(100)
MOST_PROBLEMS: Final = 1_000
_CAME_LATER: Final = "the client was erased before; this came later from another site"


class Ledger:
    """An open ledger; use it as a context manager."""

    def __init__(
        self, store: Store, *, site: int, key: bytes, clock: Callable[[], datetime], random_bytes: RandomBytes
    ) -> None:
        """Hold what ``open_ledger`` prepared."""
        self._store = store
        self._site = site
        self._key = key
        self._clock = clock
        self._random_bytes = random_bytes

    @property
    def site(self) -> int:
        """The site whose chain this ledger writes."""
        return self._site

    def __enter__(self) -> Self:
        """Return the ledger."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close it."""
        self.close()

    def close(self) -> None:
        """Close every connection."""
        self._store.close()

    @contextmanager
    def read(self) -> Iterator[Reading]:
        """Give one unchanging state of the ledger to ask."""
        with self._store.read() as connection:
            yield Reading(connection)

    @contextmanager
    def write(self, *, by: str, happened_at: datetime | None = None) -> Iterator[Writing]:
        """Give one unit of writing: all of its facts are kept at its end, or none if an error leaves it.

        Units of one process take turns in the order of asking; a unit must not be opened inside another.

        Args:
            by: opaque staff id of who records.
            happened_at: when it happened, with its zone; None for now.

        Raises:
            LedgerError: the database refuses; nothing of the unit was saved.
        """
        with self._store.write() as connection:
            unit = Writing(connection, self._scribe(by, happened_at))
            yield unit
            unit.finish()

    def erase(self, thing: FactId, *, by: str, reason: str) -> FactId:
        """Erase all personal content about a thing for good, and return the fact that says so.

        The chain stays whole, and ``verify`` knows the content as erased and not as missing.

        Raises:
            LedgerError: there is no personal content.
        """
        with self.write(by=by) as unit:
            at = unit.erase(thing, reason=reason)
        self.scrub()
        return at

    def scrub(self) -> None:
        """Leave nothing in the database's own files of what a unit erased; call it after such a unit.

        Raises:
            LedgerError: somebody else reads so long that the log cannot be emptied; nothing erased comes back.
        """
        self._store.scrub()

    def merge(self, source: Path | str, *, by: str) -> tuple[Head, ...]:
        """Take over what another database of the same practice holds beyond this one.

        Each site's chain is copied as it is. Erasures count here at once, also for content that came earlier.

        Args:
            source: the other database, a file or a URL; it is only read.
            by: opaque staff id.

        Returns:
            The new ends of the chains that grew.

        Raises:
            LedgerError: the chains contradict each other or are damaged, or the key is another; nothing is taken over.
        """
        other = Store(location_url(source))
        try:
            with other.read() as there, self._store.write() as here:
                _check_key(there, self._key)
                unit = Writing(here, self._scribe(by, None))
                ends = merge_chains(there, unit, here, site=self._site, key=self._key)
                erased = delete_erased(here)
                erased = unit.settle_erasures(reason=_CAME_LATER) or erased
                unit.finish()
        finally:
            other.close()
        if erased:
            self._store.scrub()
        return ends

    def copy_to(self, target: Path) -> CopyDone:
        """Copy the ledger into a new SQLite file in one consistent step, while others may write, and check the copy.

        Raises:
            LedgerError: the copy cannot be made, or the file is damaged; no copy is left.
        """
        return copy_ledger(self._store, target, key=self._key)

    def kept_apart(self) -> tuple[KeyRows, tuple[FactId, ...]]:
        """Return what no copy holds: keys that lie in the database, and the facts whose content is erased."""
        with self._store.read() as connection:
            return key_rows(connection), erased_facts(connection)

    def settle_copy(self, keys: KeyRows, erased: Sequence[FactId], *, by: str, reason: str) -> int:
        """Make an old copy a ledger again: put its keys back, and erase again what it brought back.

        Args:
            keys: as :meth:`kept_apart` gave them, of this copy's day or later.
            erased: the same; an erasure that is not recorded here yet is recorded now.
            by: opaque staff id.
            reason: why, for those erasures.

        Returns:
            How many facts lost personal content.
        """
        with self._store.write() as connection:
            before = count_sealed(connection)
            put_key_rows(connection, keys)
            delete_erased(connection)
            unit = Writing(connection, self._scribe(by, None))
            for thing in things_to_erase(connection, erased):
                unit.erase(thing, reason=reason)
            unit.settle_erasures(reason=reason)
            unit.finish()
            count = before - count_sealed(connection)
        if count:
            self._store.scrub()
        return count

    def heads(self) -> tuple[Head, ...]:
        """Return the end of every site's chain, and of our own even if it is empty."""
        with self._store.read() as connection:
            return tuple(head_of(connection, site) for site in sorted({*sites_of(connection), self._site}))

    def condition(self) -> Condition:
        """Ask the database which library and which journal it works with, and how many facts it holds."""
        with self._store.read() as connection:
            return condition_of(connection)

    def verify(self, *, heads: Sequence[Head] = (), most: int = MOST_PROBLEMS) -> list[Problem]:
        """Walk every site's chain in constant memory and return what is wrong, at most so many problems.

        Args:
            heads: ends of chains that were kept outside the database; a chain cut short is found by them.
            most: stop after so many problems.
        """
        try:
            return self._verified(self._store.read(), heads, most)
        except LedgerError as error:
            if not is_undecodable(error):
                raise
        return self._verified(self._store.read_damaged(), heads, most)

    def _verified(self, reading: AbstractContextManager[Connection], heads: Sequence[Head], most: int) -> list[Problem]:
        with reading as connection, closing(verify_all(connection, self._key, heads)) as problems:
            return list(islice(chain(problems, verify_client_keys(connection)), most))

    def _scribe(self, by: str, happened_at: datetime | None) -> Scribe:
        now = self._clock()
        happened = now if happened_at is None else happened_at
        if now.tzinfo is None or happened.tzinfo is None:
            raise LedgerError(
                given="a time without a zone",
                expected="a time with its zone",
                remedy="give the clock and the time of the event in UTC",
            )
        return Scribe(
            site=self._site,
            key=self._key,
            by=by,
            recorded_at=now,
            happened_at=happened,
            random_bytes=self._random_bytes,
        )


def open_ledger(
    location: Path | str,
    *,
    site: int,
    clock: Callable[[], datetime],
    key: bytes | None = None,
    random_bytes: RandomBytes = secrets.token_bytes,
) -> Ledger:
    """Open a ledger; an empty database is set up, an older one is brought to the newest revision.

    Args:
        location: a file for SQLite, or ``postgresql://user@host/database``.
        site: number of the site that writes, 0 to 99; nobody else writes this site's chain in another database.
        clock: gives the time with its zone.
        key: the practice's key of 32 bytes, the same at all of its sites. None: the file ``<database>.key`` beside an
            SQLite ledger, which is made together with it.
        random_bytes: source of salts and of a new key.

    Raises:
        LedgerError: no such site or database, another practice's key, or a ledger of a newer release.
    """
    if site not in SITES:
        raise LedgerError(
            given=f"site {site}",
            expected=f"a site number from {SITES.start} to {SITES.stop - 1}",
            remedy="correct the site number in practice.toml",
        )
    url = location_url(location)
    key = _key_for(url, random_bytes) if key is None else key
    store = Store(url)
    try:
        _set_up(store, key)
    except BaseException:
        store.close()
        raise
    return Ledger(store, site=site, key=key, clock=clock, random_bytes=random_bytes)


def _key_for(url: URL, random_bytes: RandomBytes) -> bytes:
    if url.get_backend_name() != "sqlite" or url.database is None:
        raise LedgerError(
            given="a PostgreSQL ledger without the practice's key",
            expected="the key that its sites share",
            remedy="keep the key in a file of the practice's folder and open the ledger with it",
        )
    database = Path(url.database)
    path = key_path(database)
    if database.exists() and database.stat().st_size > 0 and not path.exists():
        raise LedgerError(
            given=f"ledger {database.name} without its key file {path.name}",
            expected="both files side by side",
            remedy="put the key file back from a backup; without it no fact can be checked",
        )
    return read_or_make_key(path, random_bytes=random_bytes)


def _set_up(store: Store, key: bytes) -> None:
    with store.read() as connection:
        ready = revision_of(connection) == REVISION
    if not ready:
        with store.write() as connection:
            if revision_of(connection) != REVISION:
                migrate(connection)
            if connection.execute(select(ledger_key.c.mark)).first() is None:
                connection.execute(insert(ledger_key), {"id": 1, "mark": key_mark(key)})
    with store.read() as connection:
        _check_key(connection, key)


def _check_key(connection: Connection, key: bytes) -> None:
    if revision_of(connection) != REVISION:
        raise LedgerError(
            given="a database that is no ledger of this release",
            expected=f"a ledger of revision {REVISION}",
            remedy="open it once by itself, so that it is brought up to date",
        )
    if connection.execute(select(ledger_key.c.mark)).scalar_one() != key_mark(key):
        raise LedgerError(
            given="a key that is not this ledger's",
            expected="the key with which the ledger was set up",
            remedy="put back the right key file; every site of a practice uses the same key",
        )
