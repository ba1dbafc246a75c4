"""The verdict: one row for each rule with every sentence whole, and the laws that no sentence may break."""

from dataclasses import replace

import numpy as np
import pytest
from cycles_curves import curve, cycle, in_steam, without
from hypothesis import given, settings
from hypothesis import strategies as st

from tracelabels.custody import CycleKind, Goods, ProbePlace, ReadingsVerdict
from tracelabels.cycles import Band, CycleFindings, Programme, Readings, judge
from tracelabels.errors import InputError

WRAPPED = Programme(
    name="ours",
    title="Ours",
    goods=Goods.WRAPPED,
    cycle_kinds=(CycleKind.AIR_REMOVAL,),
    band=Band(set_c=134.0, above_k=3.0),
    hold_minutes=3.0,
    source="invented",
    equilibration_s=15.0,
)
NO_LIMIT = replace(WRAPPED, band=Band(set_c=134.0), equilibration_s=None)
LIQUID = replace(
    WRAPPED,
    name="fill",
    goods=Goods.LIQUID,
    cycle_kinds=(CycleKind.LIQUID,),
    band=Band(set_c=121.0, above_k=3.0),
    hold_minutes=15.0,
    equilibration_s=None,
)
MET, NOT_MET, CANNOT_TELL = ReadingsVerdict.MET, ReadingsVerdict.NOT_MET, ReadingsVerdict.CANNOT_TELL
HELD = "the temperature in the chamber stayed at 134 to 137 °C for 3.4 min without a break, and 3 min are needed"
INSIDE = (
    "what was read {} says nothing of the inside of a filled tube: "
    "that takes a probe in a reference tube of the same fill"
)
STEAM = (
    "the temperature in the chamber was {} K {} that of saturated steam at the "
    "pressure read with it, and 2 K are allowed"
)
"""Beginnings of sentences that several rows share."""

CHAMBER, TUBE, UNKNOWN = ProbePlace.CHAMBER, ProbePlace.REFERENCE_TUBE, ProbePlace.UNKNOWN
WAVERING = curve((0, 84), (500, 135), (510, 134.5), (520, 133), (530, 133), (550, 135), (800, 135), (900, 80))

