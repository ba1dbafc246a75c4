"""The gate, the carrier rules, place and fate, in tables."""

from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracelabels.custody import (
    Bottle,
    CareLevel,
    Carrier,
    Cause,
    CauseKind,
    Client,
    ClientAtChair,
    Component,
    CycleKind,
    Dating,
    Decision,
    Diluent,
    Expiry,
    Fate,
    Fitness,
    Goods,
    Happening,
    Hold,
    HoldCause,
    IndicatorPlace,
    IndicatorReading,
    IndicatorResult,
    Kind,
    KnownItem,
    LabelKind,
    Load,
    LoadEnd,
    LoadReadings,
    Name,
    OnRecord,
    Opening,
    OpeningCheck,
    Outcome,
    PastEvent,
    PastKind,
    Period,
    PeriodUnit,
    Place,
    PlaceKind,
    Policy,
    PouchState,
    Preparation,
    PrintedLabel,
    ProbePlace,
    ProcessingRecord,
    Product,
    ReadingsSource,
    ReadingsVerdict,
    Reason,
    ReasonKind,
    Release,
    SeenLabel,
    Stage,
    Unloaded,
    Variant,
    Verdict,
    assess,
    bottle_reasons,
    fate_of,
    place_of,
    refusals_before_processing,
    worst,
)
from tracelabels.sterilization import Evidence, EvidenceState

TUBE, POUCH = Name(Kind.TUBE, "010000029"), Name(Kind.POUCH, "010000061")
TODAY = date(2027, 5, 1)
YESTERDAY = datetime(2027, 4, 30, 14, 5, tzinfo=UTC)
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
LOAD = Load(
    number="L01-0001",
    steriliser=Name(Kind.STERILISER, "S1"),
    cycle_kind=CycleKind.AIR_REMOVAL,
    programme="wrapped 134",
    temperature_c=Decimal(134),
    hold_minutes=Decimal(4),
    goods=Goods.WRAPPED,
    operator="s1",
    started_at=datetime(2027, 4, 1, 9, tzinfo=UTC),
    counted=1,
    pouches=(POUCH,),
)
TURNED = IndicatorReading(
    load=LOAD.as_name,
    pouch=POUCH,
    place=IndicatorPlace.OUTSIDE,
    result=IndicatorResult.TURNED,
    stage=Stage.UNLOADING,
    at=LOAD.started_at,
)
READINGS = LoadReadings(
    load=LOAD.as_name, source=ReadingsSource.PRINTOUT, probe=ProbePlace.CHAMBER, verdict=ReadingsVerdict.MET
)
RODE = Evidence(state=EvidenceState.PASSED, sentence="spore test B01-0001, which rode along, passed", rode_along=True)
BEFORE = Evidence(state=EvidenceState.PASSED, sentence="spore test B01-0001 in load L01-0000 passed before")
RELEASE = Release(load=LOAD.as_name, decision=Decision.RELEASED, at=LOAD.started_at)
HOLD = Hold(
    number="H01-0001",
    cause=HoldCause.RECALL,
    at=LOAD.started_at,
    items=(Name(Kind.BOTTLE, "010000012"),),
    reason="the maker's notice",
)
PROCESSED = ProcessingRecord(
    pouch=POUCH,
    load=LOAD,
    end=LoadEnd(load=LOAD.as_name, outcome=Outcome.COMPLETE, at=LOAD.started_at),
    readings=(READINGS,),
    unloaded=Unloaded(load=LOAD.as_name, pouch=POUCH, state=PouchState.SOUND, at=LOAD.started_at),
    indicators=(TURNED,),
    evidence=RODE,
    protected_evidence=RODE,
    release=RELEASE,
    processed_on=date(2027, 4, 1),
)
GOOD = KnownItem(
    labels=(LABEL,),
    dating=Dating(causes=(LIMIT,), stops=()),
    item=TUBE,
    first=OnRecord(batch="P-0007", prepared=PREPARED),
    processing=PROCESSED,
    holds_solids=True,
)
CLIENT = ClientAtChair(code="C-14", client=Client(code="C-14", care_level=CareLevel.ROUTINE))
PROTECTED = ClientAtChair(code="C-15", client=Client(code="C-15", care_level=CareLevel.PROTECTED))
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


