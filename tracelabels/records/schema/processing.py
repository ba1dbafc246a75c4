"""From the consumables to the release: lots, sterilisers, loads, readings, spore tests, decisions, holds."""

from sqlalchemy import Index

from tracelabels.records.schema.notation import written

consumable = written(
    "consumable",
    "kind:text lot:text product:text? maker:text? expiry:date? reference:text? reference_picture:text? "
    "turned_picture:text? unturned_picture:text? type_number:int? population:text? d_value_minutes:text?",
    Index("consumable_by_lot", "lot", "kind"),
)
consumable_period = written("consumable_period", "consumable:thing from_day:date to_day:date?")

steriliser = written(
    "steriliser",
    "code:text name:text serial_number:text chamber_litres:text? validation:text?",
    Index("steriliser_by_code", "code"),
)
steriliser_cycle_kinds = written("steriliser_cycle_kinds", "item:text", many=True)
steriliser_event = written(
    "steriliser_event",
    "steriliser:thing event:text at:text passed:bool? cycle_kind:text? next_due:date? note:text? error_k:text? "
    "offset_s:text?",
)

load = written(
    "load",
    "number:text steriliser:thing cycle_kind:text programme:text temperature_c:text hold_minutes:text goods:text "
    "operator:text started_at:text counted:int drying_minutes:text? cycle_number:int? programme_file:text?",
    Index("load_by_number", "number"),
    Index("load_by_start", "started_at"),
)
load_pouches = written("load_pouches", "item:thing", many=True)
load_end = written("load_end", "load:thing outcome:text at:text note:text?")
load_readings = written(
    "load_readings",
    "load:thing source:text probe:text verdict:text evidence:text? computed:text? probe_error_k:text?",
)
load_readings_read_as = written("load_readings_read_as", "option:text value:text", many=True)
load_readings_reasons = written("load_readings_reasons", "item:text", many=True)
load_readings_typed = written("load_readings_typed", "minute:text temperature_c:text pressure_kpa:text?", many=True)
unloaded = written("unloaded", "load:thing pouch:thing state:text at:text note:text?")
indicator_reading = written(
    "indicator_reading",
    "load:thing pouch:thing? place:text result:text stage:text at:text type_number:int? lot:text? evidence:text? "
    "compared:text?",
    Index("indicator_reading_by_lot", "lot"),
)

spore_test = written(
    "spore_test",
    "number:text steriliser:thing cycle_kind:text load:thing lot:text placement:text at:text due_at:text "
    "lot_expiry:date? has_control:bool by_laboratory:bool in_reference_tube:bool laboratory:text? sent_at:text?",
    Index("spore_test_by_number", "number"),
    Index("spore_test_by_lot", "lot"),
)
spore_reading = written("spore_reading", "test:thing result:text at:text evidence:text? note:text? control_grew:bool?")

load_release = written("load_release", "load:thing decision:text at:text second:text? is_early:bool")
load_release_reasons = written("load_release_reasons", "item:text", many=True)
load_release_excepted = written("load_release_excepted", "item:thing", many=True)

hold = written("hold", "number:text cause:text at:text reason:text recall:thing?", Index("hold_by_number", "number"))
hold_items = written("hold_items", "item:thing", many=True)
hold_lifted = written("hold_lifted", "hold:thing at:text reason:text")
