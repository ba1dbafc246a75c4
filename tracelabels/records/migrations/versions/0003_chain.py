"""From the consumables to the recall: sterilisers, loads, spore tests, decisions, clients, uses, incidents, evidence.

Revision ID: 0003
Revises: 0002

A released revision is never edited; the next change is a new file.
"""

import sqlalchemy as sa
from alembic import op

from tracelabels.records.append_only import refusing, refusing_unless_erased

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

# name:type, with ? where a value may be missing; a thing is a pair of columns that names a fact, with its index
CONTENT = {
    "consumable": ("kind:text lot:text product:text? maker:text? expiry:date? reference:text? reference_picture:text?"),
    "consumable_period": "consumable:thing from_day:date to_day:date?",
    "steriliser": "code:text name:text serial_number:text chamber_litres:text? validation:text?",
    "steriliser_cycle_kinds": "position:int item:text",
    "steriliser_event": ("steriliser:thing event:text at:text passed:bool? cycle_kind:text? next_due:date? note:text?"),
    "load": (
        "number:text steriliser:thing cycle_kind:text programme:text temperature_c:text hold_minutes:text "
        "goods:text operator:text started_at:text counted:int drying_minutes:text? cycle_number:int?"
    ),
    "load_pouches": "position:int item:thing",
    "load_end": "load:thing outcome:text at:text note:text?",
    "load_readings": "load:thing source:text probe:text verdict:text evidence:text?",
    "load_readings_reasons": "position:int item:text",
    "load_readings_typed": "position:int minute:text temperature_c:text pressure_kpa:text?",
    "unloaded": "load:thing pouch:thing state:text at:text note:text?",
    "indicator_reading": (
        "load:thing pouch:thing? place:text result:text stage:text at:text type_number:int? lot:text? evidence:text?"
    ),
    "spore_test": (
        "number:text steriliser:thing cycle_kind:text load:thing lot:text placement:text at:text "
        "due_at:text lot_expiry:date? has_control:bool by_laboratory:bool in_reference_tube:bool"
    ),
    "spore_reading": "test:thing result:text at:text evidence:text? note:text?",
    "load_release": "load:thing decision:text at:text second:text? is_early:bool",
    "load_release_reasons": "position:int item:text",
    "load_release_excepted": "position:int item:thing",
    "hold": "number:text cause:text at:text reason:text recall:thing?",
    "hold_items": "position:int item:thing",
    "hold_lifted": "hold:thing at:text reason:text",
    "client": "code:text",
    "opening": "pouch:thing client:thing? indicator:bool dry:bool whole:bool verdict:text at:text",
    "opening_reasons": "position:int item:text",
    "fill": "tube:thing preparation:thing at:text client:thing?",
    "client_use": "number:text client:thing practitioner:text at:text verdict:text? photograph:text?",
    "client_use_items": "position:int item:thing",
    "client_use_reasons": "position:int item:text",
    "destruction": "item:thing what:text at:text how:text",
    "move": "item:thing kind:text place:text at:text",
    "label_outcome": "run:thing serial:text kind:text outcome:text",
    "incident": "number:text kind:text at:text client:thing? use:thing?",
    "incident_items": "position:int item:thing",
    "incident_reasons": "position:int item:text",
    "adverse_event": "number:text client:thing onset:date report_due:date? report_sent:date? closed_on:date?",
    "adverse_event_uses": "position:int item:thing",
    "recall": "number:text cause:text reason:text at:text",
    "recall_roots": "position:int item:thing",
    "recall_items": "position:int item:thing",
    "recall_clients": "position:int item:thing",
    "recall_incidents": "position:int item:thing",
    "recall_action": "recall:thing step:text at:text client:thing? place:text? note:text?",
    "recall_action_items": "position:int item:thing",
    "evidence": "digest:text media_type:text size:int about:thing? client:thing?",
    "claim": "position:int item:thing what:text attempt:int",
    "request": "key:text",
}
INDEXES = {
    "consumable_by_lot": ("consumable", "lot kind"),
    "steriliser_by_code": ("steriliser", "code"),
    "load_by_number": ("load", "number"),
    "load_by_start": ("load", "started_at"),
    "indicator_reading_by_lot": ("indicator_reading", "lot"),
    "spore_test_by_number": ("spore_test", "number"),
    "spore_test_by_lot": ("spore_test", "lot"),
    "hold_by_number": ("hold", "number"),
    "client_by_code": ("client", "code"),
    "client_use_by_number": ("client_use", "number"),
    "incident_by_number": ("incident", "number"),
    "label_outcome_by_serial": ("label_outcome", "serial"),
    "adverse_event_by_number": ("adverse_event", "number"),
    "recall_by_number": ("recall", "number"),
    "evidence_by_digest": ("evidence", "digest"),
    "claim_once": ("claim", "item_site item_sequence what attempt site"),
    "request_once": ("request", "key site"),
    "tube_by_lot": ("tube", "lot"),
    "pouch_by_material_lot": ("pouch", "material_lot"),
    "print_run_by_stock_lot": ("print_run", "stock_lot"),
}
UNIQUE = {"claim_once", "request_once"}
TYPES = {"int": sa.Integer, "text": sa.String, "bytes": sa.LargeBinary, "date": sa.Date, "bool": sa.Boolean}


def upgrade() -> None:
    op.add_column("tube", sa.Column("lot", sa.String(), nullable=True))
    for name, columns in CONTENT.items():
        _create(name, f"site:int sequence:int {columns}")
    _create("client_key", "site:int sequence:int key:bytes")
    for name, (table, columns) in INDEXES.items():
        op.create_index(name, table, columns.split(), unique=name in UNIQUE)
    dialect = op.get_bind().dialect.name
    for name, columns in CONTENT.items():
        key = ["site", "sequence", "position"] if columns.startswith("position:") else ["site", "sequence"]
        unique = next((INDEXES[index][1].split() for index in UNIQUE if INDEXES[index][0] == name), ())
        for statement in refusing(dialect, name, key=key, unique=unique):
            op.execute(sa.text(statement))
    for statement in refusing_unless_erased(dialect, "client_key"):
        op.execute(sa.text(statement))


def _create(name: str, columns: str) -> None:
    parts: list[sa.Column[object]] = []
    things: list[str] = []
    for text in columns.split():
        column, _, kind = text.partition(":")
        is_open, plain = kind.endswith("?"), kind.removesuffix("?")
        if plain == "thing":
            things.append(column)
            pair = (f"{column}_site", f"{column}_sequence")
            parts += [sa.Column(one, sa.Integer, nullable=is_open) for one in pair]
        else:
            parts.append(sa.Column(column, TYPES[plain], nullable=is_open))
    key = [part.name for part in parts if part.name in {"site", "sequence", "position"}]
    references = [_foreign("site", "sequence"), *(_foreign(f"{one}_site", f"{one}_sequence") for one in things)]
    op.create_table(name, *parts, sa.PrimaryKeyConstraint(*key), *references, sqlite_with_rowid=False)
    for one in things:
        op.create_index(f"{name}_by_{one}", name, [f"{one}_site", f"{one}_sequence"])


def _foreign(*columns: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(columns, ["fact.site", "fact.sequence"], deferrable=True, initially="DEFERRED")


def downgrade() -> None:
    for name in ("client_key", *reversed(CONTENT)):
        op.drop_table(name)
    for name, (table, _) in INDEXES.items():
        if table not in CONTENT:
            op.drop_index(name)
    op.drop_column("tube", "lot")