def happened(
    kind: PastKind, *, item: Name = TUBE, at: datetime = datetime(2027, 4, 30, 14, 5, tzinfo=UTC), **facts: str
) -> PastEvent:
    return PastEvent(kind=kind, item=item, at=at, by="s2", **facts)


def reason(kind: ReasonKind, sentence: str) -> Reason:
    return Reason(kind=kind, sentence=sentence)


def test_everything_known_and_checked_is_go():
    found = assess(SEEN, GOOD, today=TODAY, client=CLIENT, opening=FINE)
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
                "preparation P-0007 was good until 2027-04-30 (limit after preparation)",
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
    found = assess(seen, known, today=TODAY, client=CLIENT, opening=opening)
    assert (found.verdict, found.reasons) == (Verdict.STOP, (expected,))


def seen_processed(**changes: object) -> KnownItem:
    return replace(GOOD, processing=replace(PROCESSED, **changes))


NOT_TURNED = replace(TURNED, result=IndicatorResult.NOT_TURNED)
UNCLEAR = replace(TURNED, result=IndicatorResult.UNCLEAR)
EARLY = replace(RELEASE, is_early=True)
INCUBATING = Evidence(
    state=EvidenceState.INCUBATING, sentence="spore test B01-0002, which rode along, is still incubating"
)
GREW = Evidence(state=EvidenceState.FAILED, sentence="spore test B01-0003 in load L01-0002 grew")
NONE_BEFORE = Evidence(state=EvidenceState.MISSING, sentence="no spore test had passed before")
NO_RELEASE = (ReasonKind.NOT_RELEASED, "no release of its steriliser load is recorded")
PROTECTED_ASKS = (
    ReasonKind.PROTECTED_WITHOUT_SPORES,
    "protected care asks for a spore test that rode along in load L01-0001 (air removal) and passed; there is none",
)
LIQUID = replace(LOAD, goods=Goods.LIQUID, cycle_kind=CycleKind.LIQUID)