ROWS = {
    "held long enough": (cycle(200), WRAPPED, CHAMBER, MET, [HELD]),
    "held long enough, in saturated steam": (
        in_steam(cycle(200), colder_by_k=0.4),
        WRAPPED,
        CHAMBER,
        MET,
        [
            HELD,
            (
                "the temperature in the chamber was within 0.4 K of that of saturated steam at "
                "the pressure read with it, "
                "and 2 K are allowed"
            ),
        ],
    ),
    "no upper limit": (
        cycle(200, 138),
        NO_LIMIT,
        CHAMBER,
        MET,
        ["the temperature in the chamber stayed at 134 °C or more for 4 min without a break, and 3 min are needed"],
    ),
    "read at begin and end of the hold": (
        curve((0, 134), (540, 134), (541, 134), (900, 20), every_s=180),
        WRAPPED,
        CHAMBER,
        MET,
        ["the temperature in the chamber stayed at 134 to 137 °C for 9 min without a break, and 3 min are needed"],
    ),
    "a whole hold has room between two readings": (
        curve((0, 20), (200, 134), (400, 134), (600, 20), every_s=200),
        WRAPPED,
        CHAMBER,
        CANNOT_TELL,
        [
            (
                "the temperature in the chamber stayed at 134 to 137 °C for 0 min without a break, and 3 min are "
                "needed; nothing was read from minute 3.3 to 6.7, so it cannot be told"
            )
        ],
    ),
    "too short": (
        cycle(150),
        WRAPPED,
        CHAMBER,
        NOT_MET,
        ["the temperature in the chamber stayed at 134 to 137 °C for 2.6 min without a break, and 3 min are needed"],
    ),
    "too short by a second": (
        curve((0, 30), (100, 133), (101, 135), (279, 135), (280, 133), (500, 30)),
        WRAPPED,
        CHAMBER,
        NOT_MET,
        ["the temperature in the chamber stayed at 134 to 137 °C for 2.98 min without a break, and 3 min are needed"],
    ),
    "too cold": (
        cycle(200, 133.96),
        WRAPPED,
        CHAMBER,
        NOT_MET,
        ["the temperature in the chamber never reached 134 °C: it was 133.96 °C at most, at minute 10.0"],
    ),
    "jumped over the band": (
        curve((0, 130), (200, 130), (201, 140), (400, 140), (401, 130), (500, 130)),
        replace(WRAPPED, equilibration_s=None),
        CHAMBER,
        NOT_MET,
        [
            "no reading in the chamber lies within 134 to 137 °C, where 3 min are needed",
            (
                "the temperature in the chamber rose to 140 °C at minute 3.4, and 137 °C is the "
                "most that the programme allows"
            ),
        ],
    ),
    "too hot": (
        curve((0, 34), (500, 134), (600, 136), (800, 136), (810, 137.04), (820, 136), (900, 80)),
        WRAPPED,
        CHAMBER,
        NOT_MET,
        [
            (
                "the temperature in the chamber rose to 137.04 °C at minute 13.5, "
                "and 137 °C is the most that the programme allows"
            )
        ],
    ),
    "too hot only while it settled": (
        curve((0, 34), (500, 134), (505, 138), (510, 136), (800, 136), (900, 80)),
        WRAPPED,
        CHAMBER,
        MET,
        ["the temperature in the chamber stayed at 134 to 137 °C for 4.9 min without a break, and 3 min are needed"],
    ),
    "wavered too long": (
        WAVERING,
        WRAPPED,
        CHAMBER,
        NOT_MET,
        ["the temperature in the chamber first reached 134 °C 49.8 s before it stayed there, and 15 s are allowed"],
    ),
    "wavered, which nobody forbids": (
        WAVERING,
        replace(WRAPPED, equilibration_s=None),
        CHAMBER,
        MET,
        ["the temperature in the chamber stayed at 134 to 137 °C for 4.4 min without a break, and 3 min are needed"],
    ),
    "moved too far": (
        curve((0, 34), (500, 134), (600, 136.6), (800, 136.6), (900, 80)),
        replace(WRAPPED, fluctuation_k=2.0),
        CHAMBER,
        NOT_MET,
        ["the temperature in the chamber moved by 2.6 K during the hold, from 134 to 136.6 °C, and 2 K are allowed"],
    ),
    "colder than its steam": (
        in_steam(cycle(200), colder_by_k=3.1),
        WRAPPED,
        CHAMBER,
        NOT_MET,
        [f"{STEAM.format('3.1', 'below')}: air in the chamber is suspected, or a wrong probe, gauge or unit"],
    ),
    "kept cold by air": (
        in_steam(cycle(200, 130.5), colder_by_k=3.8),
        WRAPPED,
        CHAMBER,
        NOT_MET,
        [
            "the temperature in the chamber never reached 134 °C: it was 130.5 °C at most, at minute 10.0",
            f"{STEAM.format('3.8', 'below')}: air in the chamber is suspected, or a wrong probe, gauge or unit",
        ],
    ),
    "hotter than its steam": (
        in_steam(cycle(200), colder_by_k=-2.04),
        WRAPPED,
        CHAMBER,
        NOT_MET,
        [f"{STEAM.format('2.04', 'above')}: superheated steam is suspected, or a wrong probe, gauge or unit"],
    ),
    "gauge pressure taken for absolute": (
        in_steam(cycle(200), gauge_kpa=101.325),
        WRAPPED,
        CHAMBER,
        NOT_MET,
        [f"{STEAM.format('13.1', 'above')}: it would fit if gauge pressure had been taken for absolute pressure"],
    ),
    "the air's pressure added twice": (
        in_steam(cycle(200), gauge_kpa=-101.325),
        WRAPPED,
        CHAMBER,
        NOT_MET,
        [
            (
                f"{STEAM.format('10', 'below')}: "
                "it would fit if the air's pressure had been added to what was absolute pressure already"
            )
        ],
    ),
    "a pair of a local code that is no saturated steam": (
        in_steam(cycle(1000, 126.7, up_s=3000), colder_by_k=-5.7),
        replace(WRAPPED, band=Band(set_c=126.0), hold_minutes=15.0),
        CHAMBER,
        NOT_MET,
        [
            (
                f"{STEAM.format('5.7', 'above')}: some local codes name 15 psi beside 126 or 127 "
                f"°C, but saturated steam of "
                "15 psi above the air's pressure has 121 °C, so that pair is not judged by"
            )
        ],
    ),
    "a wider tolerance": (
        in_steam(cycle(200), colder_by_k=3.1),
        replace(WRAPPED, saturation_k=3.5),
        CHAMBER,
        MET,
        [
            HELD,
            (
                "the temperature in the chamber was within 3.1 K of that of saturated steam at "
                "the pressure read with it, "
                "and 3.5 K are allowed"
            ),
        ],
    ),
    "a gap that does not matter": (
        without(cycle(400), [(640, 700)]),
        WRAPPED,
        CHAMBER,
        MET,
        ["the temperature in the chamber stayed at 134 to 137 °C for 5 min without a break, and 3 min are needed"],
    ),
    "a gap without which it is too short": (
        without(cycle(300), [(700, 760)]),
        WRAPPED,
        CHAMBER,
        CANNOT_TELL,
        [
            (
                "the temperature in the chamber stayed at 134 to 137 °C for 2.4 min without a "
                "break, and 3 min are needed; "
                "nothing was read from minute 11.7 to 12.7, so it cannot be told"
            )
        ],
    ),
    "a gap that cannot save it": (
        without(cycle(150), [(640, 700)]),
        WRAPPED,
        CHAMBER,
        NOT_MET,
        ["the temperature in the chamber stayed at 134 to 137 °C for 0.9 min without a break, and 3 min are needed"],
    ),
    "readings that end within the hold": (
        curve((0, 20), (600, 135), (720, 135)),
        WRAPPED,
        CHAMBER,
        CANNOT_TELL,
        [
            (
                "the temperature in the chamber stayed at 134 to 137 °C for 2.1 min without a "
                "break, and 3 min are needed; "
                "the readings begin or end within the hold, so it cannot be told"
            )
        ],
    ),
    "readings that begin within the hold": (
        curve((0, 135), (120, 135), (300, 80)),
        WRAPPED,
        CHAMBER,
        CANNOT_TELL,
        [
            (
                "the temperature in the chamber stayed at 134 to 137 °C for 2.1 min without a break, "
                "and 3 min are needed; the readings begin or end within the hold, so it cannot be told"
            )
        ],
    ),
    "enough F0": (
        cycle(200),
        replace(WRAPPED, least_f0=80.0),
        CHAMBER,
        MET,
        [HELD],
    ),
    "too little F0": (
        cycle(200),
        replace(WRAPPED, least_f0=120.0),
        CHAMBER,
        NOT_MET,
        ["F0 in the chamber is 89.9 min, and 120 min are needed"],
    ),
    "F0 that a gap may hide": (
        without(cycle(400), [(640, 700)]),
        replace(WRAPPED, least_f0=150.0),
        CHAMBER,
        CANNOT_TELL,
        [
            (
                "F0 in the chamber is 141 min, and 150 min are needed; nothing was read from "
                "minute 10.7 to 11.7, so it cannot be told"
            )
        ],
    ),
    "F0 that what came later may add to": (
        curve((0, 20), (600, 135), (800, 135)),
        replace(WRAPPED, least_f0=150.0),
        CHAMBER,
        CANNOT_TELL,
        [
            (
                "F0 in the chamber is 91.1 min, and 150 min are needed; "
                "the readings begin or end within the hold, so it cannot be told"
            )
        ],
    ),
    "a peak that is over before it could settle": (
        curve((0, 30), (100, 130), (102, 138), (104, 130), (300, 30)),
        WRAPPED,
        CHAMBER,
        NOT_MET,
        ["the temperature in the chamber stayed at 134 to 137 °C for 0.01 min without a break, and 3 min are needed"],
    ),
    "a probe at an unknown place": (
        cycle(200),
        WRAPPED,
        UNKNOWN,
        MET,
        [
            (
                "the temperature at a place that is not known stayed at 134 to 137 °C for 3.4 min without a break, "
                "and 3 min are needed"
            )
        ],
    ),
    "wrapped goods and a reference tube": (
        cycle(200),
        WRAPPED,
        TUBE,
        CANNOT_TELL,
        [
            (
                "programme ours is for wrapped goods and never judges a liquid, and the "
                "temperature was read in the reference tube"
            )
        ],
    ),
    "a liquid held in its tube": (
        in_steam(cycle(1000, 122), colder_by_k=6),
        LIQUID,
        TUBE,
        MET,
        [
            (
                "the temperature in the reference tube stayed at 121 to 124 °C for 16.9 min without a break, "
                "and 15 min are needed"
            )
        ],
    ),
    "a liquid held too short": (
        cycle(600, 122),
        LIQUID,
        TUBE,
        NOT_MET,
        [
            (
                "the temperature in the reference tube stayed at 121 to 124 °C for 10.2 min without a break, "
                "and 15 min are needed"
            )
        ],
    ),
    "a liquid and a hot chamber": (
        cycle(1000, 125),
        LIQUID,
        CHAMBER,
        CANNOT_TELL,
        [INSIDE.format("in the chamber")],
    ),
    "a liquid and a chamber that was not hot for long enough": (
        cycle(600, 125),
        LIQUID,
        CHAMBER,
        NOT_MET,
        [
            (
                "the temperature in the chamber stayed at 121 °C or more for 10.8 min without a "
                "break, and 15 min are needed"
            ),
            INSIDE.format("in the chamber"),
        ],
    ),
    "a liquid and an unknown place": (
        cycle(60, 110),
        LIQUID,
        UNKNOWN,
        CANNOT_TELL,
        [INSIDE.format("at a place that is not known")],
    ),
}


