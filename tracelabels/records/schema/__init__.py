"""The tables of the newest revision. ``migrations/`` builds them; a test holds that both agree.

Modules:
    notation: how tables are written down; facts.
    bench: sealed content, products, bottles, preparations, tubes, pouches, prints, staff, numbers, erasures.
    processing: lots, sterilisers, loads, readings, spore tests, decisions, holds.
    chair: clients, openings, uses, incidents, recalls, evidence; claims and request keys.
"""

from sqlalchemy import Table

from tracelabels.records.schema import chair, processing
from tracelabels.records.schema.bench import (
    bottle,
    bottle_event,
    component,
    erasure,
    head_seen,
    label_void,
    ledger_key,
    numbers_taken,
    pouch,
    pouch_content,
    preparation,
    print_run,
    printed_label,
    product,
    sealed,
    staff,
    taken_serial,
    tube,
)
from tracelabels.records.schema.chair import claim, client_key, label_outcome, request
from tracelabels.records.schema.notation import fact, metadata

REVISION = "0005"
"""The newest revision under ``migrations/versions``."""

NOT_CONTENT = frozenset({"fact", "sealed", "ledger_key", "client_key"})

CONTENT_TABLES: tuple[Table, ...] = tuple(
    table for table in sorted(metadata.tables.values(), key=lambda t: t.name) if table.name not in NOT_CONTENT
)
"""Every table whose rows a fact's digest covers, by name."""

__all__ = [
    "CONTENT_TABLES",
    "REVISION",
    "bottle",
    "bottle_event",
    "chair",
    "claim",
    "client_key",
    "component",
    "erasure",
    "fact",
    "head_seen",
    "label_outcome",
    "label_void",
    "ledger_key",
    "metadata",
    "numbers_taken",
    "pouch",
    "pouch_content",
    "preparation",
    "print_run",
    "printed_label",
    "processing",
    "product",
    "request",
    "sealed",
    "staff",
    "taken_serial",
    "tube",
]