# One row for each reason from processing, history, holds and care: what is changed, for whom, and every reason whole.
ROWS = {
    "in no pouch": (
        replace(GOOD, processing=None),
        CLIENT,
        [NO_RELEASE, (ReasonKind.NOT_PROCESSED, "it lies in no pouch that is on record")],
    ),
    "in no load": (
        replace(GOOD, processing=ProcessingRecord(pouch=POUCH)),
        CLIENT,
        [NO_RELEASE, (ReasonKind.NOT_PROCESSED, "it went into no steriliser load that is on record")],
    ),
    "load not ended": (
        seen_processed(end=None),
        CLIENT,
        [(ReasonKind.LOAD_NOT_COMPLETE, "nobody entered how its load L01-0001 ended")],
    ),
    "load aborted": (
        seen_processed(end=replace(PROCESSED.end, outcome=Outcome.ABORTED)),
        CLIENT,
        [(ReasonKind.LOAD_NOT_COMPLETE, "its load L01-0001 was aborted")],
    ),
    "not unloaded": (
        seen_processed(unloaded=None),
        CLIENT,
        [(ReasonKind.NOT_UNLOADED, "it was not scanned out of its load L01-0001")],
    ),
    "rejected at unloading": (
        seen_processed(unloaded=replace(PROCESSED.unloaded, state=PouchState.WET, note="drops inside")),
        CLIENT,
        [(ReasonKind.CAME_OUT_BAD, "it was rejected at unloading: wet (drops inside)")],
    ),
    "wrong load for filled tubes": (
        replace(GOOD, holds_liquid=True, holds_solids=False),
        CLIENT,
        [
            (
                ReasonKind.WRONG_GOODS,
                "its load L01-0001 was for wrapped goods, which is no evidence for a filled tube",
            )
        ],
    ),
    "wrong load for solids": (
        seen_processed(load=LIQUID, readings=(replace(READINGS, probe=ProbePlace.REFERENCE_TUBE),)),
        CLIENT,
        [(ReasonKind.WRONG_GOODS, "its load L01-0001 was for liquids, and not for instruments or empty tubes")],
    ),
    "type N": (
        seen_processed(load=replace(LOAD, cycle_kind=CycleKind.TYPE_N)),
        CLIENT,
        [(ReasonKind.WRONG_GOODS, "its load L01-0001 was for unwrapped goods, and not for pouches")],
    ),
    "not released": (seen_processed(release=None), CLIENT, [NO_RELEASE]),
    "rejected": (
        seen_processed(release=replace(RELEASE, decision=Decision.REJECTED, reasons=("no drying",))),
        CLIENT,
        [(ReasonKind.REJECTED, "its load L01-0001 was rejected: no drying")],
    ),
    "in quarantine": (
        seen_processed(release=replace(RELEASE, decision=Decision.QUARANTINE)),
        CLIENT,
        [(ReasonKind.QUARANTINED, "its load L01-0001 is in quarantine")],
    ),
    "excepted": (
        seen_processed(release=replace(RELEASE, excepted=(POUCH,))),
        CLIENT,
        [(ReasonKind.EXCEPTED, "the release of load L01-0001 leaves this very pouch out")],
    ),
    "held": (
        seen_processed(holds=(HOLD,)),
        CLIENT,
        [
            (
                ReasonKind.HELD,
                "it, or what it comes from or went with, is kept back by hold H01-0001 (recall): the maker's notice",
            )
        ],
    ),
    "no readings": (
        seen_processed(readings=()),
        CLIENT,
        [(ReasonKind.READINGS_NOT_MET, "no readings of its load L01-0001 are on record")],
    ),
    "readings not met": (
        seen_processed(readings=(READINGS, replace(READINGS, verdict=ReadingsVerdict.NOT_MET))),
        CLIENT,
        [(ReasonKind.READINGS_NOT_MET, "the readings of its load L01-0001 do not meet the programme")],
    ),
    "readings cannot tell": (
        seen_processed(readings=(replace(READINGS, verdict=ReadingsVerdict.CANNOT_TELL),)),
        CLIENT,
        [(ReasonKind.READINGS_NOT_MET, "cannot tell whether the readings of its load L01-0001 meet the programme")],
    ),
    "chamber readings for a liquid": (
        replace(
            GOOD,
            holds_liquid=True,
            holds_solids=False,
            processing=replace(PROCESSED, load=LIQUID),
        ),
        CLIENT,
        [
            (
                ReasonKind.READINGS_NOT_MET,
                (
                    "cannot tell: the readings of load L01-0001 say nothing of the inside of a closed tube; a probe or "
                    "a spore test in a reference tube of the same fill is needed"
                ),
            )
        ],
    ),
    "no indicator": (
        seen_processed(indicators=()),
        CLIENT,
        [(ReasonKind.INDICATOR_MISSING, "no reading of its chemical indicator is on record")],
    ),
    "indicator not turned": (
        seen_processed(indicators=(NOT_TURNED,)),
        CLIENT,
        [(ReasonKind.INDICATOR_FAILED, "its chemical indicator (outside) was recorded as not turned (unloading)")],
    ),
    "indicator not turned, and another reading beside it": (
        seen_processed(indicators=(NOT_TURNED, TURNED)),
        CLIENT,
        [(ReasonKind.INDICATOR_FAILED, "its chemical indicator (outside) was recorded as not turned (unloading)")],
    ),
    "the load's indicator not turned": (
        seen_processed(
            indicators=(
                TURNED,
                replace(NOT_TURNED, pouch=None, place=IndicatorPlace.IN_LOAD),
                replace(TURNED, pouch=None, place=IndicatorPlace.IN_LOAD),
            )
        ),
        CLIENT,
        [
            (
                ReasonKind.INDICATOR_FAILED,
                "the chemical indicator that stands for load L01-0001 was recorded as not turned",
            )
        ],
    ),
    "no spore test": (
        seen_processed(evidence=NONE_BEFORE),
        CLIENT,
        [(ReasonKind.SPORES_MISSING, "spore tests of load L01-0001: no spore test had passed before")],
    ),
    "spore tests not looked up": (
        seen_processed(evidence=None),
        CLIENT,
        [(ReasonKind.SPORES_MISSING, "what spore tests say of load L01-0001 is not known")],
    ),
    "spore growth": (
        seen_processed(evidence=GREW),
        CLIENT,
        [(ReasonKind.SPORES_FAILED, "spore tests of load L01-0001: spore test B01-0003 in load L01-0002 grew")],
    ),
    "spores incubating": (
        seen_processed(evidence=INCUBATING),
        CLIENT,
        [
            (
                ReasonKind.SPORES_INCUBATING,
                "spore tests of load L01-0001: spore test B01-0002, which rode along, is still incubating",
            )
        ],
    ),
    "an early release lets growth through": (
        seen_processed(evidence=GREW, release=EARLY),
        CLIENT,
        [(ReasonKind.SPORES_FAILED, "spore tests of load L01-0001: spore test B01-0003 in load L01-0002 grew")],
    ),
    "protected care, a test beside the load": (
        seen_processed(evidence=BEFORE, protected_evidence=BEFORE),
        PROTECTED,
        [PROTECTED_ASKS],
    ),
    "care level not known": (
        seen_processed(evidence=BEFORE, protected_evidence=BEFORE),
        replace(CLIENT, client=Client(code="C-14")),
        [PROTECTED_ASKS],
    ),
    "protected care, early release": (
        seen_processed(evidence=INCUBATING, protected_evidence=INCUBATING, release=EARLY),
        PROTECTED,
        [PROTECTED_ASKS],
    ),
    "client not on record": (
        GOOD,
        ClientAtChair(code="C-99", client=None),
        [(ReasonKind.CLIENT_UNKNOWN, "client 'C-99' is not on record")],
    ),
    "client erased": (
        GOOD,
        ClientAtChair(code="C-14", client=Client(code="C-14"), is_erased=True),
        [(ReasonKind.CLIENT_UNKNOWN, "client 'C-14' was erased")],
    ),
    "pouch opened before": (
        replace(GOOD, past=(happened(PastKind.OPENED, item=POUCH, client="C-14"),)),
        CLIENT,
        [(ReasonKind.ALREADY_OPENED, "pouch 010000061 was opened on 2027-04-30 at 14:05 by s2 for client C-14")],
    ),
    "pouch opened today for another": (
        replace(
            GOOD,
            past=(happened(PastKind.OPENED, item=POUCH, client="C-15", at=datetime(2027, 5, 1, 9, tzinfo=UTC)),),
        ),
        CLIENT,
        [(ReasonKind.ALREADY_OPENED, "pouch 010000061 was opened on 2027-05-01 at 09:00 by s2 for client C-15")],
    ),
    "used before": (
        replace(
            GOOD,
            past=(happened(PastKind.USED, client="C-14", note="U01-000001", at=datetime(2027, 5, 1, 9, tzinfo=UTC)),),
        ),
        CLIENT,
        [
            (
                ReasonKind.ALREADY_USED,
                "tube 010000029 was used on 2027-05-01 at 09:00 by s2 for client C-14: U01-000001",
            )
        ],
    ),
    "destroyed": (
        replace(GOOD, past=(happened(PastKind.DESTROYED, note="sharps box"),)),
        CLIENT,
        [(ReasonKind.DESTROYED, "tube 010000029 was destroyed on 2027-04-30 at 14:05 by s2: sharps box")],
    ),
    "given away": (
        replace(GOOD, past=(happened(PastKind.GIVEN_AWAY, note="the maker"),)),
        CLIENT,
        [(ReasonKind.GIVEN_AWAY, "tube 010000029 was given away on 2027-04-30 at 14:05 by s2: the maker")],
    ),
    "lost": (
        replace(GOOD, past=(happened(PastKind.LOST),)),
        CLIENT,
        [(ReasonKind.LOST, "tube 010000029 was lost on 2027-04-30 at 14:05 by s2")],
    ),
    "met in an incident": (
        replace(GOOD, past=(happened(PastKind.INCIDENT, note="I01-0001, duplicate label"),)),
        CLIENT,
        [
            (
                ReasonKind.IN_DOUBT,
                "tube 010000029 was met in an incident on 2027-04-30 at 14:05 by s2: I01-0001, duplicate label",
            )
        ],
    ),
    "filled in an earlier session": (
        replace(
            GOOD,
            dating=Dating(
                causes=(Cause(kind=CauseKind.FILLED_AT_CHAIR, date=date(2027, 4, 30), source="preparation P-9"),),
                stops=(),
            ),
        ),
        CLIENT,
        [(ReasonKind.PAST_USE_BY, "preparation P-9 was good until 2027-04-30 (filled at chair)")],
    ),
    "recorded wet when it was opened": (
        replace(GOOD, openings=(replace(FINE, dry=False),)),
        CLIENT,
        [(ReasonKind.OPENING_FAILED, "the pouch is wet")],
    ),
}