def judged(
    readings: Readings,
    programme: Programme | None = WRAPPED,
    probe: ProbePlace = CHAMBER,
    *,
    probe_error_k: float | None = None,
    reference_c: float = 121.1,
    z_k: float = 10.0,
    goods: Goods | None = None,
) -> CycleFindings:
    return judge(
        readings,
        programme=programme,
        probe=probe,
        probe_error_k=probe_error_k,
        reference_c=reference_c,
        z_k=z_k,
        goods=goods,
    )


@pytest.mark.parametrize("name", ROWS)
def test_every_rule_has_its_verdict_and_its_sentences(name):
    readings, programme, probe, verdict, reasons = ROWS[name]
    found = judged(readings, programme, probe)
    assert (found.verdict, list(found.reasons)) == (verdict, reasons)


@pytest.mark.parametrize("name", ROWS)
def test_no_word_says_that_anything_is_free_of_germs_and_every_reason_says_where_the_probe_was(name):
    readings, programme, probe, _, _ = ROWS[name]
    found = judged(readings, programme, probe)
    assert "sterile" not in " ".join((*found.reasons, *found.notes))
    place = {CHAMBER: "chamber", TUBE: "in the reference tube", UNKNOWN: "at a place that is not known"}[probe]
    assert all(place in reason for reason in found.reasons)
    assert found.notes[-2:] == (
        "a chemical indicator shows exposure only, and readings show the place of the probe only",
        "local codes and the instructions of the steriliser's maker come first",
    )


