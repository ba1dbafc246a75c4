"""The bench: sealed content, products, bottles, preparations, tubes, pouches, prints, staff, numbers, erasures."""

from sqlalchemy import Column, Index, Integer, LargeBinary, Table

from tracelabels.records.schema.notation import metadata, written

sealed = written("sealed", "salt:bytes content:bytes")

product = written(
    "product",
    "maker:text item_number:text name:text carrier:text gtin:text? swatch:text? resterilising_statement:text?",
    Index("product_by_item_number", "item_number"),
)

bottle = written(
    "bottle",
    "serial:text product:thing batch:text received_on:date expiry:date? expiry_precision:text? "
    "after_opening_count:int? after_opening_unit:text? volume_ml:text?",
    Index("bottle_by_serial", "serial"),
    Index("bottle_by_batch", "batch"),
)
bottle_event = written("bottle_event", "bottle:thing happened_on:date?")

preparation = written(
    "preparation",
    "number:text prepared_on:date prepared_by:text variant:text tubes_made:int fill_ml:text?",
    Index("preparation_by_number", "number"),
)
component = written(
    "component",
    "bottle:thing? diluent_name:text? diluent_batch:text? diluent_expiry:date? amount_ml:text?",
    many=True,
)

tube = written(
    "tube",
    "serial:text preparation:thing? size_ml:text? lot:text?",
    Index("tube_by_serial", "serial"),
    Index("tube_by_lot", "lot"),
)

pouch = written(
    "pouch",
    "serial:text kind:text material_lot:text sealed_by:text sealed_on:date",
    Index("pouch_by_serial", "serial"),
    Index("pouch_by_material_lot", "material_lot"),
)
pouch_content = written("pouch_content", "tube:thing? instrument:text?", many=True)

print_run = written(
    "print_run",
    "number:text printed_on:date layout:text sheet:text dpi:int stock_lot:text? stock_withstands_steam:bool? "
    "proof_digest:text? reprint_of:pair? override_by:text? override_reason:text?",
    Index("print_run_by_number", "number"),
    Index("print_run_by_stock_lot", "stock_lot"),
)
printed_label = written(
    "printed_label",
    "run:pair serial:text kind:text lot:text? use_by:date? prepared:date? item_number:text?",
    Index("printed_label_by_serial", "serial", "run_site", "run_sequence"),
    Index("printed_label_by_run", "run_site", "run_sequence", "site", "sequence"),
)
label_void = written("label_void", "label:thing", many=True)

staff = written("staff", "code:text", Index("staff_by_code", "code"))

taken_serial = written("taken_serial", "serial:text", Index("taken_serial_once", "serial", unique=True))
numbers_taken = written(
    "numbers_taken", "series:text first:int last:int", Index("numbers_taken_by_series", "site", "series", "last")
)

erasure = written("erasure", "erased:thing", many=True)
head_seen = written("head_seen", "seen_site:int seen_sequence:int seen_link:bytes", many=True)

ledger_key = Table(
    "ledger_key",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("mark", LargeBinary, nullable=False),
)
"""One row: a digest by which the ledger knows its practice key, without holding it."""