@pytest.mark.parametrize("name", ROWS)
def test_each_reason_by_itself_is_stop_and_says_so(name):
    known, client, expected = ROWS[name]
    found = assess(SEEN, known, today=TODAY, client=client, opening=FINE)
    assert found.reasons == tuple(reason(*one) for one in expected)
    assert found.verdict is Verdict.STOP


def test_a_tube_that_is_not_recorded_in_the_pouch_stops():
    known = replace(GOOD, tubes=("010000029",))
    found = assess(SEEN, known, today=TODAY, client=CLIENT, opening=FINE, found_with=("010000029", "010000036"))
    sentence = "tube 010000036 is not recorded in this pouch, which holds 010000029"
    assert (found.verdict, found.reasons) == (Verdict.STOP, (reason(ReasonKind.TUBE_NOT_IN_POUCH, sentence),))


GOES = {
    "protected care with a test in the very load": (GOOD, PROTECTED),
    "a test beside the load, routine care": (seen_processed(evidence=BEFORE, protected_evidence=BEFORE), CLIENT),
    "an early release, routine care": (seen_processed(evidence=INCUBATING, release=EARLY), CLIENT),
    "growth that counts for protected care only": (seen_processed(protected_evidence=GREW), CLIENT),
    "an unclear indicator that was read again": (seen_processed(indicators=(UNCLEAR, TURNED)), CLIENT),
    "its own opening in this session": (
        replace(
            GOOD,
            past=(happened(PastKind.OPENED, item=POUCH, client="C-14", at=datetime(2027, 5, 1, 9, tzinfo=UTC)),),
        ),
        CLIENT,
    ),
    "another tube of the pouch, same client and session": (
        replace(
            GOOD,
            past=(happened(PastKind.USED, item=POUCH, client="C-14", at=datetime(2027, 5, 1, 9, tzinfo=UTC)),),
        ),
        CLIENT,
    ),
    "a liquid with a probe in a reference tube": (
        replace(
            GOOD,
            holds_liquid=True,
            holds_solids=False,
            processing=replace(PROCESSED, load=LIQUID, readings=(replace(READINGS, probe=ProbePlace.REFERENCE_TUBE),)),
        ),
        CLIENT,
    ),
}


