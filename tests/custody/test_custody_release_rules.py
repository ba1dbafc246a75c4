"""May this load be released, and what is left out of it? Each refusal's whole sentence (common practice, no source)."""

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal

import pytest

from tracelabels.custody import (
    CycleKind,
    Decision,
    Goods,
    Hold,
    HoldCause,
    IndicatorPlace,
    IndicatorReading,
    IndicatorResult,
    Kind,
    Load,
    LoadAtRelease,
    LoadEnd,
    LoadReadings,
    Name,
    Outcome,
    PouchState,
    ProbePlace,
    ReadingsSource,
    ReadingsVerdict,
    Release,
    ReleasePolicy,
    Stage,
    Unloaded,
    excepted_pouches,
    is_early,
    release_reasons,
    verdict_of_readings,
)
from tracelabels.sterilization import Evidence, EvidenceState

NOW = datetime(2026, 11, 25, 9, tzinfo=UTC)
A, B = Name(Kind.POUCH, "A"), Name(Kind.POUCH, "B")
LOAD = Load(
    number="L1",
    steriliser=Name(Kind.STERILISER, "S1"),
    cycle_kind=CycleKind.AIR_REMOVAL,
    programme="wrapped 134",
    temperature_c=Decimal(134),
    hold_minutes=Decimal(3),
    goods=Goods.WRAPPED,
    operator="bench",
    started_at=NOW,
    counted=2,
    pouches=(A, B),
)
L1 = LOAD.as_name
READ = LoadReadings(
    load=L1, source=ReadingsSource.GAUGE, probe=ProbePlace.CHAMBER, verdict=ReadingsVerdict.MET, reasons=("by bench",)
)
PASSED = Evidence(state=EvidenceState.PASSED, sentence="spore test B1 in load L0 passed before")


def out(pouch: Name, state: PouchState = PouchState.SOUND) -> Unloaded:
    return Unloaded(load=L1, pouch=pouch, state=state, at=NOW)


def seen(
    pouch: Name | None,
    result: IndicatorResult = IndicatorResult.TURNED,
    place: IndicatorPlace = IndicatorPlace.OUTSIDE,
) -> IndicatorReading:
    return IndicatorReading(load=L1, pouch=pouch, place=place, result=result, stage=Stage.UNLOADING, at=NOW)


GOOD = LoadAtRelease(
    load=LOAD,
    end=LoadEnd(load=L1, outcome=Outcome.COMPLETE, at=NOW),
    readings=(READ,),
    unloaded=(out(A), out(B)),
    indicators=(seen(A), seen(B)),
    evidence=PASSED,
    holds=(),
    held=frozenset(),
    release=None,
)
HOLD = Hold(number="H1", cause=HoldCause.RECALL, at=NOW, items=(L1,), reason="a recall")
CHAMBER_ONLY = (
    "cannot tell: readings of the chamber say nothing of the inside of a closed tube; a probe or a spore test "
    "in a reference tube of the same fill is needed"
)


def sentences(known: LoadAtRelease, policy: ReleasePolicy | None = None, second: str | None = None) -> list[str]:
    found = release_reasons(known, policy or ReleasePolicy(), by="bench", second=second)
    return [one.sentence for one in found]


def evidence(state: EvidenceState) -> Evidence:
    return Evidence(state=state, sentence=f"it is {state.value}")


def decided(decision: Decision) -> Release:
    return Release(load=L1, decision=decision, at=NOW)


def test_a_good_load_has_nothing_against_it():
    assert sentences(GOOD) == []
    assert (excepted_pouches(GOOD), is_early(GOOD)) == ({}, False)


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"end": None}, ["nobody entered how load L1 ended"]),
        ({"end": LoadEnd(load=L1, outcome=Outcome.ABORTED, at=NOW)}, ["load L1 was aborted"]),
        ({"unloaded": (out(A),)}, ["not scanned out of load L1: pouch B"]),
        ({"readings": ()}, ["no readings of load L1 are on record"]),
        (
            {"readings": (READ, replace(READ, verdict=ReadingsVerdict.NOT_MET), READ)},
            ["the readings of load L1 do not meet its programme"],
        ),
        (
            {"readings": (replace(READ, verdict=ReadingsVerdict.CANNOT_TELL),)},
            ["cannot tell whether the readings of load L1 meet its programme"],
        ),
        ({"load": replace(LOAD, goods=Goods.LIQUID)}, [CHAMBER_ONLY]),
        ({"indicators": (seen(A),)}, ["no indicator was read of pouch B"]),
        ({"indicators": ()}, ["no indicator was read of pouches A, B"]),
        (
            {"indicators": (seen(A), seen(B), seen(None, IndicatorResult.UNCLEAR, IndicatorPlace.IN_LOAD))},
            ["the indicator that stands for load L1 is unclear"],
        ),
        ({"evidence": evidence(EvidenceState.FAILED)}, ["it is failed"]),
        ({"evidence": evidence(EvidenceState.SUSPECT)}, ["it is suspect"]),
        ({"evidence": evidence(EvidenceState.MISSING)}, ["it is missing"]),
        ({"evidence": evidence(EvidenceState.UNTESTED)}, ["it is untested"]),
        (
            {"evidence": evidence(EvidenceState.INCUBATING)},
            ["it is incubating; keep the load in quarantine until it is read"],
        ),
        ({"holds": (HOLD,)}, ["load L1 is kept back by hold H1 (a recall)"]),
        (
            {"release": decided(Decision.REJECTED)},
            ["load L1 was rejected; correct that decision first, if it was wrong"],
        ),
        ({"release": decided(Decision.QUARANTINE)}, []),
        (
            {"unloaded": (out(A, PouchState.WET), out(B, PouchState.TORN))},
            ["no pouch of load L1 came out sound, turned and free of holds; reject it"],
        ),
        ({"load": replace(LOAD, pouches=()), "indicators": ()}, ["no indicator of load L1 was read"]),
    ],
)  # fmt: skip
def test_a_load_is_not_released(changes, expected):
    assert sentences(replace(GOOD, **changes)) == expected


