"""The judge: readings and a programme in; everything computed, a verdict and its reasons out.

The verdict is on the values as read. If somebody stated the probe's error, it is on the interval: met only if it is
met at its worst end, not met only if it is not at its best. What nobody saw is treated alike: a hold that suffices
without it is met, one that would suffice only with it cannot be told.

No verdict says that anything is free of germs: it says whether readings meet a programme, and where the probe was.
"""

from collections.abc import Iterator
from dataclasses import replace
from math import isfinite
from typing import Final

import numpy as np

from tracelabels.custody import Goods, ProbePlace, ReadingsVerdict
from tracelabels.cycles.case import Case
from tracelabels.cycles.findings import CycleFindings, Plateau, Saturation, Suspicion
from tracelabels.cycles.gaps import name_wide_steps
from tracelabels.cycles.lethality import REFERENCE_C, Z_K, compute_lethality
from tracelabels.cycles.plateau import LEAST_PLATEAU_MINUTES, LEAST_STEAM_C, find_plateau, find_steam, infer_band
from tracelabels.cycles.programme import Band, Programme
from tracelabels.cycles.readings import Readings
from tracelabels.cycles.rules import HOLD, RULES, say_agreement, say_doubt
from tracelabels.cycles.saturation import find_saturation
from tracelabels.cycles.stretches import count_peaks
from tracelabels.cycles.wording import PLACES, band_in_words, plain, spans_in_words
from tracelabels.errors import InputError

ASSUMED_PROBE_ERROR_K: Final = 0.5
"""Taken for the intervals where nobody stated the probe's error (our choice)."""
USUAL_SATURATION_K: Final = 2.0
"""How far temperature and steam may be apart where no programme says so."""
SPARSE_S: Final = 60.0
"""Readings further apart during the hold are said to be so (our choice)."""
CAUTIONS: Final = (
    "a chemical indicator shows exposure only, and readings show the place of the probe only",
    "local codes and the instructions of the steriliser's maker come first",
)


def judge(
    readings: Readings,
    *,
    programme: Programme | None,
    probe: ProbePlace,
    probe_error_k: float | None = None,
    reference_c: float = REFERENCE_C,
    z_k: float = Z_K,
    goods: Goods | None = None,
) -> CycleFindings:
    """Compute and judge one cycle.

    Args:
        readings: what was read.
        programme: what it is judged by; None to compute only.
        probe: where the temperature was measured.
        probe_error_k: by how much the probe may be wrong, in kelvin, if somebody stated it; None: assumed for the
            intervals, and left out of the verdict.
        reference_c: reference temperature of F0 in degrees Celsius.
        z_k: temperature rise that kills ten times as fast, in kelvin.
        goods: what the load holds; None if that is not known.

    Raises:
        InputError: there are no readings, or a number is none that can be meant.
    """
    _require_sense(readings, probe_error_k=probe_error_k, reference_c=reference_c, z_k=z_k)
    readings = readings if programme is None else name_wide_steps(readings, programme)
    probe_k = ASSUMED_PROBE_ERROR_K if probe_error_k is None else probe_error_k
    found = _compute(readings, programme, probe, probe_k=probe_k, reference_c=reference_c, z_k=z_k)
    found = replace(found, is_error_assumed=probe_error_k is None)
    if programme is None:
        return found
    verdict, reasons = _verdict(_case(readings, programme, found), goods)
    return replace(found, verdict=verdict, reasons=reasons)


def _compute(
    readings: Readings,
    programme: Programme | None,
    probe: ProbePlace,
    *,
    probe_k: float,
    reference_c: float,
    z_k: float,
) -> CycleFindings:
    """Compute everything but a verdict."""
    error_k = probe_k + readings.step_k / 2
    band = infer_band(readings) if programme is None else programme.band
    plateau = None if band is None else find_plateau(readings, band, error_k=error_k)
    steam = find_steam(readings, band)
    tolerance_k = USUAL_SATURATION_K if programme is None else programme.saturation_k
    saturation = None if steam is None else find_saturation(readings, steam, tolerance_k=tolerance_k)
    return CycleFindings(
        lethality=compute_lethality(readings, error_k=error_k, reference_c=reference_c, z_k=z_k),
        plateau=plateau,
        saturation=saturation,
        programme=programme,
        probe=probe,
        probe_error_k=probe_k,
        verdict=None,
        reasons=(_say_without_programme(band, plateau, probe),),
        notes=tuple(_notes(readings, programme, plateau, saturation, probe)),
    )


def _case(readings: Readings, programme: Programme, found: CycleFindings) -> Case:
    return Case(
        readings=readings,
        programme=programme,
        probe=found.probe,
        error_k=None if found.is_error_assumed else found.probe_error_k + readings.step_k / 2,
        reference_c=found.lethality.reference_c,
        z_k=found.lethality.z_k,
        plateau=found.plateau,
        saturation=None if programme.goods is Goods.LIQUID else found.saturation,
    )


def _verdict(case: Case, goods: Goods | None) -> tuple[ReadingsVerdict, tuple[str, ...]]:
    unfit = _unfit(case, goods)
    if unfit is not None:
        return _verdict_where_unfit(case, unfit)
    worst = [rule for rule in RULES if not rule.is_kept(case, case.worst)]
    broken = [rule for rule in worst if not rule.is_kept(case, case.best)]
    doubtful = [rule for rule in worst if rule not in broken]
    if not worst:
        told = (HOLD.say(case),) if case.saturation is None else (HOLD.say(case), say_agreement(case))
        return ReadingsVerdict.MET, told
    said = *(rule.say(case) for rule in broken), *(say_doubt(case, rule) for rule in doubtful)
    return ReadingsVerdict.NOT_MET if broken else ReadingsVerdict.CANNOT_TELL, said


