"""The first schema: facts, sealed content, and the tables of things; with triggers that refuse changes.

Revision ID: 0001
Revises: none

A released revision is never edited; the next change is a new file.
"""

from collections.abc import Iterator

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

# name:type, with ? where a value may be missing
FACT = (
    "site:int sequence:int kind:text thing_site:int thing_sequence:int version:int recorded_at:text happened_at:text "
    "recorded_by:text corrects_site:int? corrects_sequence:int? reason:text? rows_digest:bytes sealed_digest:bytes? "
    "previous:bytes link:bytes"
)
CONTENT = {
    "product": (
        "maker:text item_number:text name:text carrier:text gtin:text? swatch:text? resterilising_statement:text?"
    ),
    "bottle": (
        "serial:text product_site:int product_sequence:int batch:text received_on:date expiry:date? "
        "expiry_precision:text? after_opening_count:int? after_opening_unit:text? volume_ml:text?"
    ),
    "bottle_event": "bottle_site:int bottle_sequence:int happened_on:date?",
    "preparation": "number:text prepared_on:date prepared_by:text variant:text tubes_made:int fill_ml:text?",
    "component": (
        "position:int bottle_site:int? bottle_sequence:int? diluent_name:text? diluent_batch:text? "
        "diluent_expiry:date? amount_ml:text?"
    ),
    "tube": "serial:text preparation_site:int? preparation_sequence:int? size_ml:text?",
    "pouch": "serial:text kind:text material_lot:text sealed_by:text sealed_on:date",
    "pouch_content": "position:int tube_site:int? tube_sequence:int? instrument:text?",
    "print_run": (
        "number:text printed_on:date layout:text sheet:text dpi:int stock_lot:text? stock_withstands_steam:bool? "
        "proof_digest:text? reprint_of_site:int? reprint_of_sequence:int?"
    ),
    "printed_label": (
        "run_site:int run_sequence:int serial:text kind:text lot:text? use_by:date? prepared:date? item_number:text?"
    ),
    "label_void": "position:int label_site:int label_sequence:int",
    "staff": "code:text",
    "taken_serial": "serial:text",
    "numbers_taken": "series:text first:int last:int",
    "erasure": "position:int erased_site:int erased_sequence:int",
    "head_seen": "position:int seen_site:int seen_sequence:int seen_link:bytes",
}
REFERENCES = {
    "fact": ("thing", "corrects"),
    "bottle": ("product",),
    "bottle_event": ("bottle",),
    "component": ("bottle",),
    "tube": ("preparation",),
    "pouch_content": ("tube",),
    "print_run": ("reprint_of",),
    "printed_label": ("run",),
    "label_void": ("label",),
    "erasure": ("erased",),
}
INDEXES = {
    "fact_by_thing": ("fact", "thing_site thing_sequence version site sequence"),
    "fact_by_kind": ("fact", "kind site sequence"),
    "product_by_item_number": ("product", "item_number"),
    "bottle_by_serial": ("bottle", "serial"),
    "bottle_by_batch": ("bottle", "batch"),
    "bottle_by_product": ("bottle", "product_site product_sequence"),
    "bottle_event_by_bottle": ("bottle_event", "bottle_site bottle_sequence"),
    "preparation_by_number": ("preparation", "number"),
    "component_by_bottle": ("component", "bottle_site bottle_sequence"),
    "tube_by_serial": ("tube", "serial"),
    "tube_by_preparation": ("tube", "preparation_site preparation_sequence"),
    "pouch_by_serial": ("pouch", "serial"),
    "pouch_content_by_tube": ("pouch_content", "tube_site tube_sequence"),
    "print_run_by_number": ("print_run", "number"),
    "printed_label_by_serial": ("printed_label", "serial run_site run_sequence"),
    "printed_label_by_run": ("printed_label", "run_site run_sequence site sequence"),
    "label_void_by_label": ("label_void", "label_site label_sequence"),
    "staff_by_code": ("staff", "code"),
    "taken_serial_once": ("taken_serial", "serial"),
    "numbers_taken_by_series": ("numbers_taken", "site series last"),
    "erasure_by_erased": ("erasure", "erased_site erased_sequence"),
}
UNIQUE = {"taken_serial_once"}
CHANGED = "facts are appended, never changed"
DELETED = "facts are appended, never deleted"
NOT_ERASED = "personal content goes only with a recorded erasure"
NOT_NEXT = "a fact must follow on the last one of its site"


def upgrade() -> None:
    _create("fact", FACT)
    _create("sealed", "site:int sequence:int salt:bytes content:bytes")
    for name, columns in CONTENT.items():
        _create(name, f"site:int sequence:int {columns}")
    op.create_table(
        "ledger_key",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("mark", sa.LargeBinary, nullable=False),
    )
    for name, (table, columns) in INDEXES.items():
        op.create_index(name, table, columns.split(), unique=name in UNIQUE)
    sqlite = op.get_bind().dialect.name == "sqlite"
    for statement in _sqlite_triggers() if sqlite else _postgresql_triggers():
        op.execute(sa.text(statement))