@pytest.mark.parametrize("name", GOES)
def test_what_is_no_reason_is_go(name):
    known, client = GOES[name]
    assert assess(SEEN, known, today=TODAY, client=client, opening=FINE).reasons == ()


def test_the_second_label_stands_beside_the_first_and_is_compared_with_what_was_filled_in():
    second = replace(LABEL, kind=LabelKind.SECOND, lot="R-2291", use_by=TODAY, prepared=TODAY, run="R-4")
    known = replace(GOOD, labels=(LABEL, second), filled=OnRecord(batch="R-2291", prepared=TODAY))
    flag = SeenLabel(serial="010000029", lot="R-2291", use_by=TODAY, prepared=TODAY)
    for seen in (SEEN, flag):
        assert assess(seen, known, today=TODAY, client=CLIENT, opening=FINE).verdict is Verdict.GO
    corrected = replace(known, filled=OnRecord(batch="R-2292", prepared=TODAY))
    found = assess(flag, corrected, today=TODAY, client=CLIENT, opening=FINE)
    assert [one.kind for one in found.reasons] == [ReasonKind.LABEL_OUTDATED]


def test_the_day_itself_is_still_good_and_the_next_is_not():
    assert assess(SEEN, GOOD, today=USE_BY, client=CLIENT, opening=FINE).verdict is Verdict.GO
    late = assess(SEEN, GOOD, today=date(2027, 7, 1), client=CLIENT, opening=FINE)
    assert late.reasons == (
        reason(ReasonKind.PAST_USE_BY, "the label says use by 2027-06-30"),
        reason(ReasonKind.PAST_USE_BY, "preparation P-0007 was good until 2027-06-30 (limit after preparation)"),
    )