ERROR_ROWS = [
    (cycle(200, 135.5), 0.5, 0.0, MET, []),
    (cycle(200, 134.4), 0.5, 0.0, CANNOT_TELL, ["every reading may be wrong by 0.5 K, so it cannot be told"]),
    (cycle(200, 134.4), 0.1, 0.0, MET, []),
    (cycle(200, 134.4), 0.1, 1.0, CANNOT_TELL, ["every reading may be wrong by 0.6 K, so it cannot be told"]),
    (cycle(200, 133.6), 0.5, 0.0, CANNOT_TELL, ["every reading may be wrong by 0.5 K, so it cannot be told"]),
    (cycle(200, 133.4), 0.5, 0.0, NOT_MET, [""]),
    (cycle(200, 136.6), 0.5, 0.0, CANNOT_TELL, ["every reading may be wrong by 0.5 K, so it cannot be told"] * 2),
]


@pytest.mark.parametrize(("readings", "error_k", "step_k", "verdict", "endings"), ERROR_ROWS)
def test_a_stated_probe_error_decides_by_the_interval(readings, error_k, step_k, verdict, endings):
    found = judged(replace(readings, step_k=step_k), probe_error_k=error_k)
    assert found.verdict is verdict
    if verdict is not MET:
        assert [one.partition("; ")[2] for one in found.reasons] == endings


