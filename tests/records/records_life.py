"""The life of the morning's pouch after it was sealed: one of every kind of fact, as values; everything invented."""

from datetime import date, datetime, timedelta
from decimal import Decimal

from tracelabels.custody import (
    AdverseEvent,
    CareLevel,
    Client,
    Consumable,
    ConsumableKind,
    ConsumablePeriod,
    CycleKind,
    Decision,
    Destroyed,
    Destruction,
    Evidence,
    Fill,
    GaugeReading,
    Goods,
    Hold,
    HoldCause,
    HoldLifted,
    Incident,
    IncidentKind,
    IndicatorPlace,
    IndicatorReading,
    IndicatorResult,
    Kind,
    LabelFate,
    LabelKind,
    LabelOutcome,
    Load,
    LoadEnd,
    LoadReadings,
    Move,
    Name,
    Outcome,
    PlaceKind,
    PouchOpening,
    PouchState,
    ProbePlace,
    ReadAs,
    ReadingsSource,
    ReadingsVerdict,
    Recall,
    RecallAction,
    RecallStep,
    Release,
    SporeReading,
    SporeResult,
    SporeTest,
    Stage,
    Steriliser,
    SteriliserEvent,
    SteriliserEventKind,
    Unloaded,
    Use,
    Verdict,
)
from tracelabels.records import Writing

POUCH = Name(Kind.POUCH, "010000061")
TUBE = Name(Kind.TUBE, "010000036")
EMPTY_TUBE = Name(Kind.TUBE, "010000048")
BOTTLE = Name(Kind.BOTTLE, "010000012")
RUN = Name(Kind.PRINT_RUN, "R-0001")
CONSUMABLE = Consumable(
    kind=ConsumableKind.POUCH_MATERIAL,
    lot="PF-77",
    product="paper and film, 90 mm",
    maker="Lantern Packs",
    expiry=date(2029, 6, 30),
    reference="turns from pink to brown",
    turned_picture="12" * 32,
    unturned_picture="34" * 32,
    type_number=1,
    population=Decimal("2.3e6"),
    d_value_minutes=Decimal("1.8"),
)
STERILISER = Steriliser(
    code="S1",
    name="the small one",
    serial_number="0042-7",
    cycle_kinds=(CycleKind.AIR_REMOVAL, CycleKind.TYPE_N),
    chamber_litres=Decimal(18),
    validation="folder 2, page 9",
)
CLIENT = Client(
    code="C-0007",
    care_level=CareLevel.PROTECTED,
    care_set_by="staff-1",
    name="Odile Ferncastle",
    birth_date=date(1971, 3, 9),
    identity_check="card seen",
    hospital_number="H-5512",
    surgeon="ward 4",
    allergies="nickel",
    consent="2027-01-04, folder 8",
    contact="by post",
)
EVIDENCE = Evidence(digest="cd" * 32, media_type="text/csv", size=120, about=Name(Kind.LOAD, "S1-0001"))


def load_at(moment: datetime) -> Load:
    return Load(
        number="S1-0001",
        steriliser=STERILISER.as_name,
        cycle_kind=CycleKind.AIR_REMOVAL,
        programme="wrapped 134",
        temperature_c=Decimal(134),
        hold_minutes=Decimal("3.5"),
        goods=Goods.WRAPPED,
        operator="staff-2",
        started_at=moment,
        counted=1,
        pouches=(POUCH,),
        drying_minutes=Decimal(20),
        cycle_number=811,
        programme_file="56" * 32,
    )


