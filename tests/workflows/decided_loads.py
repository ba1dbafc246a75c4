"""The story of the bad batch goes on: readings, indicators, decisions, a hold lifted and one that stands, a recall.

L01-0001 released by two when its test was read. L01-0002 released without P3, whose indicator had not turned; the lead
corrected who was the second. L01-0003 released early, a day before its test grew; computing could not tell of its
readings. What is sealed: an account of the incident, what was seen in the adverse event, names.
"""

from dataclasses import replace
from datetime import timedelta

import bad_batch as story

from tracelabels.custody import (
    AdverseEvent,
    Decision,
    Hold,
    HoldCause,
    HoldLifted,
    Incident,
    IndicatorPlace,
    IndicatorReading,
    IndicatorResult,
    Kind,
    LoadEnd,
    LoadReadings,
    Name,
    Outcome,
    ProbePlace,
    ReadingsSource,
    ReadingsVerdict,
    Recall,
    RecallAction,
    RecallStep,
    Release,
    Stage,
)
from tracelabels.workflows.practice import Practice

LOADS = tuple(Name(Kind.LOAD, f"L01-000{place}") for place in (1, 2, 3))
SEALED = ("Client Number", "Marram Lane", "in a hurry", "a red rim", "Dr. Heron")


def started(place: int):
    return story.AT + timedelta(days=place)


def pouch(serial: str) -> Name:
    return Name(Kind.POUCH, serial)


def decide(practice: Practice) -> None:
    """Record how the story goes on."""
    contents = ((story.P2,), (story.P1, story.P3), (story.P4, story.P5))
    with practice.write(by="bench") as unit:
        for place, (load, serials) in enumerate(zip(LOADS, contents, strict=True), start=1):
            unit.record(LoadEnd(load=load, outcome=Outcome.COMPLETE, at=started(place) + timedelta(minutes=50)))
            unit.record(readings_of(load))
            for serial in serials:
                unit.record(_indicator(load, serial, started(place)))
    with practice.write(by="charge") as unit:
        at = started(2) + timedelta(hours=2)
        unit.record(Release(load=LOADS[0], decision=Decision.QUARANTINE, at=started(1), reasons=("it incubates",)))
        read_at = started(1) + timedelta(hours=25)
        unit.record(Release(load=LOADS[0], decision=Decision.RELEASED, at=read_at, second="lead"))
        excepted = (pouch(story.P3),)
        unit.record(Release(load=LOADS[1], decision=Decision.RELEASED, at=at, second="bench", excepted=excepted))
        early = Release(load=LOADS[2], decision=Decision.RELEASED, at=started(3) + timedelta(hours=2), is_early=True)
        unit.record(early)
    with practice.write(by="lead") as unit:
        (recorded,) = unit.about(Release, "load", LOADS[1])
        unit.amend(recorded, replace(recorded.value, second="deputy"), reason="it was the deputy")
        _afterwards(unit)


def readings_of(load: Name) -> LoadReadings:
    return LoadReadings(
        load=load,
        source=ReadingsSource.GAUGE,
        probe=ProbePlace.CHAMBER,
        verdict=ReadingsVerdict.MET,
        reasons=("judged by bench",),
        computed=ReadingsVerdict.CANNOT_TELL if load == LOADS[2] else None,
    )


def _indicator(load: Name, serial: str, at) -> IndicatorReading:
    return IndicatorReading(
        load=load,
        pouch=pouch(serial),
        place=IndicatorPlace.INSIDE,
        result=IndicatorResult.NOT_TURNED if serial == story.P3 else IndicatorResult.TURNED,
        stage=Stage.UNLOADING,
        at=at,
    )


def _afterwards(unit) -> None:
    at = started(5)
    old = Hold(number="H01-0001", cause=HoldCause.QUARANTINE, at=at, items=(pouch(story.P3),), reason="to be looked at")
    unit.record(old)
    unit.record(HoldLifted(hold=old.as_name, at=at + timedelta(hours=1), reason="looked at"))
    recall = Recall(
        number="K01-0001",
        cause="bi:B01-0002",
        reason="growth",
        at=at,
        roots=LOADS[1:],
        items=(pouch(story.P1), pouch(story.P3)),
        clients=(Name(Kind.CLIENT, "C-1"), Name(Kind.CLIENT, "C-2")),
    )
    unit.record(recall)
    held = (LOADS[1], LOADS[2], pouch(story.P3))
    unit.record(
        Hold(
            number="H01-0002",
            cause=HoldCause.SPORE_GROWTH,
            at=at,
            items=held,
            reason="recall K01-0001: growth",
            recall=recall.as_name,
        )
    )
    client = Name(Kind.CLIENT, "C-2")
    unit.record(RecallAction(recall=recall.as_name, step=RecallStep.CLIENT_ATTEMPT, at=at, client=client))
    for kind, number, says in (
        (Incident, "I01-0001", {"account": "in a hurry"}),
        (AdverseEvent, "A01-0001", {"what": "a red rim", "physician": "Dr. Heron"}),
    ):
        recorded = unit.require(kind, number)
        unit.amend(recorded, replace(recorded.value, **says), reason="told later")