def test_an_assumed_probe_error_decides_nothing():
    found = judged(cycle(200, 134.1))
    assert (found.verdict, found.probe_error_k, found.is_error_assumed) == (MET, 0.5, True)
    assert found.plateau.hold_interval[0] == 0.0
    assert not judged(cycle(200), probe_error_k=0.5).is_error_assumed


def test_a_stated_probe_error_counts_for_the_steam_too():
    read = in_steam(cycle(200, 135.5), colder_by_k=1.7)
    assert judged(read).verdict is MET
    assert judged(read, probe_error_k=0.2).verdict is MET
    assert judged(read, probe_error_k=0.4).verdict is CANNOT_TELL
    assert judged(in_steam(cycle(200, 135.5), colder_by_k=2.5), probe_error_k=0.4).verdict is NOT_MET


def test_a_stated_probe_error_counts_for_f0_too():
    programme = replace(WRAPPED, least_f0=110.0)  # F0 is 112.9 at 135.5, and an error of 0.5 K makes it 100.6 to 126.7
    assert judged(cycle(200, 135.5), programme).verdict is MET
    assert judged(cycle(200, 135.5), programme, probe_error_k=0.05).verdict is MET
    assert judged(cycle(200, 135.5), programme, probe_error_k=0.5).verdict is CANNOT_TELL
    assert judged(cycle(200, 135.5), replace(programme, least_f0=120.0), probe_error_k=0.5).verdict is CANNOT_TELL
    assert judged(cycle(200, 135.5), replace(programme, least_f0=130.0), probe_error_k=0.5).verdict is NOT_MET


@pytest.mark.parametrize(
    ("goods", "programme", "probe", "verdict"),
    [
        (Goods.WRAPPED, WRAPPED, CHAMBER, MET),
        (Goods.LIQUID, WRAPPED, CHAMBER, CANNOT_TELL),
        (Goods.UNWRAPPED, WRAPPED, CHAMBER, CANNOT_TELL),
        (Goods.WRAPPED, LIQUID, TUBE, CANNOT_TELL),
        (Goods.LIQUID, LIQUID, TUBE, MET),
    ],
)
def test_a_programme_judges_its_own_goods_only(goods, programme, probe, verdict):
    read = cycle(1000, programme.band.set_c + 0.5)
    found = judged(read, programme, probe, goods=goods)
    assert found.verdict is verdict
    if verdict is CANNOT_TELL:
        place = "in the chamber" if probe is CHAMBER else "in the reference tube"
        assert found.reasons == (
            (
                f"programme {programme.name} is for {programme.goods} goods and never judges {goods} ones, "
                f"wherever the probe was ({place})"
            ),
        )


