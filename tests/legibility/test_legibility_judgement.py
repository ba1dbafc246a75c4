"""Margins, the joint sample and the verdict."""

from dataclasses import replace

import numpy as np
import pytest
from legibility_subjects import label_of

from tracelabels.identifiers import IdentifierMode, Payload
from tracelabels.legibility import judgement, margins
from tracelabels.legibility.condition import FACTORS, Condition
from tracelabels.legibility.envelope import Envelope, Span, envelope_at
from tracelabels.legibility.findings import Legibility
from tracelabels.legibility.joint import joint_of
from tracelabels.legibility.judgement import QUICK_FACTORS, judge, predict, verdict_of, worst_picture
from tracelabels.legibility.margins import FULL, Depth, Margin, find_margin
from tracelabels.legibility.specimen import specimen_of
from tracelabels.legibility.trial import Outcome
from tracelabels.legibility.wording import find_weakest, in_words, sentence_of
from tracelabels.lengths import Mm
from tracelabels.symbols import DataMatrixShape, TubeAxis, read_symbols, write_data_matrix

EASY = Condition(px_per_mm=24.0, turn=0.0)


def _label(shape="12x26", *, x=4, tube=Mm(10.8)):
    payload = Payload(text="A1234", fnc1_first=False, mode=IdentifierMode.IN_HOUSE)
    symbol = write_data_matrix(payload, shape=DataMatrixShape(shape))
    return label_of(symbol, x=x, rim=3 * x, tube=tube, axis=TubeAxis.WIDTH if tube else None)


def _factor(name):
    return next(factor for factor in FACTORS if factor.name == name)


@pytest.fixture
def reads_until(monkeypatch):
    """Replaces the simulated trials by a rule, so that the search can be compared with the truth."""

    def install(rule):
        monkeypatch.setattr(
            margins,
            "try_reading",
            lambda _specimen, condition, rng: Outcome.READ if rule(condition, rng) else Outcome.UNREAD,
        )

    return install


@pytest.mark.parametrize(
    ("name", "usual", "edge"),
    [("px_per_mm", 20.0, 7.3), ("glare", 0.0, 0.137), ("stock", 0.85, 0.31), ("dead_lines", 0.0, 2.0)],
)
def test_the_search_encloses_a_known_edge(reads_until, name, usual, edge):
    factor = _factor(name)
    reads_until(lambda condition, _: (edge - condition.value(name)) * factor.direction >= 0.0)
    span = Span(nominal=usual, limit=usual)
    found = find_margin(specimen_of(_label()), Condition(), factor, span, depth=FULL, seed=1)
    assert (edge - found.reads_to) * factor.direction >= 0.0
    assert (found.fails_at - edge) * factor.direction > 0.0
    # The bracket doubles on the way out and is then halved four times.
    assert abs(found.fails_at - found.reads_to) <= max(1.0 * factor.is_whole, abs(edge - usual) / 8)


def test_the_edge_of_a_soft_fall_is_where_half_of_the_trials_read(reads_until):
    reads_until(lambda condition, rng: rng.random() < 1.0 - condition.glare / 0.4)
    span = Span(nominal=0.0, limit=0.01)
    found = find_margin(
        specimen_of(_label()), Condition(), _factor("glare"), span, depth=Depth(seeds=400, halvings=5), seed=1
    )
    assert found.reads_to == pytest.approx(0.2, abs=0.02)
    assert found.room == pytest.approx((found.fails_at - 0.01) / 0.01)


def test_what_does_not_even_read_as_usual_fails_there_and_what_always_reads_has_no_edge(reads_until):
    span = Span(nominal=0.0, limit=0.01)
    reads_until(lambda *_: False)
    none = find_margin(specimen_of(_label()), Condition(), _factor("glare"), span, depth=FULL, seed=1)
    assert (none.reads_to, none.fails_at, none.room, none.reads_as_usual) == (None, 0.0, None, False)
    reads_until(lambda *_: True)
    all_ = find_margin(specimen_of(_label()), Condition(), _factor("glare"), span, depth=FULL, seed=1)
    assert (all_.reads_to, all_.fails_at, all_.room, all_.reads_as_usual) == (0.6, None, None, True)


