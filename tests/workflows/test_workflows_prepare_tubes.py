"""What goes into a tube, and how long it is good: worked by hand for each cause."""

from datetime import date
from decimal import Decimal

import pytest

from tracelabels.custody import Destroyed, Diluent, Expiry, Kind, Name, Variant
from tracelabels.errors import InputError
from tracelabels.workflows.destroy_item import DestructionOrder, destroy_item
from tracelabels.workflows.hold_stock import lift_hold, put_hold
from tracelabels.workflows.prepare_tubes import Part, PreparationOrder, prepare_tubes


def _order(*parts: Part, tubes: int = 2, fill: str | None = "0.8", size: str | None = "1.5") -> PreparationOrder:
    return PreparationOrder(
        variant=Variant.FILLED_BEFORE,
        tubes=tubes,
        parts=parts,
        size_ml=Decimal(size) if size else None,
        fill_ml=Decimal(fill) if fill else None,
    )


CASES = [
    # (day of preparation, limit, expiry, keeps after opening, use-by by hand, its cause)
    (
        date(2026, 11, 25),
        '"180 days"',
        Expiry.in_month(2027, 11),
        "12 months",
        date(2027, 5, 24),
        "limit_after_preparation",
    ),
    (date(2026, 11, 25), '"none"', Expiry.in_month(2027, 2), "12 months", date(2027, 2, 28), "component_expiry"),
    (date(2028, 1, 31), '"none"', Expiry.in_month(2029, 1), "1 month", date(2028, 2, 29), "period_after_opening"),
    (date(2026, 11, 25), '"none"', Expiry.on_day(date(2026, 12, 1)), "28 days", date(2026, 12, 1), "component_expiry"),
    (
        date(2026, 11, 25),
        '"12 months"',
        Expiry.in_month(2028, 1),
        "session",
        date(2026, 11, 25),
        "period_after_opening",
    ),
]


@pytest.mark.parametrize(("day", "limit", "expiry", "keeps", "use_by", "cause"), CASES)
def test_the_earliest_cause_sets_the_use_by_and_is_named(opened, bottle, day, limit, expiry, keeps, use_by, cause):
    practice = opened(day, limit_after_preparation=limit)
    done = prepare_tubes(practice, _order(Part(bottle=bottle(practice, expiry=expiry, keeps=keeps))), by="bench")
    assert (done.dating.use_by.date, done.dating.use_by.cause.kind.value) == (use_by, cause)


def test_a_closed_bottle_is_opened_on_record_first(opened, bottle):
    practice = opened()
    serial = bottle(practice, is_open=False)
    with pytest.raises(InputError) as caught:
        prepare_tubes(practice, _order(Part(bottle=serial)), by="bench")
    assert str(caught.value) == (
        f"bottle {serial} (Rosehip, batch 5501), which is not recorded as opened; expected an open bottle; "
        "record its opening first with 'tracelabels open'"
    )


@pytest.mark.parametrize(
    ("expiry", "sentence"),
    [
        (date(2020, 1, 1), "Water for mixing, batch W-3 was good until 2020-01-01 (component expiry)"),
        (None, "Water for mixing, batch W-3 states no expiry"),
    ],
)
def test_a_diluent_past_its_expiry_or_without_one_is_refused(opened, bottle, expiry, sentence):
    practice = opened()
    water = Part(diluent=Diluent(name="Water for mixing", batch="W-3", expiry=expiry))
    done = prepare_tubes(practice, _order(Part(bottle=bottle(practice)), water), by="bench")
    assert (done.preparation, [reason.sentence for reason in done.refused]) == (None, [sentence])


def test_what_is_kept_back_or_gone_goes_into_no_mix(opened, bottle):
    practice = opened()
    good, held, gone = bottle(practice), bottle(practice), bottle(practice)
    hold = put_hold(practice, [Name(Kind.BOTTLE, held)], by="bench", reason="smells odd")
    destroy_item(practice, DestructionOrder(serial=gone, what=Destroyed.WHOLE, how="burnt"), by="bench")
    mix = _order(*(Part(bottle=one) for one in (good, held, gone)))
    done = prepare_tubes(practice, mix, by="bench")
    assert [one.sentence for one in done.refused] == [
        (
            f"bottle {held} (Rosehip, batch 5501): it, or what it comes from or went with, is kept back by "
            "hold H01-0001 (quarantine): smells odd"
        ),
        (f"bottle {gone} (Rosehip, batch 5501): bottle {gone} was destroyed on 2026-11-25 at 12:00 by bench: burnt"),
    ]
    lift_hold(practice, hold.number, by="bench", reason="it is lavender")
    assert prepare_tubes(practice, _order(Part(bottle=held)), by="bench").refused == ()
    put_hold(practice, [Name(Kind.PRODUCT, "Saltmarsh Colour/R-12")], by="bench", reason="the maker wrote")
    assert len(prepare_tubes(practice, _order(Part(bottle=good)), by="bench").refused) == 1


WRONG = [
    (_order(Part(bottle="010000012"), fill="1.5"), "1.5 mL in a tube of 1.5 mL"),
    (_order(Part(bottle="010000012", amount_ml=Decimal(1))), "1.6 mL in 2 tubes from 1 mL"),
    (_order(Part(bottle="010000012"), fill=None), "filled tubes without a fill volume"),
    (_order(), "filled tubes without a bottle"),
    (_order(Part(bottle="010000013")), "serial '010000013'"),
]


@pytest.mark.parametrize(("order", "given"), WRONG, ids=[given for _, given in WRONG])
def test_an_order_that_contradicts_itself_is_refused(opened, bottle, order, given):
    practice = opened()
    bottle(practice)
    with pytest.raises(InputError) as caught:
        prepare_tubes(practice, order, by="bench")
    assert caught.value.given == given
    with practice.ledger.read() as ledger:
        assert list(ledger.preparations()) == []
