"""Programmes as files: what is shipped says what its source says, and each mistake is one whole sentence."""

import shutil

import pytest

from tracelabels.assets import templates_folder
from tracelabels.custody import CycleKind, Goods
from tracelabels.cycles.programme import Band, Programme
from tracelabels.cycles.programme_file import list_programmes, load_programme, require_programme, survey_programmes
from tracelabels.errors import TemplateError

GOOD = """
title = "Ours"
goods = "wrapped"
cycle_kinds = ["air_removal"]
source = "our steriliser's handbook"
saturation_k = 1.5
least_f0 = 12
drying_minutes = 10
cautions = ["load on edge"]
[band]
set_c = 134
above_k = 3
[hold]
minutes = 3.5
equilibration_s = 15
fluctuation_k = 2
"""


@pytest.fixture
def programme_from(tmp_path):
    def load(text: str) -> Programme:
        path = tmp_path / "ours.toml"
        path.write_text(text, encoding="utf-8")
        return load_programme(path)

    return load


def test_every_key_is_read(programme_from):
    assert programme_from(GOOD) == Programme(
        name="ours",
        title="Ours",
        goods=Goods.WRAPPED,
        cycle_kinds=(CycleKind.AIR_REMOVAL,),
        band=Band(set_c=134.0, above_k=3.0),
        hold_minutes=3.5,
        source="our steriliser's handbook",
        equilibration_s=15.0,
        fluctuation_k=2.0,
        saturation_k=1.5,
        least_f0=12.0,
        drying_minutes=10.0,
        cautions=("load on edge",),
    )


def test_what_a_source_does_not_say_may_be_left_out(programme_from):
    left_out = ("saturation_k", "least_f0", "drying_minutes", "cautions", "above_k", "equilibration_s", "fluctuation_k")
    text = "\n".join(line for line in GOOD.splitlines() if not line.startswith(left_out))
    found = programme_from(text)
    assert (found.band.above_k, found.equilibration_s, found.fluctuation_k) == (None, None, None)
    assert (found.least_f0, found.drying_minutes, found.saturation_k, found.cautions) == (None, None, 2.0, ())


TYPE_N = 'cycle_kinds = ["air_removal", "type_n"]'
MISTAKES = [
    (
        "least_f0 = 12",
        "leest_f0 = 12",
        (
            "ours.toml: key 'leest_f0' is not a key that is known here; expected one of title, goods, cycle_kinds, "
            "source, band, hold, saturation_k, least_f0, drying_minutes, cautions; write 'least_f0'"
        ),
    ),
    (
        "above_k = 3",
        "above = 3",
        (
            "ours.toml: key 'above' of band is not a key that is known here; "
            "expected one of set_c, above_k; write 'above_k'"
        ),
    ),
    (
        "minutes = 3.5",
        "minute = 3.5",
        (
            "ours.toml: key 'minute' of hold is not a key that is known here; "
            "expected one of minutes, equilibration_s, fluctuation_k; write 'minutes'"
        ),
    ),
    (
        "set_c = 134",
        "set_c = 273.2",
        "ours.toml: key 'set_c' of band = 273.2; expected a number from 100 to 150; change the value",
    ),
    ("set_c = 134\n", "", "ours.toml: key 'set_c' of band is missing; expected a number from 100 to 150; add the key"),
    (
        'goods = "wrapped"',
        'goods = "wraped"',
        "ours.toml: key 'goods' = 'wraped'; expected one of unwrapped, wrapped, liquid; write 'wrapped'",
    ),
    (
        'cycle_kinds = ["air_removal"]\n',
        "",
        (
            "ours.toml: key 'cycle_kinds' is missing; "
            "expected a list with at least one of air_removal, gravity, type_n, liquid; add the key"
        ),
    ),
    (
        '"air_removal"',
        '"liquid"',
        (
            "ours.toml: goods 'wrapped' and cycle kind 'liquid'; "
            "expected liquids in a liquid cycle, and nothing else in one; correct goods or cycle_kinds"
        ),
    ),
    (
        'goods = "wrapped"',
        'goods = "liquid"',
        (
            "ours.toml: goods 'liquid' and cycle kind 'air_removal'; "
            "expected liquids in a liquid cycle, and nothing else in one; correct goods or cycle_kinds"
        ),
    ),
    (
        'cycle_kinds = ["air_removal"]',
        TYPE_N,
        (
            "ours.toml: goods 'wrapped' and cycle kind 'type_n'; "
            "expected unwrapped goods in a cycle without air removal; correct goods or cycle_kinds"
        ),
    ),
    (
        '["load on edge"]',
        '"load on edge"',
        (
            "ours.toml: key 'cautions' = 'load on edge'; "
            "expected a list of texts in quotes, none of them empty; change the value"
        ),
    ),
    (
        '["load on edge"]',
        '["load on edge", 7, " "]',
        (
            "ours.toml: key 'cautions' = ['load on edge', 7, ' ']; "
            "expected a list of texts in quotes, none of them empty; change the value"
        ),
    ),
    (
        'source = "our steriliser\'s handbook"\n',
        "",
        "ours.toml: key 'source' is missing; expected a text in quotes; add the key",
    ),
]


