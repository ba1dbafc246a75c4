"""Shipped files and a practice's own."""

import shutil

import pytest

from tracelabels.assets import templates_folder
from tracelabels.errors import TemplateError
from tracelabels.labels import list_layouts, list_sheets, require_layout, require_sheet


@pytest.fixture
def practice(tmp_path):
    """Give the folder of a practice with a sheet of its own and a shipped one changed."""
    (tmp_path / "sheets").mkdir()
    shipped = templates_folder() / "sheets" / "roll-50x25.toml"
    shutil.copy(shipped, tmp_path / "sheets" / "ours.toml")
    changed = shipped.read_text(encoding="utf-8").replace("gap = 3.0", "gap = 2.0")
    (tmp_path / "sheets" / "roll-50x25.toml").write_text(changed, encoding="utf-8")
    return tmp_path


def test_own_files_join_the_shipped_ones_and_replace_them(practice):
    names = [sheet.name for sheet in list_sheets(practice)]
    assert names == sorted([*(sheet.name for sheet in list_sheets()), "ours"])
    assert require_sheet("roll-50x25", practice).pitch_y == 27.0
    assert require_sheet("roll-50x25").pitch_y == 28.0
    assert require_sheet("ours", practice).label_width == 50.0
    assert list_layouts(practice) == list_layouts()


def test_an_unknown_name_is_refused_with_the_nearest():
    with pytest.raises(TemplateError) as caught:
        require_layout("tube-1.5-sied")
    assert caught.value.given == "layout 'tube-1.5-sied'"
    assert caught.value.expected.startswith("one of cap-11, cap-9.5, flag-0.5")
    assert caught.value.remedy == "did you mean 'tube-1.5-side'?"


def test_a_file_may_be_named_instead(practice):
    assert require_sheet(str(practice / "sheets" / "ours.toml")).name == "ours"
    assert require_layout(str(templates_folder() / "layouts" / "cap-11.toml")) == require_layout("cap-11")


def test_a_name_is_no_path(tmp_path):
    (tmp_path / "secret.toml").write_text("title = 'x'", encoding="utf-8")
    with pytest.raises(TemplateError):
        require_sheet("../secret", tmp_path / "practice")
