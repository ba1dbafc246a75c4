"""One unit of writing: facts are numbered, linked and stored together, or not at all."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import islice
from typing import Final, TypeVar

from sqlalchemy import Connection, Table, exists, func, insert, select

from tracelabels.custody import Name
from tracelabels.errors import LedgerError
from tracelabels.identifiers import format_serial
from tracelabels.records import rows
from tracelabels.records.chain import SALT_BYTES, canonical, head_of, link_of, plain_values, rows_digest, sealed_digest
from tracelabels.records.client_keys import NONCE_BYTES, bound_to_purpose, find_client_key, make_client_key, seal
from tracelabels.records.fact_reading import key_of, names, pair_is, pair_of, pairs_in, standing_rows, wrote
from tracelabels.records.facts import LAST_NUMBER, NUMBERED, FactId, FactKind, Head, Series
from tracelabels.records.reading import Reading
from tracelabels.records.refusals import given_reason, known, taken_before, unknown_thing
from tracelabels.records.rows import NewRow, named, require_key, require_named
from tracelabels.records.schema import CONTENT_TABLES, fact, numbers_taken, sealed, taken_serial

Item = TypeVar("Item")

CHUNK: Final = 1_000
"""So many facts are put together before they go to the database."""

Rows = list[tuple[Table, NewRow]]
RandomBytes = Callable[[int], bytes]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scribe:
    """Who writes, when, and with which key."""

    site: int
    """Site whose chain grows."""
    key: bytes
    """The practice's key."""
    by: str
    """Opaque staff id."""
    recorded_at: datetime
    """Now."""
    happened_at: datetime
    """When it happened."""
    random_bytes: RandomBytes
    """Source of salts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A fact before it has a place in the chain."""

    kind: FactKind
    """What it says."""
    rows: Sequence[tuple[Table, NewRow]] = ()
    """Its rows, without their key."""
    sealed: bytes | None = None
    """Personal content, kept where it can be erased."""
    owner: FactId | None = None
    """The client under whose key it is sealed; None for content about nobody of the clients."""
    owns_itself: bool = False
    """The fact is a client's own record: sealed under the key of the client that it makes."""
    corrects: FactId | None = None
    """The fact that it corrects."""
    reason: str | None = None
    """Why."""

    def correcting(self, corrected: FactId, reason: str) -> "Draft":
        """Return the same as a correction of a fact."""
        return replace(self, corrects=corrected, reason=reason)


