from dataclasses import fields, replace

import pytest

from tracelabels.errors import InputError
from tracelabels.legibility.condition import FACTORS, Condition, condition_of
from tracelabels.legibility.envelope import Envelope, Span, envelope_at


def test_every_factor_has_one_field_in_condition_and_envelope():
    names = [factor.name for factor in FACTORS]
    assert [field.name for field in fields(Condition)] == names
    assert [field.name for field in fields(Envelope)] == names


def test_usual_condition_and_envelope_agree():
    assert Envelope().nominal == Condition()


def test_a_sample_lies_between_usual_value_and_limit():
    envelope = Envelope()
    assert envelope.sample(lambda _: 0.0) == envelope.nominal
    assert envelope.sample(lambda _: 1.0) == envelope.limit
    assert envelope.sample(lambda _: 0.5).px_per_mm == pytest.approx(17.5)


def test_an_envelope_of_one_condition_has_that_condition_alone():
    condition = Condition(glare=0.03, jpeg_quality=70.0)
    envelope = envelope_at(condition)
    assert envelope.nominal == envelope.limit == envelope.sample(lambda _: 0.3) == condition


def test_worse_is_the_side_on_which_reading_is_harder():
    usual = Condition()
    worse = usual.worsened(lambda factor, _: factor.step)
    assert worse.px_per_mm == 18.0
    assert worse.stock == pytest.approx(0.75)
    assert worse.dot_gain == pytest.approx(0.02)
    assert worse.dead_lines == 1.0
    far = usual.worsened(lambda *_: 1e6)
    assert [far.value(factor.name) for factor in FACTORS] == [factor.worst for factor in FACTORS]


def test_what_is_at_its_best_is_not_strained():
    assert all(factor.strain(factor.best) == 0.0 for factor in FACTORS)
    assert all(factor.strain((factor.best + factor.worst) / 2) > 0.0 for factor in FACTORS)


def test_a_limit_better_than_the_usual_value_is_refused():
    with pytest.raises(InputError) as caught:
        replace(Envelope(), px_per_mm=Span(nominal=15.0, limit=20.0))
    assert str(caught.value) == (
        "envelope: px_per_mm with nominal 15 and limit 20; expected a limit that is no better than the nominal value; "
        "exchange the two values"
    )


def test_values_out_of_range_and_unknown_names_are_refused():
    with pytest.raises(InputError) as caught:
        Condition(stock=1.2)
    assert str(caught.value) == ("condition: stock 1.2; expected a value from 0.1 to 1 (share); change it")
    with pytest.raises(InputError, match=r"^condition: blur; expected one of px_per_mm, "):
        condition_of({"blur": 1.0})