@pytest.mark.parametrize(("right", "wrong", "sentence"), MISTAKES)
def test_each_mistake_is_one_sentence(programme_from, right, wrong, sentence):
    assert GOOD.count(right) == 1
    with pytest.raises(TemplateError) as caught:
        programme_from(GOOD.replace(right, wrong))
    assert str(caught.value) == sentence


def test_the_published_least_cycle_times_are_shipped_as_the_table_has_them(rows_of):
    expected = {}
    for row in rows_of("cdc_guideline_2008_table_7.tsv"):
        for celsius in (121, 132):
            minutes = row[f"minutes_at_{celsius}"]
            if minutes != "n/a":
                name = f"{row['item']}-{row['steriliser']}-{celsius}c-{minutes}min"
                drying = float(row["drying"].partition("-")[0])
                kind = row["steriliser"].replace("-", "_")
                expected[name] = ("wrapped", (kind,), celsius, None, float(minutes), None, None, drying)
    found = {
        one.name: (
            one.goods, one.cycle_kinds, one.band.set_c, one.band.above_k, one.hold_minutes, one.equilibration_s,
            one.least_f0, one.drying_minutes,
        )
        for one in list_programmes()
        if "Table 7" in one.source
    }  # fmt: skip
    assert found == expected


@pytest.mark.parametrize(("celsius", "minutes"), [(121, 15), (126, 10), (134, 3)])
def test_the_holds_of_the_european_standards_are_shipped(celsius, minutes):
    """Holds, band and equilibration: from memory; the standards' own text was not read."""
    found = require_programme(f"wrapped-{celsius}c-{minutes}min")
    assert found.band == Band(set_c=celsius, above_k=3)
    assert (found.hold_minutes, found.equilibration_s) == (minutes, 15)
    assert "from memory" in found.source


def test_a_file_is_named_by_its_numbers_and_no_two_say_the_same():
    programmes = list_programmes()
    for one in programmes:
        assert one.name.endswith(f"-{one.band.set_c:g}c-{one.hold_minutes:g}min")
    assert len({one.title for one in programmes}) == len(programmes)


def test_a_practices_own_files_join_the_shipped_ones_and_replace_them(tmp_path):
    own = tmp_path / "programmes"
    own.mkdir()
    (own / "ours.toml").write_text(GOOD, encoding="utf-8")
    shipped = templates_folder() / "programmes" / "wrapped-134c-3min.toml"
    shutil.copy(shipped, own)
    changed = (own / shipped.name).read_text(encoding="utf-8").replace("minutes = 3\n", "minutes = 4\n")
    (own / shipped.name).write_text(changed, encoding="utf-8")
    (own / "broken.toml").write_text("title = 7", encoding="utf-8")
    good, problems = survey_programmes(tmp_path)
    assert [one.name for one in good] == sorted([*(one.name for one in list_programmes()), "ours"])
    assert [str(one).partition(";")[0] for one in problems] == ["broken.toml: key 'band' is missing"]
    assert require_programme("wrapped-134c-3min", tmp_path).hold_minutes == 4
    assert require_programme("wrapped-134c-3min").hold_minutes == 3
    with pytest.raises(TemplateError, match="did you mean 'wrapped-134c-3min'"):
        require_programme("wrapped-134-3min")