def test_a_bare_serial_is_not_enough_until_the_rest_is_entered():
    found = assess(SeenLabel(serial="010000029"), GOOD, today=TODAY, client=CLIENT, opening=FINE)
    sentence = "not read from the label yet: batch, use-by, date prepared; enter it from the label"
    assert (found.verdict, found.reasons) == (
        Verdict.PRELIMINARY,
        (reason(ReasonKind.LABEL_INCOMPLETE, sentence),),
    )


def test_every_reason_is_shown_and_the_worst_decides():
    known = KnownItem(item=None, labels=(), dating=Dating(causes=(), stops=()), first=OnRecord())
    found = assess(SEEN, known, today=TODAY)
    assert [one.kind for one in found.reasons] == [
        ReasonKind.LABEL_UNKNOWN,
        ReasonKind.NOT_RELEASED,
        ReasonKind.NOT_PROCESSED,
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
    client=st.sampled_from([None, CLIENT]),
    opening=ANSWERS,
    withdrawn=st.booleans(),
)
def test_go_only_if_a_plain_list_of_conditions_holds(labels, lot, released, opened, limit, client, opening, withdrawn):
    seen = replace(SEEN, lot=lot)
    known = replace(
        GOOD,
        labels=tuple(labels),
        dating=Dating(causes=(replace(LIMIT, date=limit),), stops=()),
        bottles=(replace(BOTTLE, withdrawn_on=TODAY if withdrawn else None),),
        processing=replace(PROCESSED, release=RELEASE if released else None),
        past=(happened(PastKind.OPENED, item=POUCH),) if opened else (),
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
        reason(ReasonKind.PAST_USE_BY, "Rosehip, batch R-2291 was good until 2027-03-01 (period after opening)"),
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
    found = assess(SEEN, replace(GOOD, item=None), today=TODAY, client=CLIENT, opening=FINE)
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
    found = assess(SEEN, replace(GOOD, first=replace(GOOD.first, **today)), today=TODAY, client=CLIENT, opening=FINE)
    sentence = f"the record was corrected after this label was printed: {words}; print it again"
    assert (found.verdict, found.reasons) == (Verdict.STOP, (reason(ReasonKind.LABEL_OUTDATED, sentence),))


def test_a_label_that_is_valid_on_one_surface_is_outdated_by_a_later_one_on_another():
    cap = replace(LABEL, kind=LabelKind.CAP, run="R-2")
    side = replace(LABEL, use_by=date(2027, 5, 31), run="R-3")
    item = replace(GOOD, labels=(replace(LABEL, voided_by="print run R-3"), cap, side))
    found = assess(SEEN, item, today=TODAY, client=CLIENT, opening=FINE)
    sentence = (
        "a later label (tube, print run R-3) says otherwise: this one says use-by 2027-06-30 instead of 2027-05-31"
    )
    assert (found.verdict, found.reasons) == (Verdict.STOP, (reason(ReasonKind.LABEL_SUPERSEDED, sentence),))
    newest = assess(replace(SEEN, use_by=date(2027, 5, 31)), item, today=TODAY, client=CLIENT, opening=FINE)
    assert newest.verdict is Verdict.GO
