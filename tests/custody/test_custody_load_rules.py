"""May this load start? Each refusal's whole sentence, and cases that are not refused.

EN 13060: type N is for unwrapped solids only. The rest is the practice's own rules (common practice, no source).
"""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from tracelabels.custody import (
    Bottle,
    Carrier,
    Component,
    CycleKind,
    Goods,
    Hold,
    HoldCause,
    Kind,
    Name,
    Opening,
    Outcome,
    PastLoad,
    Policy,
    Pouch,
    PouchAtStart,
    PouchKind,
    Preparation,
    PrintRun,
    Product,
    Variant,
    load_reasons,
    stock_warnings,
)

DAY = date(2026, 11, 25)
POLICY = Policy(limit_after_preparation=None, pack_shelf_life=None, liquid_cycle="folder 7")
NO_CYCLE = replace(POLICY, liquid_cycle=None)
WATER = Product(
    name="Rosehip",
    item_number="R-12",
    maker="Saltmarsh Colour",
    carrier=Carrier.WATER_BASED,
    resterilising_statement="file 3",
)
OIL = replace(WATER, name="Clay", carrier=Carrier.OIL_OR_ANHYDROUS, resterilising_statement=None)


def filled_with(product: Product) -> Preparation:
    bottle = Bottle(serial="010000012", product=product, batch="5501", received_on=DAY, opening=Opening(on=DAY))
    return Preparation(
        number="P01-0001",
        prepared_on=DAY,
        prepared_by="bench",
        variant=Variant.FILLED_BEFORE,
        components=(Component(source=bottle),),
    )


def run(*, stands: bool | None) -> PrintRun:
    return PrintRun(
        number="R01-0001", printed_on=DAY, layout="pouch-90", sheet="roll", dpi=300, stock_withstands_steam=stands
    )


ON_RECORD = Pouch(serial="A", kind=PouchKind.PAPER_FILM, material_lot="PF-77", sealed_by="bench", sealed_on=DAY)
TOOLS = replace(ON_RECORD, instruments=("tweezers",))
EMPTY = PouchAtStart(serial="A", pouch=replace(ON_RECORD, tubes=("T",)), runs=(run(stands=True),))
FILLED = replace(EMPTY, filled=(filled_with(WATER),))
HOLD = Hold(
    number="H01-0001",
    cause=HoldCause.QUARANTINE,
    at=datetime(2026, 11, 25, tzinfo=UTC),
    items=(Name(Kind.POUCH, "A"),),
    reason="a doubt",
)
TYPE_N = "a type N cycle (no air removal) takes unwrapped solids only: pouches are refused"
LIQUIDS = "a liquid cycle is for liquids, and liquids go into a liquid cycle only"
NOT_LIQUID = "pouch A holds instruments or empty tubes; a liquid load is never for those"
NEEDS_LIQUID = "pouch A holds filled tubes, which need a liquid programme"
VACUUM, GRAVITY, N, LIQUID = CycleKind.AIR_REMOVAL, CycleKind.GRAVITY, CycleKind.TYPE_N, CycleKind.LIQUID


def sentences(
    *pouches: PouchAtStart,
    kind: CycleKind = VACUUM,
    goods: Goods = Goods.WRAPPED,
    counted: int | None = None,
    policy: Policy = POLICY,
) -> list[str]:
    number = len(pouches) if counted is None else counted
    found = load_reasons(pouches, counted=number, cycle_kind=kind, goods=goods, policy=policy)
    return [one.sentence for one in found]


@pytest.mark.parametrize("kind", [VACUUM, GRAVITY])
def test_wrapped_goods_start_in_any_cycle_for_them(kind):
    assert sentences(EMPTY, replace(EMPTY, serial="B", pouch=TOOLS), kind=kind) == []


def test_filled_tubes_start_in_a_liquid_cycle_that_is_validated_with_the_makers_statement_on_file():
    assert sentences(FILLED, kind=LIQUID, goods=Goods.LIQUID) == []


@pytest.mark.parametrize(("counted", "scanned"), [(3, 2), (2, 3), (0, 1)])
def test_an_unequal_count_does_not_start(counted, scanned):
    pouches = [replace(EMPTY, serial=str(number)) for number in range(scanned)]
    assert sentences(*pouches, counted=counted) == [
        f"{counted} pouches were counted and {scanned} scanned; count and scan again until both agree"
    ]