def _verdict_where_unfit(case: Case, unfit: str) -> tuple[ReadingsVerdict, tuple[str, ...]]:
    """Return cannot tell; or not met, if a chamber was not even hot for long enough for the liquid in it."""
    if case.programme.goods is Goods.LIQUID and case.probe is ProbePlace.CHAMBER:
        no_limit = replace(case.programme, band=Band(set_c=case.programme.band.set_c))
        chamber = replace(case, programme=no_limit)
        if not HOLD.is_kept(chamber, chamber.best):
            return ReadingsVerdict.NOT_MET, (HOLD.say(chamber), unfit)
    return ReadingsVerdict.CANNOT_TELL, (unfit,)


def _unfit(case: Case, goods: Goods | None) -> str | None:
    """Return why these readings cannot show that the programme is met, whatever they are; None if they can."""
    programme, place = case.programme, PLACES[case.probe]
    if goods is not None and goods is not programme.goods:
        return (
            f"programme {programme.name} is for {programme.goods} goods and never judges {goods} ones, "
            f"wherever the probe was ({place})"
        )
    if programme.goods is not Goods.LIQUID:
        if case.probe is not ProbePlace.REFERENCE_TUBE:
            return None
        return (
            f"programme {programme.name} is for {programme.goods} goods and never judges a liquid, "
            f"and the temperature was read {place}"
        )
    if case.probe is ProbePlace.REFERENCE_TUBE:
        return None
    return (
        f"what was read {place} says nothing of the inside of a filled tube: "
        "that takes a probe in a reference tube of the same fill"
    )


def _say_without_programme(band: Band | None, plateau: Plateau | None, probe: ProbePlace) -> str:
    if band is None or plateau is None:
        return f"no programme was named, and the temperature {PLACES[probe]} was held nowhere for a minute in steam"
    return (
        f"no programme was named, so nothing is judged: the temperature {PLACES[probe]} stayed at "
        f"{band_in_words(band)} for {plain(plateau.hold_minutes)} min without a break"
    )


def _notes(
    readings: Readings,
    programme: Programme | None,
    plateau: Plateau | None,
    saturation: Saturation | None,
    probe: ProbePlace,
) -> Iterator[str]:
    if probe is ProbePlace.UNKNOWN and (programme is None or programme.goods is not Goods.LIQUID):
        yield "where the probe was is not known; it is taken to have been in the chamber"
    yield from _notes_on_readings(readings, plateau)
    yield from () if programme is None else _note_on_peaks(readings, programme)
    yield from _notes_on_steam(programme, saturation)
    if programme is not None and programme.drying_minutes is not None:
        yield f"the programme has {plain(programme.drying_minutes)} min of drying at least, which readings do not show"
    yield from () if programme is None else programme.cautions
    yield from CAUTIONS


def _notes_on_readings(readings: Readings, plateau: Plateau | None) -> Iterator[str]:
    if readings.gaps:
        yield f"nothing was read from {spans_in_words(readings.gaps)}: hold and F0 are counted without it"
    if plateau is None:
        return
    inside = (readings.seconds >= plateau.span.start_s) & (readings.seconds <= plateau.span.end_s)
    steps = np.diff(readings.seconds[inside])
    if len(steps) and steps.max() > SPARSE_S:
        apart = plain(float(steps.max()))
        yield f"readings of the hold are up to {apart} s apart: between them the curve is taken for straight"
    if plateau.cooling_s == 0:
        yield "the readings end within the hold: no cooling was seen"


def _note_on_peaks(readings: Readings, programme: Programme) -> Iterator[str]:
    """Two cycles in one file may be those of two loads, and one of them may have failed."""
    set_c = programme.band.set_c
    peaks = count_peaks(readings, least_c=set_c, fallen_c=LEAST_STEAM_C, minutes=LEAST_PLATEAU_MINUTES)
    if peaks > 1:
        yield (
            f"the temperature came up to {plain(set_c)} °C {peaks} times and fell below {plain(LEAST_STEAM_C)} °C in "
            "between: the longest hold is judged and F0 counts all; if these are several cycles, judge each by itself"
        )


def _notes_on_steam(programme: Programme | None, saturation: Saturation | None) -> Iterator[str]:
    if programme is not None and programme.goods is Goods.LIQUID:
        yield "temperature and pressure are not held against each other: a liquid follows the steam later"
    elif saturation is None:
        yield "no pressure was read during the plateau: air and superheated steam could not be looked for"
    elif programme is None and saturation.suspicion is not Suspicion.NONE:
        side = "colder" if saturation.worst_difference_k < 0 else "hotter"
        worst = plain(abs(saturation.worst_difference_k))
        yield f"during the plateau it was {worst} K {side} than saturated steam at the pressure read with it"


def _require_sense(readings: Readings, *, probe_error_k: float | None, reference_c: float, z_k: float) -> None:
    if not len(readings.seconds):
        raise InputError(given="no readings", expected="one reading at least", remedy="give the log of the whole cycle")
    numbers = (
        ("a probe error", 0.0 if probe_error_k is None else probe_error_k, 0.0, 50.0),
        ("a reference temperature in degrees Celsius", reference_c, 50.0, 200.0),
        ("a z value", z_k, 1.0, 100.0),
    )
    for what, value, least, greatest in numbers:
        if not (isfinite(value) and least <= value <= greatest):
            raise InputError(
                given=f"{what} of {value:g}", expected=f"a number from {least:g} to {greatest:g}", remedy="correct it"
            )
