"""Erasing personal content: the fact that it was there stays in the chain, the content, its salt and its key go."""

from sqlalchemy import Connection, Select, delete, select

from tracelabels.custody import Name
from tracelabels.errors import LedgerError
from tracelabels.records.fact_reading import erased, key_of, names, pair_is, pair_of, wrote
from tracelabels.records.facts import FactId, FactKind
from tracelabels.records.kinds import SHAPES
from tracelabels.records.refusals import given_reason
from tracelabels.records.rows import NewRow, named, require_key
from tracelabels.records.schema import client_key, erasure, fact, sealed
from tracelabels.records.shaped_writing import ShapedWriting
from tracelabels.records.writing import Draft

_OWNED = tuple(shape for shape in SHAPES if shape.owner)
"""Kinds of facts that seal something under the key of a client whom they name."""


class ErasingWriting(ShapedWriting):
    """Erases what is personal, inside the unit that asked whether it may."""

    def erase(self, thing: FactId, *, reason: str) -> FactId:
        """Record the erasure of all personal content about a thing, in every version, and delete that content.

        Raises:
            LedgerError: there is none.
        """
        found = self._sealed_at(_about(thing))
        if not found:
            raise LedgerError(
                given=f"an erasure of thing {thing}",
                expected="a thing with personal content",
                remedy="look it up: it was erased before, or never held any",
            )
        return self._erase(found, reason)

    def erase_client(self, client: Name, *, reason: str) -> int:
        """Erase everything that is sealed with a client's key, and the key; return how many facts lost content.

        Uses, incidents and adverse events stay on record with the client's code. A client who was erased before loses
        what came back since.

        Raises:
            LedgerError: there is no such client, or no reason is given.
        """
        thing = self.require_client(client)
        found = self._sealed_at(_about(thing))
        for shape in _OWNED:
            owned = _sealed().join(shape.table, wrote(shape.table, sealed))
            found += self._sealed_at(owned.where(names(str(shape.owner), shape.table, thing)))
        if found:
            self._erase(found, reason)
        return len(found)

    def settle_erasures(self, *, reason: str) -> bool:
        """Erase what a merge or an old copy brought of clients who are erased, and say whether there was any.

        Another site that did not know yet may have recorded more about such a client, and keeps a copy of the key.
        """
        found: list[FactId] = []
        for shape in _OWNED:
            owned = _sealed().join(shape.table, wrote(shape.table, sealed))
            found += self._sealed_at(owned.where(erased(pair_of(shape.table, str(shape.owner)))))
        found += self._sealed_at(_clients_versions())
        self._settle()
        gone = delete_erased(self._connection)
        left = [one for one in dict.fromkeys(found) if self._is_here(one)]
        if left:
            self._erase(left, reason)
        return gone or bool(left)

    def _erase(self, found: list[FactId], reason: str) -> FactId:
        rows: list[NewRow] = [{"position": place, **named("erased", one)} for place, one in enumerate(found)]
        draft = Draft(kind=FactKind.ERASURE, rows=[(erasure, row) for row in rows], reason=given_reason(reason))
        at = self.append(draft)
        self._settle()
        delete_erased(self._connection)
        return at

    def _sealed_at(self, query: "Select[tuple[int, int]]") -> list[FactId]:
        return [require_key(row) for row in self._all(query.order_by(*key_of(sealed)))]

    def _is_here(self, at: FactId) -> bool:
        return self._first(_sealed().where(pair_is(key_of(sealed), at))) is not None


def _sealed() -> "Select[tuple[int, int]]":
    return select(*key_of(sealed))


def _about(thing: FactId) -> "Select[tuple[int, int]]":
    return _sealed().join(fact, wrote(sealed)).where(names("thing", fact, thing))


def _clients_versions() -> "Select[tuple[int, int]]":
    """Return the query for every version of the own record of clients whose first record is erased."""
    is_client = fact.c.kind == FactKind.CLIENT.value
    return _sealed().join(fact, wrote(sealed)).where(is_client, erased(pair_of(fact, "thing")))


def delete_erased(connection: Connection) -> bool:
    """Delete content and keys of which an erasure is recorded, and say whether there was any."""
    count = 0
    for table in (sealed, client_key):
        count += connection.execute(delete(table).where(erased(key_of(table)))).rowcount
    return count > 0