def _create(name: str, columns: str) -> None:
    parts = [_column(text) for text in columns.split()]
    key = [part.name for part in parts if part.name in {"site", "sequence", "position"}]
    references = list(REFERENCES.get(name, ()))
    constraints = [_foreign([f"{of}_site", f"{of}_sequence"]) for of in references]
    if name != "fact":
        constraints.append(_foreign(["site", "sequence"]))
    op.create_table(name, *parts, sa.PrimaryKeyConstraint(*key), *constraints, sqlite_with_rowid=False)


def _column(text: str) -> sa.Column[object]:
    name, kind = text.split(":")
    types = {"int": sa.Integer, "text": sa.String, "bytes": sa.LargeBinary, "date": sa.Date, "bool": sa.Boolean}
    return sa.Column(name, types[kind.removesuffix("?")], nullable=kind.endswith("?"))


def _foreign(columns: list[str]) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(columns, ["fact.site", "fact.sequence"], deferrable=True, initially="DEFERRED")


def _sqlite_triggers() -> Iterator[str]:
    """SQLite's REPLACE deletes without asking the delete trigger, so an insert over an old row is refused too."""
    for table in ("fact", "sealed", "ledger_key", *CONTENT):
        yield _sqlite_trigger(table, "changed", "UPDATE", "", CHANGED)
        if table != "sealed":
            yield _sqlite_trigger(table, "deleted", "DELETE", "", DELETED)
        same = " AND ".join(f"old.{name} = NEW.{name}" for name in _key_of(table))
        if table == "taken_serial":
            same = f"({same}) OR old.serial = NEW.serial"
        over = f"WHEN EXISTS (SELECT 1 FROM {table} AS old WHERE {same})"  # noqa: S608  names from this file
        yield _sqlite_trigger(table, "replaced", "INSERT", over, CHANGED)
    known = "SELECT 1 FROM erasure WHERE erased_site = OLD.site AND erased_sequence = OLD.sequence"
    yield _sqlite_trigger("sealed", "deleted", "DELETE", f"WHEN NOT EXISTS ({known})", NOT_ERASED)
    before = "SELECT 1 FROM fact WHERE site = NEW.site AND sequence = NEW.sequence - 1"
    yield _sqlite_trigger(
        "fact", "out_of_order", "INSERT", f"WHEN NEW.sequence <> 1 AND NOT EXISTS ({before})", NOT_NEXT
    )


def _sqlite_trigger(table: str, name: str, action: str, when: str, message: str) -> str:
    return (
        f"CREATE TRIGGER {table}_never_{name} BEFORE {action} ON {table} FOR EACH ROW {when} "
        f"BEGIN SELECT RAISE(ABORT, '{message}'); END"
    )


def _key_of(table: str) -> list[str]:
    if table == "ledger_key":
        return ["id"]
    many = "position:int" in CONTENT.get(table, "")
    return ["site", "sequence", "position"] if many else ["site", "sequence"]


def _postgresql_triggers() -> Iterator[str]:
    yield _postgresql_function("tracelabels_refuse", f"RAISE EXCEPTION '{CHANGED}, and never deleted';")
    erased = "SELECT 1 FROM erasure WHERE erased_site = OLD.site AND erased_sequence = OLD.sequence"
    yield _postgresql_function(
        "tracelabels_refuse_unless_erased",
        f"IF NOT EXISTS ({erased}) THEN RAISE EXCEPTION '{NOT_ERASED}'; END IF; RETURN OLD;",
    )
    before = "SELECT 1 FROM fact WHERE site = NEW.site AND sequence = NEW.sequence - 1"
    yield _postgresql_function(
        "tracelabels_refuse_out_of_order",
        f"IF NEW.sequence <> 1 AND NOT EXISTS ({before}) THEN RAISE EXCEPTION '{NOT_NEXT}'; END IF; RETURN NEW;",
    )
    for table in ("fact", "sealed", "ledger_key", *CONTENT):
        actions = "UPDATE" if table == "sealed" else "UPDATE OR DELETE"
        yield _postgresql_trigger(f"{table}_never_changed", actions, table, "ROW", "tracelabels_refuse")
        yield _postgresql_trigger(f"{table}_never_emptied", "TRUNCATE", table, "STATEMENT", "tracelabels_refuse")
    yield _postgresql_trigger("sealed_never_deleted", "DELETE", "sealed", "ROW", "tracelabels_refuse_unless_erased")
    yield _postgresql_trigger("fact_never_out_of_order", "INSERT", "fact", "ROW", "tracelabels_refuse_out_of_order")


def _postgresql_function(name: str, body: str) -> str:
    return f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN {body} END $$"


def _postgresql_trigger(name: str, action: str, table: str, level: str, function: str) -> str:
    return f"CREATE TRIGGER {name} BEFORE {action} ON {table} FOR EACH {level} EXECUTE FUNCTION {function}()"