NOTES = {
    "no pressure": (
        cycle(200),
        WRAPPED,
        CHAMBER,
        ["no pressure was read during the plateau: air and superheated steam could not be looked for"],
    ),
    "unknown place": (
        in_steam(cycle(200)),
        WRAPPED,
        UNKNOWN,
        ["where the probe was is not known; it is taken to have been in the chamber"],
    ),
    "gap": (
        without(in_steam(cycle(400)), [(640, 700), (900, 930)]),
        WRAPPED,
        CHAMBER,
        [("nothing was read from minute 10.7 to 11.7, minute 15.0 to 15.5: hold and F0 are counted without it")],
    ),
    "sparse": (
        in_steam(cycle(300, every_s=100)),
        WRAPPED,
        CHAMBER,
        ["readings of the hold are up to 100 s apart: between them the curve is taken for straight"],
    ),
    "no cooling": (
        in_steam(curve((0, 20), (600, 135), (900, 135))),
        WRAPPED,
        CHAMBER,
        ["the readings end within the hold: no cooling was seen"],
    ),
    "drying and cautions": (
        in_steam(cycle(200)),
        replace(WRAPPED, drying_minutes=20.0, cautions=("load on edge",)),
        CHAMBER,
        ["the programme has 20 min of drying at least, which readings do not show", "load on edge"],
    ),
    "liquid": (
        in_steam(cycle(1000, 122)),
        LIQUID,
        TUBE,
        ["temperature and pressure are not held against each other: a liquid follows the steam later"],
    ),
    "no programme, air": (
        in_steam(cycle(200), colder_by_k=3.0),
        None,
        CHAMBER,
        ["during the plateau it was 3 K colder than saturated steam at the pressure read with it"],
    ),
    "two cycles in one file": (
        in_steam(curve((0, 20), (600, 135), (700, 135), (1000, 60), (1600, 135), (1900, 135), (2200, 60))),
        WRAPPED,
        CHAMBER,
        [
            (
                "the temperature came up to 134 °C 2 times and fell below 100 °C in between: the longest hold is "
                "judged and F0 counts all; if these are several cycles, judge each by itself"
            )
        ],
    ),
    "a peak of seconds, as a pulse of steam that drives out air": (
        in_steam(curve((0, 20), (600, 134), (620, 135), (660, 80), (1200, 135), (1500, 135), (1800, 60))),
        WRAPPED,
        CHAMBER,
        [],
    ),
    "a dip that is no end of a cycle": (
        in_steam(curve((0, 20), (600, 135), (700, 135), (900, 110), (1200, 135), (1500, 135), (1800, 60))),
        replace(WRAPPED, equilibration_s=None),
        CHAMBER,
        [],
    ),
    "nothing": (in_steam(cycle(200)), WRAPPED, CHAMBER, []),
}


@pytest.mark.parametrize("name", NOTES)
def test_what_else_is_to_be_looked_at_is_noted(name):
    readings, programme, probe, notes = NOTES[name]
    assert list(judged(readings, programme, probe).notes[:-2]) == notes


def test_without_a_programme_all_is_computed_and_nothing_judged():
    found = judged(in_steam(cycle(200)), None)
    assert (found.verdict, found.programme) == (None, None)
    assert found.reasons == (
        (
            "no programme was named, so nothing is judged: "
            "the temperature in the chamber stayed at 134 to 137 °C for 3.4 min without a break"
        ),
    )
    assert found.plateau.hold_minutes == pytest.approx(3.42, abs=0.01)
    assert found.saturation.worst_difference_k == pytest.approx(0, abs=1e-6)
    cold = judged(curve((0, 20), (600, 90), (900, 20)), None)
    assert (cold.plateau, cold.saturation) == (None, None)
    assert cold.reasons == (
        "no programme was named, and the temperature in the chamber was held nowhere for a minute in steam",
    )


