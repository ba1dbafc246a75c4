"""Maps settled on the modules that were seen through them: inside, where the fixed pattern says nothing."""

import pytest

from tracelabels.scanning.locating.descending import Looks
from tracelabels.scanning.locating.own_modules import settle_on_own_modules
from tracelabels.scanning.locating.surface import BOWS, as_module_map, module_steps
from tracelabels.scanning.locating.window import window_around
from tracelabels.scanning.sampling.fixed_cells import fixed_cells
from tracelabels.scanning.sampling.sharpening import Blur

LOOKS = (Looks(), Looks(blur=Blur(bell=0.5)))


@pytest.mark.parametrize("kind", ["DM18", "DM12x36", "QR2", "MQR4"])
@pytest.mark.parametrize("setting", ["tilt 30", "blur 0.5"])
def test_a_map_whose_middle_is_off_settles_on_the_symbols_own_modules(
    shot, outline_of, true_surface, modules_off, kind, setting
):
    from envelope_pictures import shape_of

    one = shot(kind, setting, 0)
    shape = shape_of(one.symbol)
    cells = fixed_cells(shape)
    window = window_around(one.grey, outline_of(one.view, off=0.0, seed=0))
    surface = true_surface(one.view, window)
    right, down = module_steps(surface[None], cells)[0]
    # A bow of both directions that leaves the corners where they are.
    surface[0] += 0.35 * (right + down)
    surface[BOWS[0]] -= 0.35 * right
    surface[BOWS[1]] -= 0.35 * down

    def off(one_surface):
        return modules_off(as_module_map(window.surface_in_picture(one_surface), cells), one.view)

    assert off(surface)[1] > 0.35
    median, largest = off(settle_on_own_modules(window, shape, surface, LOOKS))
    assert median < 0.1
    assert largest < 0.25
