"""The gate, the carrier rules, place and fate, in tables."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracelabels.custody import (
    Bottle,
    Carrier,
    Cause,
    CauseKind,
    Component,
    Dating,
    Diluent,
    Expiry,
    Fate,
    Fitness,
    Happening,
    KnownItem,
    LabelKind,
    Opening,
    OpeningCheck,
    Period,
    PeriodUnit,
    Place,
    PlaceKind,
    Policy,
    Preparation,
    PrintedLabel,
    Product,
    Reason,
    ReasonKind,
    SeenLabel,
    Variant,
    Verdict,
    assess,
    bottle_reasons,
    fate_of,
    place_of,
    refusals_before_processing,
    worst,
)

TODAY = date(2027, 5, 1)
USE_BY = date(2027, 6, 30)
PREPARED = date(2027, 3, 31)
SEEN = SeenLabel(serial="010000029", lot="P-0007", use_by=USE_BY, prepared=PREPARED)
LABEL = PrintedLabel(
    serial="010000029",
    kind=LabelKind.TUBE,
    lot="P-0007",
    use_by=USE_BY,
    prepared=PREPARED,
    run="R-1",
)
LIMIT = Cause(kind=CauseKind.LIMIT_AFTER_PREPARATION, date=USE_BY, source="preparation P-0007")
GOOD = KnownItem(
    labels=(LABEL,),
    dating=Dating(causes=(LIMIT,), stops=()),
    on_record=True,
    batch="P-0007",
    prepared=PREPARED,
    released=True,
)
FINE = OpeningCheck(indicator=True, dry=True, whole=True)
ROSEHIP = Product(name="Rosehip", item_number="RH-10", maker="Mallow", carrier=Carrier.WATER_BASED)
BOTTLE = Bottle(
    serial="010000012",
    product=ROSEHIP,
    batch="R-2291",
    received_on=date(2027, 1, 4),
    expiry=Expiry.on_day(date(2028, 3, 15)),
)
POLICY = Policy(limit_after_preparation=None, pack_shelf_life=None)


def reason(kind: ReasonKind, sentence: str) -> Reason:
    return Reason(kind=kind, sentence=sentence)


def test_everything_known_and_checked_is_go():
    found = assess(SEEN, GOOD, today=TODAY, client="C-14", opening=FINE)
    assert found == Fitness(verdict=Verdict.GO, reasons=(), printed_use_by=USE_BY, known_use_by=USE_BY)


def test_before_client_and_opening_checks_the_answer_is_preliminary():
    found = assess(SEEN, GOOD, today=TODAY)
    assert found.verdict is Verdict.PRELIMINARY
    assert found.reasons == (
        reason(ReasonKind.CLIENT_MISSING, "the client is not entered yet"),
        reason(ReasonKind.OPENING_UNCHECKED, "the checks at opening are not answered yet"),
    )


# One change at a time against a thing that would be GO; the sentence is compared whole.
@pytest.mark.parametrize(
    ("seen", "known", "opening", "expected"),
    [
        (
            SEEN,
            replace(GOOD, labels=()),
            FINE,
            reason(ReasonKind.LABEL_UNKNOWN, "no label with serial 010000029 was ever recorded"),
        ),
        (
            replace(SEEN, lot="P-0008"),
            GOOD,
            FINE,
            reason(
                ReasonKind.LABEL_DIFFERS,
                "the label does not say what was printed for 010000029: batch P-0008 instead of P-0007",
            ),
        ),
        (
            replace(SEEN, use_by=date(2027, 7, 1)),
            GOOD,
            FINE,
            reason(
                ReasonKind.LABEL_DIFFERS,
                "the label does not say what was printed for 010000029: use-by 2027-07-01 instead of 2027-06-30",
            ),
        ),
        (
            replace(SEEN, prepared=date(2027, 3, 30)),
            replace(GOOD, labels=(replace(LABEL, prepared=None),)),
            FINE,
            reason(
                ReasonKind.LABEL_DIFFERS,
                "the label does not say what was printed for 010000029: date prepared 2027-03-30 instead of nothing",
            ),
        ),
        (
            SEEN,
            replace(GOOD, labels=(replace(LABEL, voided_by="print run R-2"), replace(LABEL, lot="P-0008", run="R-2"))),
            FINE,
            reason(ReasonKind.LABEL_VOIDED, "the label with serial 010000029 was voided: print run R-2"),
        ),
        (
            SEEN,
            replace(GOOD, released=False),
            FINE,
            reason(ReasonKind.NOT_RELEASED, "no release of its steriliser load is recorded"),
        ),
        (SEEN, replace(GOOD, opened=True), FINE, reason(ReasonKind.ALREADY_OPENED, "it was opened or used before")),
        (
            SEEN,
            replace(GOOD, bottles=(replace(BOTTLE, withdrawn_on=date(2027, 4, 30)),)),
            FINE,
            reason(ReasonKind.WITHDRAWN, "Rosehip, batch R-2291 was withdrawn on 2027-04-30"),
        ),
        (
            SEEN,
            replace(GOOD, dating=Dating(causes=(replace(LIMIT, date=date(2027, 4, 30)),), stops=())),
            FINE,
            reason(
                ReasonKind.PAST_USE_BY,
                "preparation P-0007 was good until 2027-04-30 (limit_after_preparation)",
            ),
        ),
        (
            SEEN,
            replace(GOOD, dating=Dating(causes=(), stops=(reason(ReasonKind.NO_EXPIRY, "x states no expiry"),))),
            FINE,
            reason(ReasonKind.NO_EXPIRY, "x states no expiry"),
        ),
        (
            SEEN,
            GOOD,
            OpeningCheck(indicator=False, dry=True, whole=True),
            reason(ReasonKind.OPENING_FAILED, "the pouch's indicator has not turned"),
        ),
        (
            SEEN,
            GOOD,
            OpeningCheck(indicator=True, dry=False, whole=True),
            reason(ReasonKind.OPENING_FAILED, "the pouch is wet"),
        ),
        (
            SEEN,
            GOOD,
            OpeningCheck(indicator=True, dry=True, whole=False),
            reason(ReasonKind.OPENING_FAILED, "the pouch is torn or open"),
        ),
    ],
)
def test_each_single_fault_is_stop_and_says_so(seen, known, opening, expected):
    found = assess(seen, known, today=TODAY, client="C-14", opening=opening)
    assert (found.verdict, found.reasons) == (Verdict.STOP, (expected,))


def test_the_day_itself_is_still_good_and_the_next_is_not():
    assert assess(SEEN, GOOD, today=USE_BY, client="C", opening=FINE).verdict is Verdict.GO
    late = assess(SEEN, GOOD, today=date(2027, 7, 1), client="C", opening=FINE)
    assert late.reasons == (
        reason(ReasonKind.PAST_USE_BY, "the label says use by 2027-06-30"),
        reason(ReasonKind.PAST_USE_BY, "preparation P-0007 was good until 2027-06-30 (limit_after_preparation)"),
    )


def test_a_bare_serial_is_not_enough_until_the_rest_is_entered():
    found = assess(SeenLabel(serial="010000029"), GOOD, today=TODAY, client="C", opening=FINE)
    sentence = "not read from the label yet: batch, use-by, date prepared; enter it from the label"
    assert (found.verdict, found.reasons) == (
        Verdict.PRELIMINARY,
        (reason(ReasonKind.LABEL_INCOMPLETE, sentence),),
    )


def test_every_reason_is_shown_and_the_worst_decides():
    known = KnownItem(labels=(), dating=Dating(causes=(), stops=()))
    found = assess(SEEN, known, today=TODAY)
    assert [one.kind for one in found.reasons] == [
        ReasonKind.LABEL_UNKNOWN,
        ReasonKind.NOT_RELEASED,
        ReasonKind.CLIENT_MISSING,
        ReasonKind.OPENING_UNCHECKED,
    ]
    assert found.verdict is Verdict.STOP


ANSWERS = st.none() | st.builds(OpeningCheck, indicator=st.booleans(), dry=st.booleans(), whole=st.booleans())
LABELS = st.builds(
    PrintedLabel,
    serial=st.just("010000029"),
    kind=st.sampled_from(LabelKind),
    lot=st.sampled_from(["P-0007", "P-0008", None]),
    use_by=st.sampled_from([USE_BY, date(2027, 4, 1), None]),
    prepared=st.sampled_from([PREPARED, None]),
    voided_by=st.sampled_from([None, "print run R-2"]),
)


@given(
    labels=st.lists(LABELS, max_size=3),
    lot=st.sampled_from(["P-0007", None]),
    released=st.booleans(),
    opened=st.booleans(),
    limit=st.dates(date(2027, 4, 28), date(2027, 5, 3)),
    client=st.sampled_from([None, "C"]),
    opening=ANSWERS,
    withdrawn=st.booleans(),
)
def test_go_only_if_a_plain_list_of_conditions_holds(labels, lot, released, opened, limit, client, opening, withdrawn):
    seen = replace(SEEN, lot=lot)
    known = KnownItem(
        labels=tuple(labels),
        dating=Dating(causes=(replace(LIMIT, date=limit),), stops=()),
        bottles=(replace(BOTTLE, withdrawn_on=TODAY if withdrawn else None),),
        released=released,
        opened=opened,
    )
    agrees = any(
        label.voided_by is None and (label.lot, label.use_by, label.prepared) == (lot, USE_BY, PREPARED)
        for label in labels
    )
    fits = agrees and released and not opened and not withdrawn and limit >= TODAY
    allowed = fits and client is not None and opening == FINE
    verdict = assess(seen, known, today=TODAY, client=client, opening=opening).verdict
    assert (verdict is Verdict.GO) == allowed
    if not released:
        assert verdict is Verdict.STOP


def test_the_bottle_has_its_own_gate():
    assert bottle_reasons(BOTTLE, POLICY, today=TODAY) == ()
    bad = replace(
        BOTTLE,
        opening=Opening(on=date(2027, 2, 1)),
        period_after_opening=Period(count=28, unit=PeriodUnit.DAYS),
        finished_on=date(2027, 4, 1),
        withdrawn_on=date(2027, 4, 2),
    )
    assert bottle_reasons(bad, POLICY, today=TODAY) == (
        reason(ReasonKind.WITHDRAWN, "Rosehip, batch R-2291 was withdrawn on 2027-04-02"),
        reason(ReasonKind.FINISHED, "Rosehip, batch R-2291 was finished on 2027-04-01"),
        reason(ReasonKind.PAST_USE_BY, "Rosehip, batch R-2291 was good until 2027-03-01 (period_after_opening)"),
    )


# Steam does not sterilise oil, alcohol does not go into a steriliser, the unknown is refused: common practice, no
# source; the maker's statement and the validated liquid cycle are house rules.
NO_CYCLE = "no liquid cycle validated for filled tubes is on file"
NO_STATEMENT = "no written statement of Mallow on re-sterilising Rosehip is on file"


@pytest.mark.parametrize(
    ("carrier", "statement", "cycle", "sentences"),
    [
        (Carrier.WATER_BASED, "file 3", "file 9", ()),
        (Carrier.WATER_BASED, None, "file 9", (NO_STATEMENT,)),
        (Carrier.WATER_BASED, "file 3", None, (NO_CYCLE,)),
        (Carrier.WATER_BASED, None, None, (NO_STATEMENT, NO_CYCLE)),
        (
            Carrier.OIL_OR_ANHYDROUS,
            "file 3",
            "file 9",
            ("Rosehip is oil-based or has no water: steam does not sterilise it",),
        ),
        (
            Carrier.ALCOHOL_BEARING,
            "file 3",
            "file 9",
            ("Rosehip bears alcohol: alcohol-bearing pigment does not go into a steriliser",),
        ),
        (Carrier.UNKNOWN, "file 3", "file 9", ("Rosehip has an unknown carrier: refused until it is known",)),
    ],
)
def test_filling_before_processing_needs_the_right_carrier_a_statement_and_a_cycle(
    carrier, statement, cycle, sentences
):
    product = replace(ROSEHIP, carrier=carrier, resterilising_statement=statement)
    found = refusals_before_processing([product, product], replace(POLICY, liquid_cycle=cycle))
    assert tuple(one.sentence for one in found) == sentences
    assert worst(found) is (Verdict.STOP if sentences else Verdict.GO)


@pytest.mark.parametrize(
    ("sources", "batch", "is_mix"),
    [
        ((), None, False),
        ((BOTTLE,), "R-2291", False),
        ((BOTTLE, BOTTLE), "P-0007", True),
        ((BOTTLE, Diluent(name="Water", batch="W1")), "P-0007", True),
    ],
)
def test_the_label_carries_the_makers_batch_of_one_pigment_and_the_preparation_number_of_a_mix(sources, batch, is_mix):
    made = Preparation(
        number="P-0007",
        prepared_on=PREPARED,
        prepared_by="s1",
        variant=Variant.EMPTY_TUBES,
        components=tuple(Component(source=source) for source in sources),
    )
    assert (made.label_batch, made.is_mix) == (batch, is_mix)


H = Happening


@pytest.mark.parametrize(
    ("history", "fate"),
    [
        ((), Fate.UNPROCESSED),
        ((H.LOADED,), Fate.IN_A_LOAD),
        ((H.LOADED, H.UNLOADED), Fate.IN_STOCK),
        ((H.LOADED, H.UNLOADED, H.OPENED), Fate.OPENED_UNUSED),
        ((H.LOADED, H.UNLOADED, H.OPENED, H.USED), Fate.USED),
        ((H.LOADED, H.UNLOADED, H.OPENED, H.USED, H.DESTROYED), Fate.USED),
        ((H.OPENED, H.DESTROYED), Fate.DESTROYED),
        ((H.LOADED, H.UNLOADED, H.TRANSFERRED), Fate.TRANSFERRED),
        ((H.LOADED, H.UNLOADED, H.TRANSFERRED, H.RETURNED), Fate.IN_STOCK),
        ((H.LOADED, H.UNLOADED, H.LOST), Fate.LOST),
        ((H.LOADED, H.UNLOADED, H.LOST, H.FOUND), Fate.IN_STOCK),
        ((H.LOST, H.USED), Fate.USED),
    ],
)
def test_fate_follows_from_what_happened(history, fate):
    assert fate_of(history) is fate


@given(histories=st.lists(st.lists(st.sampled_from(Happening), max_size=6), max_size=10))
def test_fates_partition_the_items(histories):
    fates = [fate_of(history) for history in histories]
    assert sum(fates.count(fate) for fate in Fate) == len(histories)
    assert fates.count(Fate.USED) == sum(Happening.USED in history for history in histories)


def test_the_last_move_says_where_a_thing_is():
    shelf = Place(kind=PlaceKind.SHELF, name="A3")
    assert place_of([]) is None
    assert place_of([shelf, Place(kind=PlaceKind.IN_TRANSIT)]) == Place(kind=PlaceKind.IN_TRANSIT)


def test_a_label_whose_thing_is_not_on_record_stops():
    found = assess(SEEN, replace(GOOD, on_record=False), today=TODAY, client="C-14", opening=FINE)
    sentence = "no tube or pouch 010000029 is on record, only a label"
    assert (found.verdict, found.reasons) == (Verdict.STOP, (reason(ReasonKind.NOT_ON_RECORD, sentence),))


@pytest.mark.parametrize(
    ("today", "words"),
    [
        ({"batch": "P-0008"}, "batch P-0007, on record is P-0008"),
        ({"prepared": date(2027, 4, 1)}, "date prepared 2027-03-31, on record is 2027-04-01"),
    ],
)
def test_a_corrected_record_forces_relabelling(today, words):
    found = assess(SEEN, replace(GOOD, **today), today=TODAY, client="C-14", opening=FINE)
    sentence = f"the record was corrected after this label was printed: {words}; print it again"
    assert (found.verdict, found.reasons) == (Verdict.STOP, (reason(ReasonKind.LABEL_OUTDATED, sentence),))


def test_a_label_that_is_valid_on_one_surface_is_outdated_by_a_later_one_on_another():
    cap = replace(LABEL, kind=LabelKind.CAP, run="R-2")
    side = replace(LABEL, use_by=date(2027, 5, 31), run="R-3")
    item = replace(GOOD, labels=(replace(LABEL, voided_by="print run R-3"), cap, side))
    found = assess(SEEN, item, today=TODAY, client="C-14", opening=FINE)
    sentence = (
        "a later label (tube, print run R-3) says otherwise: this one says use-by 2027-06-30 instead of 2027-05-31"
    )
    assert (found.verdict, found.reasons) == (Verdict.STOP, (reason(ReasonKind.LABEL_SUPERSEDED, sentence),))
    newest = assess(replace(SEEN, use_by=date(2027, 5, 31)), item, today=TODAY, client="C-14", opening=FINE)
    assert newest.verdict is Verdict.GO