def test_what_does_not_read_as_usual_is_sought_among_better_values(reads_until):
    reads_until(lambda condition, _: condition.px_per_mm >= 17.0)
    usual = Condition(px_per_mm=9.0)
    found = find_margin(
        specimen_of(_label()), usual, _factor("px_per_mm"), Span(nominal=9.0, limit=8.0), depth=FULL, seed=1
    )
    assert 17.0 <= found.reads_to < 18.0
    assert 16.0 < found.fails_at < 17.0
    assert found.room < -7.0
    assert not found.reads_as_usual


def _joint(read, trials, wrong=0):
    outcomes = [Outcome.READ] * read + [Outcome.WRONG] * wrong
    return joint_of(outcomes + [Outcome.UNREAD] * (trials - len(outcomes)))


@pytest.mark.parametrize(
    ("plain", "strained", "verdict"),
    [
        (_joint(160, 160), _joint(80, 80), Legibility.PASS),
        (_joint(159, 160, wrong=1), _joint(80, 80), Legibility.WARN),
        (_joint(159, 160), _joint(77, 80), Legibility.PASS),
        (_joint(158, 160), _joint(77, 80), Legibility.WARN),
        (_joint(39, 40), _joint(40, 40), Legibility.PASS),
        (_joint(39, 40), _joint(39, 40), Legibility.WARN),
        (_joint(141, 160), _joint(0, 80), Legibility.WARN),
        (_joint(140, 160), _joint(0, 80), Legibility.FAIL),
        (_joint(0, 160), _joint(0, 80), Legibility.FAIL),
    ],
)
def test_the_verdict_follows_from_the_two_samples(plain, strained, verdict):
    assert verdict_of(plain, strained) is verdict


@pytest.mark.parametrize(
    ("condition", "verdict"),
    [
        (EASY, Legibility.PASS),
        (replace(EASY, px_per_mm=3.0), Legibility.FAIL),
        (replace(EASY, glare=0.5), Legibility.FAIL),
        (replace(EASY, ink=0.84), Legibility.FAIL),
    ],
)
def test_clear_cases_are_called_what_they_are(condition, verdict):
    assert predict(_label(), condition, seed=3) is verdict


def test_a_quick_judgement_tells_progress_is_repeatable_and_says_what_it_tried():
    steps = []
    label = _label()
    first = judge(label, Envelope(), seed=5, quick=True, progress=lambda done, total: steps.append((done, total)))
    assert steps == [(number, steps[0][1]) for number in range(1, steps[0][1] + 1)]
    assert judge(label, Envelope(), seed=5, quick=True) == first
    assert {margin.factor for margin in first.margins} == QUICK_FACTORS
    assert first.is_quick
    assert first.sentence.startswith("reads to ")
    assert first.findings[0].measured.startswith("simulated: ")


def test_more_than_the_label_can_bear_is_a_fail_that_names_its_cause():
    far = envelope_at(replace(EASY, px_per_mm=4.0))
    found = judge(_label(), far, seed=1, quick=True)
    assert found.verdict is Legibility.FAIL
    assert found.findings[0].verdict is Legibility.FAIL
    assert found.findings[0].fix
    assert "margin_px_per_mm" in [finding.rule for finding in found.findings]
    assert found.sentence.startswith("does not read as usual; would read with pixels per mm at ")


def test_the_film_is_tried_on_flat_labels_only(monkeypatch):
    monkeypatch.setattr(judgement, "THOROUGH", replace(judgement.HASTY, factors=frozenset({"buckle", "glare"})))
    round_ = judge(_label(), Envelope(), seed=1)
    flat = judge(_label(tube=None), Envelope(), seed=1)
    assert [margin.factor for margin in round_.margins] == ["glare"]
    assert [margin.factor for margin in flat.margins] == ["glare", "buckle"]


