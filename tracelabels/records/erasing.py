"""Erasing personal content: the fact that it was there stays in the chain, the content and its salt go."""

from sqlalchemy import Connection, delete, exists, select

from tracelabels.errors import LedgerError
from tracelabels.records.appending import Writing
from tracelabels.records.fact_reading import names, wrote
from tracelabels.records.facts import FactId, FactKind
from tracelabels.records.refusals import given_reason
from tracelabels.records.rows import NewRow, named
from tracelabels.records.schema import erasure, fact, sealed
from tracelabels.records.writing import Draft


def erase_sealed(unit: Writing, connection: Connection, thing: FactId, *, reason: str) -> FactId:
    """Record the erasure of all personal content about a thing, in every version, and delete that content.

    Raises:
        LedgerError: there is none.
    """
    unit.finish()
    query = select(sealed.c.site, sealed.c.sequence).join(fact, wrote(sealed)).where(names("thing", fact, thing))
    found = [
        FactId(site=site, sequence=sequence)
        for site, sequence in connection.execute(query.order_by(sealed.c.site, sealed.c.sequence))
    ]
    if not found:
        raise LedgerError(
            given=f"an erasure of thing {thing}",
            expected="a thing with personal content",
            remedy="look it up: it was erased before, or never held any",
        )
    rows: list[NewRow] = [{"position": place, **named("erased", one)} for place, one in enumerate(found)]
    draft = Draft(kind=FactKind.ERASURE, rows=[(erasure, row) for row in rows], reason=given_reason(reason))
    at = unit.append(draft)
    unit.finish()
    delete_erased(connection)
    return at


def delete_erased(connection: Connection) -> bool:
    """Delete personal content of which an erasure is recorded, and say whether there was any."""
    recorded = exists().where(erasure.c.erased_site == sealed.c.site, erasure.c.erased_sequence == sealed.c.sequence)
    return connection.execute(delete(sealed).where(recorded)).rowcount > 0
