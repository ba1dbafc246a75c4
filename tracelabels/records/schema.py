"""The tables of the newest revision. ``migrations/`` builds them; a test holds that both agree.

Every table but ``sealed`` is append-only. All are keyed by the fact that wrote the row: (site, sequence), and a
position where one fact writes several rows. Released columns are never renamed or retyped, and a new one may be null,
so that the digests of old facts stay true.
"""

from sqlalchemy import (
    Boolean,
    Column,
    Date,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    PrimaryKeyConstraint,
    String,
    Table,
)

REVISION = "0002"
"""The newest revision under ``migrations/versions``."""

metadata = MetaData()


def _foreign(*columns: str) -> ForeignKeyConstraint:
    """Return the constraint that the fact exists which a pair of columns names, at the end of a unit at the latest."""
    return ForeignKeyConstraint(columns, ["fact.site", "fact.sequence"], deferrable=True, initially="DEFERRED")


def _reference(name: str) -> ForeignKeyConstraint:
    """Return the constraint that a thing or fact named in a row exists."""
    return _foreign(f"{name}_site", f"{name}_sequence")


fact = Table(
    "fact",
    metadata,
    Column("site", Integer, nullable=False),
    Column("sequence", Integer, nullable=False),
    Column("kind", String, nullable=False),
    Column("thing_site", Integer, nullable=False),
    Column("thing_sequence", Integer, nullable=False),
    Column("version", Integer, nullable=False),
    Column("recorded_at", String, nullable=False),
    Column("happened_at", String, nullable=False),
    Column("recorded_by", String, nullable=False),
    Column("corrects_site", Integer),
    Column("corrects_sequence", Integer),
    Column("reason", String),
    Column("rows_digest", LargeBinary, nullable=False),
    Column("sealed_digest", LargeBinary),
    Column("previous", LargeBinary, nullable=False),
    Column("link", LargeBinary, nullable=False),
    PrimaryKeyConstraint("site", "sequence"),
    _reference("thing"),
    _reference("corrects"),
    Index("fact_by_thing", "thing_site", "thing_sequence", "version", "site", "sequence"),
    Index("fact_by_kind", "kind", "site", "sequence"),
    sqlite_with_rowid=False,
)


def _content(name: str, *parts: Column[object] | ForeignKeyConstraint | Index, many: bool = False) -> Table:
    """Return a table of rows that belong to facts."""
    position = [Column("position", Integer, nullable=False)] if many else []
    key = ["site", "sequence", "position"] if many else ["site", "sequence"]
    return Table(
        name,
        metadata,
        Column("site", Integer, nullable=False),
        Column("sequence", Integer, nullable=False),
        *position,
        *parts,
        PrimaryKeyConstraint(*key),
        _foreign("site", "sequence"),
        sqlite_with_rowid=False,
    )


sealed = _content(
    "sealed",
    Column("salt", LargeBinary, nullable=False),
    Column("content", LargeBinary, nullable=False),
)

product = _content(
    "product",
    Column("maker", String, nullable=False),
    Column("item_number", String, nullable=False),
    Column("name", String, nullable=False),
    Column("carrier", String, nullable=False),
    Column("gtin", String),
    Column("swatch", String),
    Column("resterilising_statement", String),
    Index("product_by_item_number", "item_number"),
)

bottle = _content(
    "bottle",
    Column("serial", String, nullable=False),
    Column("product_site", Integer, nullable=False),
    Column("product_sequence", Integer, nullable=False),
    Column("batch", String, nullable=False),
    Column("received_on", Date, nullable=False),
    Column("expiry", Date),
    Column("expiry_precision", String),
    Column("after_opening_count", Integer),
    Column("after_opening_unit", String),
    Column("volume_ml", String),
    _reference("product"),
    Index("bottle_by_serial", "serial"),
    Index("bottle_by_batch", "batch"),
    Index("bottle_by_product", "product_site", "product_sequence"),
)

bottle_event = _content(
    "bottle_event",
    Column("bottle_site", Integer, nullable=False),
    Column("bottle_sequence", Integer, nullable=False),
    Column("happened_on", Date),
    _reference("bottle"),
    Index("bottle_event_by_bottle", "bottle_site", "bottle_sequence"),
)

