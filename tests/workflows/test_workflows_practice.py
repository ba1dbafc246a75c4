"""A practice's folder, its settings and its ledger, on both databases."""

from datetime import date

import pytest

from tracelabels.errors import InputError, SettingsError
from tracelabels.settings import parse_settings
from tracelabels.workflows.new_practice import make_practice
from tracelabels.workflows.practice import open_practice

DAY = date(2026, 11, 25)


def test_today_is_the_day_in_the_practices_zone(tmp_path):
    make_practice(tmp_path / "p", zone="Pacific/Kiritimati", today=DAY)  # UTC+14
    with open_practice(tmp_path / "p", today=DAY) as practice:
        assert practice.today == DAY
        assert practice.now().isoformat() == "2026-11-24T22:00:00+00:00"


def test_what_is_refused_leaves_nothing(tmp_path):
    with pytest.raises(SettingsError, match="Nowhere/X"):
        make_practice(tmp_path / "p", zone="Nowhere/X", today=DAY)
    assert not (tmp_path / "p").exists()
    make_practice(tmp_path / "p", name='A "quoted" \\ name', today=DAY)
    with open_practice(tmp_path / "p", today=DAY) as practice:
        assert practice.settings.practice.name == 'A "quoted" \\ name'
    with pytest.raises(InputError, match="where a practice lives already"):
        make_practice(tmp_path / "p", today=DAY)


SENTENCES = {
    "[practice]\nsiite = 1": (
        "practice.toml: practice: unknown key 'siite'; expected one of name, site, time_zone; did you mean 'site'?"
    ),
    "[practise]\nsite = 1": (
        "practice.toml: top level: unknown key 'practise'; expected one of practice, identifiers, printing, policy, "
        "sterilisation, envelope, stock, retention, database; did you mean 'practice'?"
    ),
    "[practice]\nsite = 100": (
        "practice.toml: practice.site: expected `int` <= 99; expected a value as the comment beside the key says; "
        "correct the value"
    ),
    "[identifiers]\nmode = 'gs1'": (
        "practice.toml: identifiers.mode = 'gs1' without identifiers.company_prefix; expected the GS1 company prefix "
        "that the practice itself owns; enter it, or set identifiers.mode = 'in_house', which claims nothing"
    ),
    "[policy]\nlimit_after_preparation = 'soon'": (
        "practice.toml: policy: period 'soon'; expected days, months, years or one session; write it as 28 days, "
        "12 months (or 12M), 1 year or session"
    ),
    "[practice]\ntime_zone = 'Mars/Base'": (
        "practice.toml: practice.time_zone = 'Mars/Base'; expected an IANA time zone such as 'Europe/Vienna'; "
        "correct the name"
    ),
    "[[retention.rules]]\nname = 'local code'\nyear = 15": (
        "practice.toml: retention.rules[0]: unknown key 'year'; expected one of name, years; did you mean 'years'?"
    ),
    "[envelope]\ntilt = { nominal = 0.0, limits = 9.0 }": (
        "practice.toml: envelope.tilt: unknown key 'limits'; expected one of nominal, limit; did you mean 'limit'?"
    ),
    "[printing\n": None,
}


@pytest.mark.parametrize("text", SENTENCES)
def test_wrong_settings_are_refused_with_file_key_and_value(text):
    with pytest.raises(SettingsError) as caught:
        parse_settings(text)
    expected = SENTENCES[text]
    assert str(caught.value) == expected or (expected is None and str(caught.value).startswith("practice.toml: "))


def test_another_practices_gtin_is_refused():
    text = '[identifiers]\nmode = "gs1"\ncompany_prefix = "9501101"\n[identifiers.gtins]\n"R-12" = "{}"'
    assert parse_settings(text.format("09501101530003")).identifiers.gtins == {"R-12": "09501101530003"}
    for wrong in ("09501101530004", "00012345678905"):  # a wrong check digit; another owner's prefix
        with pytest.raises(SettingsError, match="company prefix '9501101' after the first"):
            parse_settings(text.format(wrong))


def test_the_same_steps_on_postgresql(tmp_path, bottle, tubes, new_database):
    settings = make_practice(tmp_path / "p", today=DAY)
    text = settings.read_text().replace('url = ""', f'url = "{new_database()}"')
    settings.write_text(text.replace('validated_liquid_cycle = ""', 'validated_liquid_cycle = "folder 7"'))
    with open_practice(tmp_path / "p", today=DAY) as practice:
        serials = tubes(practice, bottle(practice))
        assert len(serials) == 3
    with open_practice(tmp_path / "p", today=DAY) as practice:  # the key is found again
        assert practice.ledger.verify() == []
        assert tubes(practice, bottle(practice))[0] > serials[-1]


def test_the_settings_of_the_steriliser_are_refused_outside_their_range():
    from tracelabels.sterilization import GrowthPolicy

    text = '[sterilisation]\nspore_test_interval_days = 30\nspore_growth_policy = "confirm_first"\n'
    policy = parse_settings(text).spore_policy
    assert (policy.interval_days, policy.growth) == (30, GrowthPolicy.CONFIRM_FIRST)
    with pytest.raises(SettingsError) as refused:
        parse_settings("[sterilisation]\nspore_test_interval_days = 0\n")
    assert str(refused.value) == (
        "practice.toml: sterilisation.spore_test_interval_days: expected `int` >= 1; "
        "expected a value as the comment beside the key says; correct the value"
    )


def test_the_rules_of_keeping_stand_in_the_settings():
    """Ten years and three: the ledger's own usual figures (see the comments in new_practice)."""
    text = "[[retention.rules]]\nname = 'local code'\nyears = 15"
    assert [(one.name, one.years) for one in parse_settings(text).retention.as_rules()] == [
        ("the practice's rule for client records", 10),
        ("the practice's rule for load and spore-test records", 3),
        ("local code", 15),
    ]