class ChainWriting(Reading):
    """Appends facts to one site's chain; what the facts say is up to the class below it."""

    def __init__(self, connection: Connection, scribe: Scribe) -> None:
        """Begin at the chain's end, which nobody else can move while the unit lasts."""
        super().__init__(connection)
        self._scribe = scribe
        self._head = head_of(connection, scribe.site)
        self._waiting: dict[Table, list[NewRow]] = {}
        self._facts_waiting = 0

    def append(self, draft: Draft) -> FactId:
        """Put a fact at the end of the chain.

        Raises:
            LedgerError: a text that no database can hold, or a correction of a fact that does not stand.
        """
        at = FactId(site=self._scribe.site, sequence=self._head.sequence + 1)
        thing, version = (at, 1) if draft.corrects is None else self._next_version(draft.corrects)
        key: NewRow = {"site": at.site, "sequence": at.sequence}
        for _, row in draft.rows:
            _refuse_unstorable(row)
        fact_row: NewRow = {
            **key,
            "kind": draft.kind.value,
            **named("thing", thing),
            "version": version,
            "recorded_at": rows.instant_text(self._scribe.recorded_at),
            "happened_at": rows.instant_text(self._scribe.happened_at),
            "recorded_by": self._scribe.by,
            **named("corrects", draft.corrects),
            "reason": draft.reason,
            "rows_digest": rows_digest((table.name, row) for table, row in draft.rows),
            "sealed_digest": None if draft.sealed is None else self._seal(at, draft, thing),
            "previous": self._head.link,
        }
        _refuse_unstorable(fact_row)
        fact_row["link"] = link_of(self._scribe.key, fact_row)
        self._waiting.setdefault(fact, []).append(fact_row)
        for table, row in draft.rows:
            self._waiting.setdefault(table, []).append({**key, **row})
        self._head = Head(site=at.site, sequence=at.sequence, link=fact_row["link"])
        self._facts_waiting += 1
        if self._facts_waiting >= CHUNK:
            self._settle()
        return at

    def next_numbers(self, series: Series, count: int = 1) -> range:
        """Take the site's next running numbers; they are never given out again.

        Raises:
            LedgerError: the series would run past its last number.
        """
        if count < 1:
            raise LedgerError(
                given=f"a wish for {count} numbers",
                expected="at least one",
                remedy="ask for as many numbers as there are things to number",
            )
        query = select(func.max(numbers_taken.c.last)).where(
            numbers_taken.c.site == self._scribe.site,
            numbers_taken.c.series == series.value,
        )
        self._settle()
        first = (self._connection.execute(query).scalar_one() or 0) + 1
        last = first + count - 1
        if last > LAST_NUMBER:
            raise LedgerError(
                given=f"a wish for {count} numbers of series {series.value} where {first - 1:,} are taken",
                expected=f"numbers up to {LAST_NUMBER:,} at one site",
                remedy="give this place a new site number and go on there; old serials stay valid",
            )
        taken: NewRow = {"series": series.value, "first": first, "last": last}
        self.append(Draft(kind=FactKind.NUMBERS_TAKEN, rows=((numbers_taken, taken),)))
        return range(first, last + 1)

    def next_numbered(self, series: Series) -> str:
        """Take the site's next number of a series and return it as people read it: ``L01-0001``."""
        letter, digits = NUMBERED[series]
        (number,) = self.next_numbers(series)
        return f"{letter}{self._scribe.site:02d}-{number:0{digits}d}"

    def next_serials(self, count: int = 1) -> tuple[str, ...]:
        """Take the site's next serials, with their check digits."""
        return tuple(format_serial(self._scribe.site, number) for number in self.next_numbers(Series.SERIAL, count))

    def retract(self, thing: FactId, *, reason: str) -> FactId:
        """Take a thing back that was recorded by mistake; nothing stands in its place.

        Raises:
            LedgerError: the thing is not known, was taken back before, or other things name it.
        """
        last = self._standing_fact(thing)
        for table in CONTENT_TABLES:
            self._refuse_if_named(table, thing)
        return self.append(Draft(kind=FactKind.RETRACTION, corrects=last, reason=given_reason(reason)))

    def sealed_for(self, client: Name, content: bytes, *, purpose: str) -> bytes:
        """Seal content that lies outside the ledger with a client's key, so that it can be erased with the client.

        Args:
            client: a client on record who was not erased.
            content: what is personal.
            purpose: what it is, such as ``evidence``; it opens for the same purpose only.

        Raises:
            LedgerError: no such client, or the client was erased.
        """
        self._settle()
        thing = self.require_thing(client)
        key, nonce = self._key_of(thing, is_new=False), self._scribe.random_bytes(NONCE_BYTES)
        return seal(key, content, bound_to=bound_to_purpose(purpose, thing), nonce=nonce)

    def finish(self) -> None:
        """Write out what waits; called once at the end of the unit."""
        self._settle()

    # -- inner workings ---------------------------------------------------------------------------------------------

    def _settle(self) -> None:
        """Send what waits to the database, facts first."""
        waiting, self._waiting, self._facts_waiting = self._waiting, {}, 0
        for table in sorted(waiting, key=lambda one: one is not fact):
            self._connection.execute(insert(table), waiting[table])

    def _seal(self, at: FactId, draft: Draft, thing: FactId) -> bytes:
        """Lay personal content down, under its client's key where it is about a client, and return its digest."""
        content = draft.sealed or b""
        owner = thing if draft.owns_itself else draft.owner
        if owner is not None:
            key = self._key_of(owner, is_new=owner == at)
            nonce = self._scribe.random_bytes(NONCE_BYTES)
            content = seal(key, content, bound_to=str(at), nonce=nonce)
        salt = self._scribe.random_bytes(SALT_BYTES)
        row: NewRow = {"site": at.site, "sequence": at.sequence, "salt": salt, "content": content}
        self._waiting.setdefault(sealed, []).append(row)
        return sealed_digest(salt, content)

    def _key_of(self, client: FactId, *, is_new: bool) -> bytes:
        if is_new:
            return make_client_key(self._connection, client, self._scribe.random_bytes)
        key = find_client_key(self._connection, client)
        if key is None:
            raise LedgerError(
                given=f"personal content about client {client}, who was erased",
                expected="a client who is on record",
                remedy="record the client under a new code",
            )
        return key

    def _next_version(self, corrected: FactId) -> tuple[FactId, int]:
        found = known(self.find_fact(corrected), what="fact", name=str(corrected))
        if self._standing_fact(found.thing) != corrected:
            raise LedgerError(
                given=f"a correction of fact {corrected}, which does not stand any more",
                expected="the fact that stands today",
                remedy="look the thing up again and correct what is recorded now",
            )
        return found.thing, found.version + 1

    def _standing_fact(self, thing: FactId) -> FactId:
        """Return the fact that stands about a thing."""
        history = self.history(thing)
        if not history:
            raise unknown_thing(what="thing", name=str(thing))
        if history[-1].kind is FactKind.RETRACTION:
            raise LedgerError(
                given=f"thing {thing}, which was taken back",
                expected="a thing that stands",
                remedy="record it again as a new thing",
            )
        return history[-1].id

    def _refuse_if_named(self, table: Table, thing: FactId) -> None:
        for pair in pairs_in(table):
            found = self._first(standing_rows(table, *key_of(fact)).where(pair_is(pair, thing)))
            if found is not None:
                raise LedgerError(
                    given=f"thing {thing}, which fact {require_key(found)} ({table.name}) names",
                    expected="a thing that no other names",
                    remedy="correct it instead, or take the other back first",
                )

    def _refuse_taken(self, what: str, table: Table, values: NewRow, *, thing: FactId | None = None) -> None:
        """Refuse values that another thing has, or ever had."""
        query = select(*pair_of(fact, "thing")).join(table, wrote(table))
        for name, value in values.items():
            query = query.where(table.c[name] == value)
        if thing is not None:
            query = query.where(~names("thing", fact, thing))
        found = self._first(query)
        if found is not None:
            raise taken_before(what=what, whose=f"thing {require_named('thing', found)}")

    def _refuse_taken_serials(self, serials: Sequence[str]) -> None:
        self._settle()
        query = select(taken_serial.c.serial).where(taken_serial.c.serial.in_(serials)).limit(1)
        taken = self._connection.execute(query).scalar_one_or_none()
        if taken is None and len(set(serials)) < len(serials):
            taken = next(one for place, one in enumerate(serials) if one in serials[:place])
        if taken is not None:
            raise taken_before(what=f"serial {taken}", whose="another thing")

    def _refuse_unknown(self, table: Table, thing: FactId) -> None:
        """Refuse a name that no thing of this table bears."""
        query = select(exists().where(names("thing", fact, thing), wrote(table)))
        self._settle()
        if not self._connection.execute(query).scalar_one():
            raise unknown_thing(what=table.name, name=str(thing))


def in_chunks(items: Iterable[Item]) -> Iterable[list[Item]]:
    """Give the items a chunk at a time."""
    source = iter(items)
    while chunk := list(islice(source, CHUNK)):
        yield chunk


def serial_row(serial: str) -> tuple[Table, NewRow]:
    """Return the row by which a thing takes a serial for good."""
    return taken_serial, {"serial": serial}


def sealed_json(values: dict[str, str | None]) -> bytes:
    """Write personal values as sealed content."""
    return canonical(plain_values(values.keys(), values.values()))


def _refuse_unstorable(row: NewRow) -> None:
    for name, value in row.items():
        if isinstance(value, str) and ("\0" in value or not _is_unicode(value)):
            raise LedgerError(
                given=f"{name} {value[:40]!r}",
                expected="text of whole characters without NUL",
                remedy="type it again without control characters",
            )


def _is_unicode(text: str) -> bool:
    if text.isascii():
        return True
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True