@pytest.mark.parametrize(
    ("pouch", "sentence"),
    [
        (replace(EMPTY, pouch=None, runs=()), "pouch A is not on record"),
        (
            replace(EMPTY, loads=(PastLoad(number="L1", outcome=None),)),
            "pouch A is in load L1, whose end nobody entered",
        ),
        (
            replace(EMPTY, loads=(PastLoad(number="L1", outcome=Outcome.COMPLETE),)),
            "pouch A was processed in load L1; a processed pouch is never run again",
        ),
        (replace(EMPTY, is_opened=True), "pouch A was opened or used"),
        (replace(EMPTY, is_destroyed=True), "pouch A was destroyed, or what is in it was"),
        (replace(EMPTY, holds=(HOLD,)), "pouch A is kept back by hold H01-0001 (a doubt)"),
        (
            replace(EMPTY, runs=(run(stands=False),)),
            "pouch A bears a label of print run R01-0001, whose stock does not withstand steam",
        ),
        (FILLED, NEEDS_LIQUID),
    ],
)  # fmt: skip
def test_a_pouch_is_refused(pouch, sentence):
    assert sentences(pouch) == [sentence]


def test_a_pouch_of_an_aborted_load_goes_again_but_not_with_filled_tubes():
    aborted = (PastLoad(number="L1", outcome=Outcome.ABORTED),)
    assert sentences(replace(EMPTY, loads=aborted)) == []
    assert sentences(replace(FILLED, loads=aborted), kind=LIQUID, goods=Goods.LIQUID) == [
        "pouch A holds filled tubes that were in load L1; a filled tube is never run again"
    ]


@pytest.mark.parametrize(
    ("pouches", "kind", "goods", "expected"),
    [
        ([EMPTY], N, Goods.WRAPPED, [TYPE_N]),
        ([EMPTY], N, Goods.UNWRAPPED, [TYPE_N]),
        ([], N, Goods.UNWRAPPED, []),
        ([], N, Goods.WRAPPED, [TYPE_N]),
        ([EMPTY], VACUUM, Goods.UNWRAPPED, ["the programme is for unwrapped goods: pouches are refused"]),
        ([EMPTY], LIQUID, Goods.WRAPPED, [LIQUIDS]),
        ([FILLED], VACUUM, Goods.LIQUID, [LIQUIDS]),
        ([EMPTY], LIQUID, Goods.LIQUID, [NOT_LIQUID]),
        ([replace(EMPTY, pouch=TOOLS)], LIQUID, Goods.LIQUID, [NOT_LIQUID]),
        ([replace(FILLED, pouch=TOOLS)], LIQUID, Goods.LIQUID, [NOT_LIQUID]),
        ([replace(FILLED, pouch=TOOLS)], VACUUM, Goods.WRAPPED, [NEEDS_LIQUID]),
    ],
)
def test_a_programme_takes_only_its_own_goods(pouches, kind, goods, expected):
    assert sentences(*pouches, kind=kind, goods=goods) == expected


def test_a_liquid_load_asks_for_carrier_statement_and_validated_cycle_at_once():
    oil = replace(FILLED, filled=(filled_with(OIL),))
    assert sentences(oil, kind=LIQUID, goods=Goods.LIQUID, policy=NO_CYCLE) == [
        "Clay is oil-based or has no water: steam does not sterilise it",
        "no written statement of Saltmarsh Colour on re-sterilising Clay is on file",
        "no liquid cycle validated for filled tubes is on file",
    ]


def test_every_reason_is_given_not_only_the_first():
    bad = replace(EMPTY, is_opened=True, is_destroyed=True, holds=(HOLD,), runs=(run(stands=False),))
    assert len(sentences(bad, kind=N, counted=2)) == 6


def test_labels_of_which_nobody_knows_whether_they_withstand_steam_are_said_once_and_refuse_nothing():
    unknown = [replace(EMPTY, serial=str(number), runs=(run(stands=None),)) for number in range(3)]
    assert sentences(*unknown) == []
    (warning,) = stock_warnings(unknown)
    assert warning.sentence == (
        "nobody entered whether the labels of print run R01-0001 withstand steam; direct-thermal labels blacken; "
        "say it in practice.toml, [stock]"
    )
