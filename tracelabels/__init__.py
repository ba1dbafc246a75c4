"""Labels and the record behind them, from pigment bottle through tube, pouch and steam steriliser to the client.

The journey, as a program makes it. A practice lives in a folder; everything that happens there becomes a fact in its
ledger:

>>> from datetime import date
>>> from decimal import Decimal
>>> from pathlib import Path
>>> from tempfile import TemporaryDirectory
>>> from tracelabels import *
>>> day, home = date(2026, 11, 25), TemporaryDirectory()
>>> _ = make_practice(Path(home.name) / "practice", name="Tidewater Restorative", site=1, today=day)

A bottle arrives and tubes are prepared; empty tubes are filled at the chair:

>>> with open_practice(Path(home.name) / "practice", today=day) as practice:
...     rosehip = Product(name="Rosehip", item_number="R-12", maker="Saltmarsh Colour", carrier=Carrier.WATER_BASED)
...     _ = enter_product(practice, rosehip, by="bench")
...     arrival = Arrival(product=rosehip, batch="5501", expiry=Expiry.in_month(2027, 11))
...     (bottle,) = receive_bottles(practice, arrival, by="bench")
...     order = PreparationOrder(variant=Variant.EMPTY_TUBES, tubes=3, size_ml=Decimal("0.5"))
...     prepared = prepare_tubes(practice, order, by="bench")
...     serials = tuple(tube.serial for tube in prepared.tubes)
...     pouches = pack_pouches(practice, one_each(serials), material_lot="PM-204", by="bench")
>>> bottle.name, serials, prepared.dating.use_by.date.isoformat()
('Rosehip, batch 5501', ('010000020', '010000036', '010000048'), '2027-05-24')

Their labels are set, read back from the very file, recorded, and only then left as a file:

>>> with open_practice(Path(home.name) / "practice", today=day) as practice:
...     job = LabelJob(
...         layout=require_layout("tube-empty", None), sheet=require_sheet("roll-28x13", None), printer=Printer(dpi=300)
...     )
...     done = print_run(practice, PrintOrder(serials=serials, job=job), by="bench")
>>> done.run.number, done.file.name, done.proved.labels
('R01-0001', 'R01-0001.pdf', 3)

Later somebody shows the label; the answer has every reason, and fails closed:

>>> with open_practice(Path(home.name) / "practice", today=day) as practice:
...     pages = list(check_photograph(practice, done.file))
>>> answer = pages[0].answers[0]
>>> answer.reading.human_readable, answer.verdict.value
('(17)270524(13)261125(21)010000020', 'stop')
>>> answer.reasons[0].sentence
'no release of its steriliser load is recorded'
>>> home.cleanup()
"""

import importlib
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from tracelabels.custody import Carrier, Expiry, Product, Variant
    from tracelabels.labels import Printer
    from tracelabels.workflows.check_at_chair import check_photograph
    from tracelabels.workflows.enter_product import enter_product
    from tracelabels.workflows.new_practice import make_practice
    from tracelabels.workflows.pack_pouches import one_each, pack_pouches
    from tracelabels.workflows.practice import open_practice
    from tracelabels.workflows.prepare_tubes import PreparationOrder, prepare_tubes
    from tracelabels.workflows.print_labels import LabelJob
    from tracelabels.workflows.print_run import PrintOrder, print_run
    from tracelabels.workflows.receive_bottle import Arrival, receive_bottles
    from tracelabels.workflows.templates import require_layout, require_sheet

_HOMES: Final = {
    "custody": ("Carrier", "Expiry", "Product", "Variant"),
    "labels": ("Printer",),
    "workflows.check_at_chair": ("check_photograph",),
    "workflows.enter_product": ("enter_product",),
    "workflows.new_practice": ("make_practice",),
    "workflows.pack_pouches": ("one_each", "pack_pouches"),
    "workflows.practice": ("open_practice",),
    "workflows.prepare_tubes": ("PreparationOrder", "prepare_tubes"),
    "workflows.print_labels": ("LabelJob",),
    "workflows.print_run": ("PrintOrder", "print_run"),
    "workflows.receive_bottle": ("Arrival", "receive_bottles"),
    "workflows.templates": ("require_layout", "require_sheet"),
}

__all__ = [
    "Arrival",
    "Carrier",
    "Expiry",
    "LabelJob",
    "PreparationOrder",
    "PrintOrder",
    "Printer",
    "Product",
    "Variant",
    "check_photograph",
    "enter_product",
    "make_practice",
    "one_each",
    "open_practice",
    "pack_pouches",
    "prepare_tubes",
    "print_run",
    "receive_bottles",
    "require_layout",
    "require_sheet",
]


def __getattr__(name: str) -> object:
    """Load a public name's home when it is first asked for, so that ``import tracelabels`` costs nothing."""
    for home, names in _HOMES.items():
        if name in names:
            return getattr(importlib.import_module(f"tracelabels.{home}"), name)
    message = f"module {__name__!r} has no attribute {name!r}"
    raise AttributeError(message)
