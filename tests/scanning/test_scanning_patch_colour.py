"""An indicator's colour against pictures of a turned and an unturned one, in other light: simulated, and said so."""

import io

import numpy as np
import pytest
from PIL import Image

from tracelabels.errors import PictureError
from tracelabels.scanning import Likeness, compare_patches, find_patch

PINK, BROWN, BLUE = (232, 150, 170), (92, 60, 44), (60, 90, 200)


def picture(colour, *, light=(1.0, 1.0, 1.0), level=0.8, seed=1, form="PNG") -> bytes:
    """A patch on white paper under a lamp of some colour, with noise, as sRGB."""
    chance = np.random.default_rng(seed)
    srgb = np.full((240, 320, 3), 250.0)
    srgb[70:170, 90:230] = colour
    linear = ((srgb / 255 + 0.055) / 1.055) ** 2.4 * np.array(light) * level
    linear = np.clip(linear + chance.normal(0, 0.004, srgb.shape), 0, 1)
    seen = np.clip(1.055 * linear ** (1 / 2.4) - 0.055, 0, 1) * 255
    out = io.BytesIO()
    Image.fromarray(seen.astype(np.uint8)).save(out, form)
    return out.getvalue()


def compared(seen: bytes):
    turned, unturned = (find_patch(picture(one), name="reference") for one in (BROWN, PINK))
    return compare_patches(find_patch(seen, name="seen"), turned=turned, unturned=unturned)


LIGHTS = [(1.0, 1.0, 1.0), (1.0, 0.82, 0.6), (0.8, 0.9, 1.0)]


@pytest.mark.parametrize("light", LIGHTS)
@pytest.mark.parametrize("level", [0.3, 0.95])
def test_the_light_of_a_picture_is_taken_out_before_colours_are_compared(light, level):
    assert compared(picture(BROWN, light=light, level=level)).likeness is Likeness.TURNED
    assert compared(picture(PINK, light=light, level=level, form="JPEG")).likeness is Likeness.UNTURNED


def test_half_way_is_said_and_less_sure():
    half = tuple((one + other) / 2 for one, other in zip(PINK, BROWN, strict=True))
    between = compared(picture(half))
    assert between.likeness is Likeness.BETWEEN
    assert between.confidence < compared(picture(BROWN)).confidence
    assert between.sentence.endswith("parts of the way to turned: look at it again")


def test_another_colour_and_pictures_that_look_alike_are_not_compared():
    assert compared(picture(BLUE)).likeness is Likeness.NOT_COMPARABLE
    one = find_patch(picture(PINK), name="one")
    assert compare_patches(one, turned=one, unturned=one).likeness is Likeness.NOT_COMPARABLE


@pytest.mark.parametrize(("level", "words"), [(0.05, "too dark"), (3.0, "burnt out")])
def test_dark_and_burnt_pictures_are_refused(level, words):
    with pytest.raises(PictureError) as refused:
        find_patch(picture(PINK, level=level), name="seen.png")
    assert str(refused.value).startswith(f"seen.png, in which the paper round the indicator is {words}; expected ")


def test_what_is_no_photograph_is_refused():
    with pytest.raises(PictureError) as refused:
        find_patch(b"minute;C\n0;20\n", name="log.csv")
    assert str(refused.value) == ("log.csv, which is no photograph; expected a photograph; photograph the indicator")