@pytest.mark.parametrize("state", list(EvidenceState))
def test_an_early_release_passes_over_a_test_that_incubates_and_nothing_else(state):
    known = replace(GOOD, evidence=evidence(state))
    allowed = sentences(known, ReleasePolicy(early_release=True)) == []
    assert allowed == (state in {EvidenceState.PASSED, EvidenceState.INCUBATING})
    assert is_early(known) == (state is EvidenceState.INCUBATING)


@pytest.mark.parametrize(
    ("policy", "second", "expected"),
    [
        (ReleasePolicy(who=frozenset({"bench", "lead"})), None, []),
        (ReleasePolicy(who=frozenset({"lead"})), None, ["bench may not release loads; these may: lead"]),
        (ReleasePolicy(needs_second=True), None, ["the practice asks for a second person at every release"]),
        (ReleasePolicy(needs_second=True), "bench", ["the second person is the first one, bench"]),
        (ReleasePolicy(), "bench", ["the second person is the first one, bench"]),
        (ReleasePolicy(needs_second=True), "lead", []),
    ],
)  # fmt: skip
def test_who_may_release(policy, second, expected):
    assert sentences(GOOD, policy, second) == expected


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"unloaded": (out(A, PouchState.WET), out(B))}, {A: "came out wet"}),
        ({"unloaded": (out(A, PouchState.NOT_TURNED), out(B))}, {A: "came out not turned"}),
        ({"indicators": (seen(A, IndicatorResult.NOT_TURNED), seen(B))}, {A: "its indicator is not turned"}),
        ({"indicators": (seen(A, IndicatorResult.UNCLEAR), seen(A), seen(B))}, {}),
        (
            {"indicators": (seen(A, IndicatorResult.NOT_TURNED), seen(A), seen(B))},
            {A: "its indicator is not turned"},
        ),
        (
            {"indicators": (seen(A, IndicatorResult.UNCLEAR, IndicatorPlace.INSIDE), seen(A), seen(B))},
            {A: "its indicator is unclear"},
        ),
        ({"held": frozenset({B})}, {B: "kept back by a hold"}),
    ],
)
def test_a_pouch_is_left_out_and_the_rest_goes(changes, expected):
    known = replace(GOOD, **changes)
    assert excepted_pouches(known) == expected
    assert sentences(known) == []


@pytest.mark.parametrize(
    ("goods", "probe", "spores", "expected"),
    [
        (Goods.WRAPPED, ProbePlace.CHAMBER, PASSED, ReadingsVerdict.MET),
        (Goods.LIQUID, ProbePlace.CHAMBER, PASSED, ReadingsVerdict.CANNOT_TELL),
        (Goods.LIQUID, ProbePlace.UNKNOWN, PASSED, ReadingsVerdict.CANNOT_TELL),
        (Goods.LIQUID, ProbePlace.REFERENCE_TUBE, PASSED, ReadingsVerdict.MET),
        (Goods.LIQUID, ProbePlace.CHAMBER, replace(PASSED, in_reference_tube=True), ReadingsVerdict.MET),
        (
            Goods.LIQUID,
            ProbePlace.CHAMBER,
            replace(PASSED, state=EvidenceState.INCUBATING, in_reference_tube=True),
            ReadingsVerdict.CANNOT_TELL,
        ),
        (Goods.LIQUID, ProbePlace.CHAMBER, None, ReadingsVerdict.CANNOT_TELL),
    ],
)
def test_readings_of_the_chamber_say_nothing_of_the_inside_of_a_filled_tube(goods, probe, spores, expected):
    assert verdict_of_readings(replace(LOAD, goods=goods), [replace(READ, probe=probe)], spores) is expected


def test_nobodys_word_stands_against_not_met_by_computing():
    said = replace(READ, verdict=ReadingsVerdict.MET, computed=ReadingsVerdict.NOT_MET)
    assert verdict_of_readings(LOAD, [said, READ], PASSED) is ReadingsVerdict.NOT_MET