preparation = _content(
    "preparation",
    Column("number", String, nullable=False),
    Column("prepared_on", Date, nullable=False),
    Column("prepared_by", String, nullable=False),
    Column("variant", String, nullable=False),
    Column("tubes_made", Integer, nullable=False),
    Column("fill_ml", String),
    Index("preparation_by_number", "number"),
)

component = _content(
    "component",
    Column("bottle_site", Integer),
    Column("bottle_sequence", Integer),
    Column("diluent_name", String),
    Column("diluent_batch", String),
    Column("diluent_expiry", Date),
    Column("amount_ml", String),
    _reference("bottle"),
    Index("component_by_bottle", "bottle_site", "bottle_sequence"),
    many=True,
)

tube = _content(
    "tube",
    Column("serial", String, nullable=False),
    Column("preparation_site", Integer),
    Column("preparation_sequence", Integer),
    Column("size_ml", String),
    _reference("preparation"),
    Index("tube_by_serial", "serial"),
    Index("tube_by_preparation", "preparation_site", "preparation_sequence"),
)

pouch = _content(
    "pouch",
    Column("serial", String, nullable=False),
    Column("kind", String, nullable=False),
    Column("material_lot", String, nullable=False),
    Column("sealed_by", String, nullable=False),
    Column("sealed_on", Date, nullable=False),
    Index("pouch_by_serial", "serial"),
)

pouch_content = _content(
    "pouch_content",
    Column("tube_site", Integer),
    Column("tube_sequence", Integer),
    Column("instrument", String),
    _reference("tube"),
    Index("pouch_content_by_tube", "tube_site", "tube_sequence"),
    many=True,
)

print_run = _content(
    "print_run",
    Column("number", String, nullable=False),
    Column("printed_on", Date, nullable=False),
    Column("layout", String, nullable=False),
    Column("sheet", String, nullable=False),
    Column("dpi", Integer, nullable=False),
    Column("stock_lot", String),
    Column("stock_withstands_steam", Boolean),
    Column("proof_digest", String),
    Column("reprint_of_site", Integer),
    Column("reprint_of_sequence", Integer),
    Column("override_by", String),
    Column("override_reason", String),
    _reference("reprint_of"),
    Index("print_run_by_number", "number"),
)

printed_label = _content(
    "printed_label",
    Column("run_site", Integer, nullable=False),
    Column("run_sequence", Integer, nullable=False),
    Column("serial", String, nullable=False),
    Column("kind", String, nullable=False),
    Column("lot", String),
    Column("use_by", Date),
    Column("prepared", Date),
    Column("item_number", String),
    _reference("run"),
    Index("printed_label_by_serial", "serial", "run_site", "run_sequence"),
    Index("printed_label_by_run", "run_site", "run_sequence", "site", "sequence"),
)

label_void = _content(
    "label_void",
    Column("label_site", Integer, nullable=False),
    Column("label_sequence", Integer, nullable=False),
    _reference("label"),
    Index("label_void_by_label", "label_site", "label_sequence"),
    many=True,
)

staff = _content(
    "staff",
    Column("code", String, nullable=False),
    Index("staff_by_code", "code"),
)

taken_serial = _content(
    "taken_serial",
    Column("serial", String, nullable=False),
    Index("taken_serial_once", "serial", unique=True),
)

numbers_taken = _content(
    "numbers_taken",
    Column("series", String, nullable=False),
    Column("first", Integer, nullable=False),
    Column("last", Integer, nullable=False),
    Index("numbers_taken_by_series", "site", "series", "last"),
)

erasure = _content(
    "erasure",
    Column("erased_site", Integer, nullable=False),
    Column("erased_sequence", Integer, nullable=False),
    _reference("erased"),
    Index("erasure_by_erased", "erased_site", "erased_sequence"),
    many=True,
)

head_seen = _content(
    "head_seen",
    Column("seen_site", Integer, nullable=False),
    Column("seen_sequence", Integer, nullable=False),
    Column("seen_link", LargeBinary, nullable=False),
    many=True,
)

ledger_key = Table(
    "ledger_key",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("mark", LargeBinary, nullable=False),
)
"""One row: a digest by which the ledger knows its practice key, without holding it."""

CONTENT_TABLES: tuple[Table, ...] = tuple(
    table
    for table in sorted(metadata.tables.values(), key=lambda t: t.name)
    if table.name not in {"fact", "sealed", "ledger_key"}
)
"""Every table whose rows a fact's digest covers, by name."""
