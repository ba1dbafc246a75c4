"""Records: the ledger. The only room that speaks SQL.

Modules:
    facts: facts, their names, what verify finds.
    schema: the tables.
    migrations: the same tables, step by step from release to release.
    migrating: brings a database to the newest step.
    engine: connections, units of reading and writing.
    chain: digests, links, the walk that checks them.
    keys: the practice's key.
    rows: between values and rows.
    reading: things as they stand.
    writing: one unit of writing: numbers and links.
    appending: the trade's things.
    erasing: personal content.
    merging: several sites in one database.
    ledger: all of it behind one door.
"""

from typing import TYPE_CHECKING

from tracelabels.records.facts import (
    Fact,
    FactId,
    FactKind,
    Head,
    Problem,
    ProblemKind,
    Recorded,
    Series,
    StaffMember,
)

if TYPE_CHECKING:
    from tracelabels.records.appending import Writing
    from tracelabels.records.ledger import Ledger, open_ledger
    from tracelabels.records.reading import Reading

__all__ = [
    "Fact",
    "FactId",
    "FactKind",
    "Head",
    "Ledger",
    "Problem",
    "ProblemKind",
    "Reading",
    "Recorded",
    "Series",
    "StaffMember",
    "Writing",
    "open_ledger",
]

_HEAVY = {
    "Ledger": "tracelabels.records.ledger",
    "open_ledger": "tracelabels.records.ledger",
    "Reading": "tracelabels.records.reading",
    "Writing": "tracelabels.records.appending",
}


def __getattr__(name: str) -> object:
    """Load the database library only when the ledger is really opened."""
    if name not in _HEAVY:
        message = f"module {__name__!r} has no attribute {name!r}"
        raise AttributeError(message)
    from importlib import import_module  # noqa: PLC0415  only for the heavy names

    return getattr(import_module(_HEAVY[name]), name)