def test_the_worst_picture_is_repeatable_and_shows_the_symbol():
    picture = worst_picture(_label(x=5), Envelope(), 2)
    assert np.array_equal(picture, worst_picture(_label(x=5), Envelope(), 2))
    assert picture.dtype == np.uint8
    mild = worst_picture(_label(x=5), envelope_at(EASY), 2)
    assert [reading.text for reading in read_symbols(mild)] == ["A1234"]


def _margin(factor, reads_to, room):
    known = _factor(factor)
    return Margin(
        factor=factor,
        title=known.title,
        unit=known.unit,
        nominal=0.0,
        limit=0.0,
        reads_to=reads_to,
        fails_at=None if room is None else reads_to,
        room=room,
    )


def test_the_sentence_says_how_far_it_reads_and_what_is_weakest():
    found = (
        _margin("px_per_mm", 6.2, 3.0),
        _margin("off_axis", 34.0, 1.2),
        _margin("glare", 0.18, None),
        _margin("dot_gain", 0.04, 0.4),
    )
    assert sentence_of(found, x=Mm(0.339)) == (
        "reads to 2.1 px per module, 34 degrees round the tube, 18 % glare; weakest: dot gain"
    )
    assert find_weakest(()) is None
    assert sentence_of((), x=Mm(0.339)) == "no headline margin sought"
    assert in_words(0.0255, "mm per edge") == "0.0255 mm per edge"


def _outcomes(monkeypatch, missing):
    """Let every trial read but the strained ones of these numbers; returns the list of strained trials made."""
    made = []

    def strained(_specimen, _envelope, _seed, number):
        made.append(number)
        return Outcome.UNREAD if number in missing else Outcome.READ

    monkeypatch.setattr(judgement, "plain_trial", lambda *_: Outcome.READ)
    monkeypatch.setattr(judgement, "strained_trial", strained)
    return made


@pytest.mark.parametrize(
    ("missing", "verdict", "trials"),
    [
        ((), Legibility.PASS, 92),
        ((3,), Legibility.PASS, 147),
        ((3, 50), Legibility.PASS, 202),
        ((3, 5, 8), Legibility.WARN, 9),
        ((40, 90, 140, 190), Legibility.PASS, 240),
        ((40, 80, 120, 160, 200), Legibility.WARN, 240),
    ],
)
def test_strained_trials_go_on_until_the_answer_is_certain_and_to_240_at_most(monkeypatch, missing, verdict, trials):
    """Sixteen plain ones read; a miss weighs as much as 53.8 trials that read, and 107.7 of those are needed."""
    made = _outcomes(monkeypatch, missing)
    assert predict(_label(), EASY, seed=1) is verdict
    assert len(made) == trials


@pytest.mark.parametrize(("missing", "trials"), [((), 72), ((20,), 120), ((1, 2, 3, 4), 40), ((20, 60), 120)])
def test_a_judgement_follows_the_same_rule(monkeypatch, missing, trials):
    """Forty plain ones read; further strained trials come in rounds of sixteen, 120 at most in a quick judgement."""
    made = _outcomes(monkeypatch, missing)
    monkeypatch.setattr(judgement, "HASTY", replace(judgement.HASTY, factors=frozenset()))
    found = judge(_label(), Envelope(), seed=1, quick=True)
    assert (found.strained.trials, sorted(made)) == (trials, list(range(trials)))
    assert found.verdict is (Legibility.WARN if len(missing) > 2 else Legibility.PASS)
    assert found.verdict is verdict_of(found.joint, found.strained)


def test_a_wrong_text_never_passes(monkeypatch):
    made = _outcomes(monkeypatch, ())
    monkeypatch.setattr(judgement, "plain_trial", lambda *place: Outcome.WRONG if place[-1] == 2 else Outcome.READ)
    assert predict(_label(), EASY, seed=1) is Legibility.WARN
    assert not made
