"""A practice in a temporary folder, one day's clock, one open bottle of Rosehip."""

import sys
from collections.abc import Callable
from contextlib import ExitStack
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from tracelabels.custody import Carrier, Expiry, Product, Variant, parse_period
from tracelabels.workflows.enter_product import enter_product
from tracelabels.workflows.new_practice import make_practice
from tracelabels.workflows.practice import Practice, open_practice
from tracelabels.workflows.prepare_tubes import Part, PreparationOrder, prepare_tubes
from tracelabels.workflows.receive_bottle import Arrival, open_bottle, receive_bottles

sys.path.insert(0, str(Path(__file__).parent))  # bad_batch.py is shared by the tests of this folder

DAY = date(2026, 11, 25)
ROSEHIP = Product(
    name="Rosehip",
    item_number="R-12",
    maker="Saltmarsh Colour",
    carrier=Carrier.WATER_BASED,
    resterilising_statement="file 3",
)


@pytest.fixture
def folder(tmp_path) -> Path:
    settings = make_practice(tmp_path / "practice", name="Tidewater Restorative", site=1, today=DAY)
    text = settings.read_text(encoding="utf-8")
    settings.write_text(
        text.replace('validated_liquid_cycle = ""', 'validated_liquid_cycle = "folder 7"'), encoding="utf-8"
    )
    return settings.parent


@pytest.fixture
def opened(folder):
    """Open the practice on a day, with settings changed as wished; closed at the end of the test."""
    with ExitStack() as stack:

        def call(day: date = DAY, **changes: str) -> Practice:
            settings = folder / "practice.toml"
            text = settings.read_text(encoding="utf-8")
            for key, value in changes.items():
                (line,) = [one for one in text.splitlines() if one.startswith(f"{key} = ")]
                text = text.replace(line, f"{key} = {value}")
            settings.write_text(text, encoding="utf-8")
            return stack.enter_context(open_practice(folder, today=day))

        yield call


@pytest.fixture
def bottle() -> Callable[..., str]:
    """Receive (and open) a bottle of Rosehip; return its serial."""

    def call(practice: Practice, *, keeps: str | None = "12 months", is_open: bool = True, **facts: object) -> str:
        with practice.ledger.read() as ledger:
            known = ledger.find_product(maker=ROSEHIP.maker, item_number=ROSEHIP.item_number)
        if known is None:
            enter_product(practice, ROSEHIP, by="bench")
        arrival = Arrival(
            product=ROSEHIP,
            **{
                "batch": "5501",
                "expiry": Expiry.in_month(2027, 11),
                "period_after_opening": parse_period(keeps) if keeps else None,
                **facts,
            },
        )
        (one,) = receive_bottles(practice, arrival, by="bench")
        if is_open:
            open_bottle(practice, one.serial, by="bench")
        return one.serial

    return call


@pytest.fixture
def tubes() -> Callable[..., tuple[str, ...]]:
    """Fill tubes from bottles before processing; return their serials."""

    def call(practice: Practice, *bottles: str, count: int = 3) -> tuple[str, ...]:
        parts = tuple(Part(bottle=serial, amount_ml=Decimal(20)) for serial in bottles)
        order = PreparationOrder(
            variant=Variant.FILLED_BEFORE, tubes=count, parts=parts, size_ml=Decimal("1.5"), fill_ml=Decimal("0.8")
        )
        done = prepare_tubes(practice, order, by="bench")
        assert done.refused == ()
        return tuple(tube.serial for tube in done.tubes)

    return call
