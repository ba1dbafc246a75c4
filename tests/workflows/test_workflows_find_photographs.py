"""The pictures of a folder: in the order that people count in, bad ones too, and nothing else."""

import os

import pytest

from tracelabels.errors import PictureError
from tracelabels.workflows.find_photographs import find_photographs

PNG = b"\x89PNG\r\n\x1a\n"


@pytest.fixture
def folder(tmp_path):
    """A folder as phones and desks leave it."""
    for name in ("IMG_2.jpg", "IMG_10.JPG", "img_1.jpeg", "IMG_02b.heic", "Tray.mov", "cut.tif", "\u0663.png"):
        (tmp_path / name).write_bytes(b"")
    (tmp_path / "no ending").write_bytes(PNG)
    (tmp_path / "film of no ending").write_bytes(b"\x00\x00\x00\x18ftypmp42")
    (tmp_path / "notes.txt").write_text("R-12")
    (tmp_path / "scan.csv").write_text("file,page")
    (tmp_path / "._IMG_2.jpg").write_bytes(PNG)
    inside = tmp_path / "day 2"
    inside.mkdir()
    (inside / "1.png").write_bytes(PNG)
    (tmp_path / ".thumbnails").mkdir()
    (tmp_path / ".thumbnails" / "2.png").write_bytes(PNG)
    (tmp_path / "album.jpg").mkdir()
    return tmp_path


OWN = (
    "cut.tif",
    "film of no ending",
    "img_1.jpeg",
    "IMG_2.jpg",
    "IMG_02b.heic",
    "IMG_10.JPG",
    "no ending",
    "Tray.mov",
    "\u0663.png",
)


def names(found, folder):
    return tuple(file.relative_to(folder).as_posix() for file in found.photographs)


def test_pictures_come_in_the_order_of_their_numbers(folder):
    found = find_photographs(folder)
    assert names(found, folder) == OWN
    assert found.others == 2


def test_folders_inside_come_after_a_folder_s_own(folder):
    found = find_photographs(folder, with_folders_inside=True)
    assert names(found, folder) == (*OWN, "day 2/1.png")


@pytest.mark.skipif(os.name == "nt", reason="links ask for a right there")
def test_a_link_back_does_not_make_it_endless(folder):
    (folder / "day 2" / "back").symlink_to(folder, target_is_directory=True)
    assert names(find_photographs(folder, with_folders_inside=True), folder) == (*OWN, "day 2/1.png")


def test_a_folder_without_pictures_is_refused(tmp_path):
    with pytest.raises(PictureError) as caught:
        find_photographs(tmp_path)
    assert str(caught.value) == (
        f"{tmp_path}, a folder in which no picture lies; expected a folder with photographs, PDFs or clips; "
        "check the name, or look into the folders inside it as well"
    )