def test_f0_is_told_with_its_reference_and_z():
    found = judged(cycle(200), reference_c=121.0, z_k=12.0)
    assert (found.lethality.reference_c, found.lethality.z_k) == (121.0, 12.0)
    assert found.lethality.f0 != judged(cycle(200)).lethality.f0


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"probe_error_k": -0.1}, "a probe error of -0.1; expected a number from 0 to 50; correct it"),
        ({"probe_error_k": float("nan")}, "a probe error of nan; expected a number from 0 to 50; correct it"),
        ({"z_k": 0.0}, "a z value of 0; expected a number from 1 to 100; correct it"),
        (
            {"reference_c": 250.0},
            "a reference temperature in degrees Celsius of 250; expected a number from 50 to 200; correct it",
        ),
    ],
)
def test_numbers_that_cannot_be_meant_are_refused(more, sentence):
    with pytest.raises(InputError) as caught:
        judged(cycle(200), **more)
    assert str(caught.value) == sentence


def test_no_readings_are_refused():
    with pytest.raises(InputError) as caught:
        judged(Readings(seconds=np.array([]), celsius=np.array([])))
    assert str(caught.value) == "no readings; expected one reading at least; give the log of the whole cycle"


@st.composite
def _cycles(draw) -> tuple[tuple[float, float], ...]:
    """Corners of a cycle that comes up, is held with slow changes around a level, and cools down."""
    level = draw(st.floats(133.0, 135.5))  # with an error of 1 K and 0.4 K of change still within the band
    up, down = draw(st.floats(60, 1200)), draw(st.floats(30, 900))
    corners, at = [(0.0, 20.0), (up, level)], up
    for minutes, by in draw(st.lists(st.tuples(st.floats(0.2, 3), st.floats(-0.4, 0.4)), min_size=1, max_size=5)):
        at += 60 * minutes
        corners.append((at, level + by))
    return (*corners, (at + down, 60.0))


_RANK = {NOT_MET: 0, CANNOT_TELL: 1, MET: 2}


def _is_sound(found: CycleFindings) -> bool:
    low, high = found.lethality.interval
    held = found.plateau
    return low <= found.lethality.f0 <= high and (
        held is None or held.hold_interval[0] <= held.hold_minutes <= held.hold_interval[1]
    )


@given(
    corners=_cycles(),
    rise=st.floats(0, 2),
    longer=st.floats(0, 600),
    error=st.one_of(st.none(), st.floats(0, 1)),
    f0=st.one_of(st.none(), st.floats(10, 200)),
    gap=st.one_of(st.none(), st.tuples(st.floats(0.1, 0.8), st.floats(5, 120))),
)
@settings(deadline=None, max_examples=150)
def test_more_heat_within_the_band_never_makes_a_verdict_worse(corners, rise, longer, error, f0, gap):
    """All readings higher, and the hold longer, by what keeps them within the band; "
    "no rule on wavering, which may."""
    programme = replace(WRAPPED, equilibration_s=None, least_f0=f0)
    most = max(celsius for _, celsius in corners)
    rise = min(rise, max(0.0, 137.0 - (error or 0.0) - most))
    last, tail = corners[-2], corners[-1]
    hotter = [(at, celsius + rise) for at, celsius in corners[:-1]]
    hotter += [(last[0] + longer, last[1] + rise), (tail[0] + longer, tail[1] + rise)]
    reads = [curve(*corners, every_s=2), curve(*hotter, every_s=2)]
    if gap is not None:
        start = gap[0] * last[0]
        reads = [without(read, [(start, min(start + gap[1], tail[0] - 2))]) for read in reads]
    before, after = (judged(read, programme, probe_error_k=error) for read in reads)
    assert _is_sound(before)
    assert _is_sound(after)
    assert _RANK[after.verdict] >= _RANK[before.verdict]
