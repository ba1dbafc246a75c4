"""The bench: sealed content, products, bottles, preparations, tubes, pouches, prints, staff, numbers, erasures."""

from sqlalchemy import Boolean, Column, Date, Index, Integer, LargeBinary, String, Table

from tracelabels.records.schema.notation import content, metadata, reference

sealed = content(
    "sealed",
    Column("salt", LargeBinary, nullable=False),
    Column("content", LargeBinary, nullable=False),
)

product = content(
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

bottle = content(
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
    reference("product"),
    Index("bottle_by_serial", "serial"),
    Index("bottle_by_batch", "batch"),
    Index("bottle_by_product", "product_site", "product_sequence"),
)

bottle_event = content(
    "bottle_event",
    Column("bottle_site", Integer, nullable=False),
    Column("bottle_sequence", Integer, nullable=False),
    Column("happened_on", Date),
    reference("bottle"),
    Index("bottle_event_by_bottle", "bottle_site", "bottle_sequence"),
)

preparation = content(
    "preparation",
    Column("number", String, nullable=False),
    Column("prepared_on", Date, nullable=False),
    Column("prepared_by", String, nullable=False),
    Column("variant", String, nullable=False),
    Column("tubes_made", Integer, nullable=False),
    Column("fill_ml", String),
    Index("preparation_by_number", "number"),
)

component = content(
    "component",
    Column("bottle_site", Integer),
    Column("bottle_sequence", Integer),
    Column("diluent_name", String),
    Column("diluent_batch", String),
    Column("diluent_expiry", Date),
    Column("amount_ml", String),
    reference("bottle"),
    Index("component_by_bottle", "bottle_site", "bottle_sequence"),
    many=True,
)

tube = content(
    "tube",
    Column("serial", String, nullable=False),
    Column("preparation_site", Integer),
    Column("preparation_sequence", Integer),
    Column("size_ml", String),
    Column("lot", String),
    reference("preparation"),
    Index("tube_by_serial", "serial"),
    Index("tube_by_lot", "lot"),
    Index("tube_by_preparation", "preparation_site", "preparation_sequence"),
)

pouch = content(
    "pouch",
    Column("serial", String, nullable=False),
    Column("kind", String, nullable=False),
    Column("material_lot", String, nullable=False),
    Column("sealed_by", String, nullable=False),
    Column("sealed_on", Date, nullable=False),
    Index("pouch_by_serial", "serial"),
    Index("pouch_by_material_lot", "material_lot"),
)

pouch_content = content(
    "pouch_content",
    Column("tube_site", Integer),
    Column("tube_sequence", Integer),
    Column("instrument", String),
    reference("tube"),
    Index("pouch_content_by_tube", "tube_site", "tube_sequence"),
    many=True,
)

print_run = content(
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
    reference("reprint_of"),
    Index("print_run_by_number", "number"),
    Index("print_run_by_stock_lot", "stock_lot"),
)

printed_label = content(
    "printed_label",
    Column("run_site", Integer, nullable=False),
    Column("run_sequence", Integer, nullable=False),
    Column("serial", String, nullable=False),
    Column("kind", String, nullable=False),
    Column("lot", String),
    Column("use_by", Date),
    Column("prepared", Date),
    Column("item_number", String),
    reference("run"),
    Index("printed_label_by_serial", "serial", "run_site", "run_sequence"),
    Index("printed_label_by_run", "run_site", "run_sequence", "site", "sequence"),
)

label_void = content(
    "label_void",
    Column("label_site", Integer, nullable=False),
    Column("label_sequence", Integer, nullable=False),
    reference("label"),
    Index("label_void_by_label", "label_site", "label_sequence"),
    many=True,
)

staff = content(
    "staff",
    Column("code", String, nullable=False),
    Index("staff_by_code", "code"),
)

taken_serial = content(
    "taken_serial",
    Column("serial", String, nullable=False),
    Index("taken_serial_once", "serial", unique=True),
)

numbers_taken = content(
    "numbers_taken",
    Column("series", String, nullable=False),
    Column("first", Integer, nullable=False),
    Column("last", Integer, nullable=False),
    Index("numbers_taken_by_series", "site", "series", "last"),
)

erasure = content(
    "erasure",
    Column("erased_site", Integer, nullable=False),
    Column("erased_sequence", Integer, nullable=False),
    reference("erased"),
    Index("erasure_by_erased", "erased_site", "erased_sequence"),
    many=True,
)

head_seen = content(
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