def life_from(begin: datetime) -> tuple[object, ...]:
    """Return one value of every kind, in an order in which each names only what came before it."""
    at = [begin + timedelta(minutes=10 * step) for step in range(20)]
    load, client, use = load_at(at[1]), CLIENT.as_name, Name(Kind.USE, "U-0001")
    recall = Name(Kind.RECALL, "K-0001")
    return (
        CONSUMABLE,
        ConsumablePeriod(consumable=CONSUMABLE.name, from_day=date(2027, 1, 4)),
        STERILISER,
        SteriliserEvent(
            steriliser=STERILISER.as_name,
            event=SteriliserEventKind.AIR_REMOVAL_TEST,
            at=at[0],
            passed=True,
            cycle_kind=CycleKind.AIR_REMOVAL,
            next_due=date(2027, 1, 5),
            note="sheet even",
            error_k=Decimal("0.3"),
            offset_s=Decimal(-95),
        ),
        load,
        LoadEnd(load=load.as_name, outcome=Outcome.COMPLETE, at=at[2], note="display: end"),
        EVIDENCE,
        LoadReadings(
            load=load.as_name,
            source=ReadingsSource.GAUGE,
            probe=ProbePlace.CHAMBER,
            verdict=ReadingsVerdict.MET,
            reasons=("read by staff-2",),
            evidence=EVIDENCE.digest,
            typed=(
                GaugeReading(minute=Decimal(0), temperature_c=Decimal("134.2"), pressure_kpa=Decimal(306)),
                GaugeReading(minute=Decimal("3.5"), temperature_c=Decimal("134.6")),
            ),
            computed=ReadingsVerdict.CANNOT_TELL,
            probe_error_k=Decimal("0.5"),
            read_as=(ReadAs(option="pressure_unit", value="bar"), ReadAs(option="decimal_mark", value=",")),
        ),
        Unloaded(load=load.as_name, pouch=POUCH, state=PouchState.SOUND, at=at[3], note="dry"),
        IndicatorReading(
            load=load.as_name,
            pouch=POUCH,
            place=IndicatorPlace.INSIDE,
            result=IndicatorResult.TURNED,
            stage=Stage.UNLOADING,
            at=at[3],
            type_number=5,
            lot="CI-3",
            compared="like the turned one",
        ),
        SporeTest(
            number="B-0001",
            steriliser=STERILISER.as_name,
            cycle_kind=CycleKind.AIR_REMOVAL,
            load=load.as_name,
            lot="BI-9",
            placement="over the drain",
            at=at[1],
            due_at=at[4],
            lot_expiry=date(2028, 1, 31),
            by_laboratory=True,
            laboratory="the laboratory at the harbour",
            sent_at=at[3],
        ),
        SporeReading(test=Name(Kind.SPORE_TEST, "B-0001"), result=SporeResult.NO_GROWTH, at=at[5], control_grew=True),
        Release(
            load=load.as_name,
            decision=Decision.RELEASED,
            at=at[6],
            second="staff-1",
            reasons=("all met",),
            excepted=(POUCH,),
        ),
        Hold(
            number="H-0001",
            cause=HoldCause.QUARANTINE,
            at=at[7],
            items=(BOTTLE, load.as_name, CONSUMABLE.name),
            reason="a doubt",
        ),
        HoldLifted(hold=Name(Kind.HOLD, "H-0001"), at=at[8], reason="no cause found"),
        CLIENT,
        PouchOpening(
            pouch=POUCH,
            client=client,
            indicator=True,
            dry=True,
            whole=False,
            verdict=Verdict.STOP,
            at=at[9],
            reasons=("the pouch is torn or open",),
        ),
        Fill(tube=EMPTY_TUBE, preparation=Name(Kind.PREPARATION, "P-0002"), at=at[9], client=client),
        Use(
            number="U-0001",
            client=client,
            practitioner="staff-1",
            at=at[10],
            items=(POUCH, TUBE, BOTTLE, CONSUMABLE.name),
            verdict=Verdict.STOP,
            reasons=("the pouch is torn or open",),
            photograph="ef" * 32,
            procedure="areola",
            body_site="breast",
            side="left",
        ),
        Destruction(item=TUBE, what=Destroyed.REMAINDER, at=at[11], how="sharps box"),
        Move(item=POUCH, kind=PlaceKind.THEATRE, place="theatre 2", at=at[9]),
        LabelOutcome(run=RUN, serial="010000048", kind=LabelKind.TUBE, outcome=LabelFate.APPLIED),
        Incident(
            number="I-0001",
            kind=IncidentKind.USED_AGAINST_STOP,
            at=at[10],
            items=(POUCH,),
            client=client,
            use=use,
            reasons=("the pouch is torn or open",),
            account="opened in haste",
        ),
        AdverseEvent(
            number="A-0001",
            client=client,
            onset=date(2027, 1, 8),
            uses=(use,),
            report_due=date(2027, 1, 29),
            what="redness",
            culture="none taken",
            physician="ward 4",
        ),
        Recall(
            number="K-0001",
            cause="load:S1-0001",
            reason="torn pouch",
            at=at[12],
            roots=(load.as_name,),
            items=(POUCH, TUBE),
            clients=(client,),
            incidents=(Name(Kind.INCIDENT, "I-0001"),),
        ),
        RecallAction(
            recall=recall, step=RecallStep.CLIENT_REACHED, at=at[13], client=client, items=(TUBE,), place="shelf 1"
        ),
    )


def record_life(unit: Writing, begin: datetime) -> None:
    """Append one of every kind, with a claim and a request's key."""
    for value in life_from(begin):
        is_use = isinstance(value, Use)
        unit.record(value, request_key="tap-1" if is_use else None, claims=[("used", POUCH)] if is_use else ())
