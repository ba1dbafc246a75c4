"""Two hundred logs whose truth was fixed before they were read, through reading and judging as a practice does it.

The judge knows the published numbers, the physics of a chamber and what a careful person would say of a curve; how logs
are read and judged it does not know. Every unambiguous log must get its verdict; of a doubtful one nothing may be said
that is the opposite of the truth. Seed B was drawn when all else was finished: 181 of its 182 unambiguous logs got
their verdict at once, and one showed that a gap in a swinging hold was taken for a clock that was set.
"""

from collections import Counter

import pytest
from steriliser_scenarios import V134_LONG, V134_SMALL
from steriliser_truth import Trial, trials

from tracelabels.custody import ProbePlace
from tracelabels.workflows.judge_log import LogOrder, judge_log, programme_here
from tracelabels.workflows.new_practice import make_practice

SEED_B = 71_204_117
OTHER_SEEDS = tuple(range(9_001, 9_011))
OWN = """
title = "Wrapped goods, 134 °C for {minutes:g} min"
goods = "wrapped"
cycle_kinds = ["air_removal"]
source = "our steriliser's handbook (invented)"
[band]
set_c = 134
above_k = 3
[hold]
minutes = {minutes}
equilibration_s = 15
"""


@pytest.fixture(scope="session")
def practice(tmp_path_factory):
    """A practice with programmes of its own, beside those that are shipped."""
    folder = tmp_path_factory.mktemp("practice")
    make_practice(folder, name="Tidewater Restorative")
    programmes = folder / "templates" / "programmes"
    programmes.mkdir(parents=True, exist_ok=True)
    for ask in (V134_SMALL, V134_LONG):
        (programmes / f"{ask.programme}.toml").write_text(OWN.format(minutes=ask.hold_minutes), encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def judged(practice):
    """Judge all logs of a seed."""

    def run(seed: int):
        return [(trial, _judge(trial, practice)) for trial in trials(seed)]

    return run


def _judge(trial: Trial, practice):
    programme = programme_here(trial.scenario.judged_by.programme, practice)
    probe = ProbePlace.CHAMBER if trial.scenario.probe == "chamber" else ProbePlace.REFERENCE_TUBE
    name = f"{trial.number}.csv"
    return judge_log(trial.content, name=name, order=LogOrder(probe=probe), programme=programme).findings


@pytest.fixture(scope="session")
def seed_b(judged):
    return judged(SEED_B)


def _disagreements(pairs):
    return [
        (trial.number, trial.scenario.family, trial.scenario.ask.name, trial.truth.reason, str(findings.verdict))
        for trial, findings in pairs
        if findings.verdict not in trial.truth.allowed
    ]


def test_every_clear_truth_is_what_its_family_was_made_for(seed_b):
    wrong = [
        (trial.number, trial.scenario.family, trial.truth.expected)
        for trial, _ in seed_b
        if trial.scenario.intended and trial.truth.is_unambiguous
        if trial.truth.expected != trial.scenario.intended
    ]
    assert wrong == []


def test_of_two_hundred_logs_hardly_any_leaves_room_for_doubt(seed_b):
    clear = Counter(trial.truth.expected for trial, _ in seed_b if trial.truth.is_unambiguous)
    assert (len(seed_b), clear.total() >= 170, clear["cannot_tell"] <= 10) == (200, True, True)
    assert min(clear["met"], clear["not_met"]) >= 60


def test_no_clear_good_truth_hides_a_load_that_was_not_held(seed_b):
    """What is to be called met was so in the chamber itself, not only at a probe that is a little off."""
    for trial, _ in seed_b:
        if trial.truth.is_unambiguous and trial.truth.expected == "met":
            course, ask = trial.course, trial.scenario.judged_by
            truly = course.liquid_c if trial.scenario.probe == "reference-tube" else course.chamber_c
            assert (truly >= ask.set_c).sum() >= ask.hold_minutes * 60, trial.number


def test_the_programmes_ask_what_is_published(practice, seed_b):
    for ask in {trial.scenario.judged_by for trial, _ in seed_b}:
        programme = programme_here(ask.programme, practice)
        asked = programme.band.set_c, programme.band.above_k, programme.hold_minutes, programme.equilibration_s
        assert asked == (ask.set_c, ask.above_k, ask.hold_minutes, ask.equilibration_s)


def test_every_log_gets_the_verdict_of_its_truth(seed_b):
    assert _disagreements(seed_b) == []


def test_every_verdict_says_why_and_where_the_probe_was(seed_b):
    for trial, findings in seed_b:
        place = "reference tube" if trial.scenario.probe == "reference-tube" else "chamber"
        assert place in " ".join(findings.reasons), trial.number
        assert "sterile" not in " ".join((*findings.reasons, *findings.notes)).lower(), trial.number


def test_f0_and_hold_are_those_of_the_true_curve(seed_b):
    """Within what the interval between readings, the steps that they are written in and the noise can hide."""
    off = []
    for trial, findings in seed_b:
        truth = trial.truth
        if not truth.is_whole:
            continue
        if findings.lethality.f0 != pytest.approx(truth.f0, abs=truth.f0_tolerance):
            off.append((trial.number, trial.scenario.family, findings.lethality.f0, truth.f0, truth.f0_tolerance))
        held = 0.0 if findings.plateau is None else findings.plateau.hold_minutes
        if truth.is_unambiguous and not truth.hold_between[0] <= held <= truth.hold_between[1]:
            off.append((trial.number, trial.scenario.family, held, truth.hold_between))
    assert off == []


@pytest.mark.long
@pytest.mark.parametrize("seed", OTHER_SEEDS)
def test_every_log_of_other_seeds_gets_the_verdict_of_its_truth(judged, seed):
    pairs = judged(seed)
    clear = Counter(trial.truth.expected for trial, _ in pairs if trial.truth.is_unambiguous)
    print(seed, dict(clear))
    assert (_disagreements(pairs), clear.total() >= 170) == ([], True)
