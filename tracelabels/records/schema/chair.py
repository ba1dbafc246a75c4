"""At the chair and after: clients, openings, uses, incidents, recalls, evidence; claims and request keys."""

from sqlalchemy import Column, Index, Integer, LargeBinary, PrimaryKeyConstraint, Table

from tracelabels.records.schema.notation import foreign, metadata, written

client = written("client", "code:text", Index("client_by_code", "code"))
client_key = Table(
    "client_key",
    metadata,
    Column("site", Integer, nullable=False),
    Column("sequence", Integer, nullable=False),
    Column("key", LargeBinary, nullable=False),
    PrimaryKeyConstraint("site", "sequence"),
    foreign("site", "sequence"),
    sqlite_with_rowid=False,
)
"""The key of each client who was not erased, by the client's first fact; kept apart from every backup."""

opening = written("opening", "pouch:thing client:thing? indicator:bool dry:bool whole:bool verdict:text at:text")
opening_reasons = written("opening_reasons", "item:text", many=True)

fill = written("fill", "tube:thing preparation:thing at:text client:thing?")

client_use = written(
    "client_use",
    "number:text client:thing practitioner:text at:text verdict:text? photograph:text?",
    Index("client_use_by_number", "number"),
)
client_use_items = written("client_use_items", "item:thing", many=True)
client_use_reasons = written("client_use_reasons", "item:text", many=True)

destruction = written("destruction", "item:thing what:text at:text how:text")
move = written("move", "item:thing kind:text place:text at:text")
label_outcome = written(
    "label_outcome", "run:thing serial:text kind:text outcome:text", Index("label_outcome_by_serial", "serial")
)

incident = written(
    "incident", "number:text kind:text at:text client:thing? use:thing?", Index("incident_by_number", "number")
)
incident_items = written("incident_items", "item:thing", many=True)
incident_reasons = written("incident_reasons", "item:text", many=True)

adverse_event = written(
    "adverse_event",
    "number:text client:thing onset:date report_due:date? report_sent:date? closed_on:date?",
    Index("adverse_event_by_number", "number"),
)
adverse_event_uses = written("adverse_event_uses", "item:thing", many=True)

recall = written("recall", "number:text cause:text reason:text at:text", Index("recall_by_number", "number"))
recall_roots = written("recall_roots", "item:thing", many=True)
recall_items = written("recall_items", "item:thing", many=True)
recall_clients = written("recall_clients", "item:thing", many=True)
recall_incidents = written("recall_incidents", "item:thing", many=True)
recall_action = written("recall_action", "recall:thing step:text at:text client:thing? place:text? note:text?")
recall_action_items = written("recall_action_items", "item:thing", many=True)

evidence = written(
    "evidence",
    "digest:text media_type:text size:int about:thing? client:thing?",
    Index("evidence_by_digest", "digest"),
)

claim = written(
    "claim",
    "item:thing what:text attempt:int",
    Index("claim_once", "item_site", "item_sequence", "what", "attempt", "site", unique=True),
    many=True,
)
"""Who has a thing for good: it is opened once and used once. After a claim was taken back the next attempt may win.

The writing site is part of the key, so that two databases which both had it can still be merged and compared.
"""

request = written("request", "key:text", Index("request_once", "key", "site", unique=True))
"""The key of a request that was answered by a fact: asked twice, it is done once."""
