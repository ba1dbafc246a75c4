"""Whole tubes on a rough mat, words close to the symbol: what a scan reads that the bare reader does not.

Another simulator than the envelope's made them, and most of each picture is not the label: outlines of the dark ground,
of the tube and of words stand beside the symbol's own. Nothing here says what a real camera does.
"""

import time
from dataclasses import replace

import numpy as np
from envelope_pictures import SYMBOLS, symbol_of
from envelope_trial import SQUARES_AND_RECTANGLES, TODAY, many, wilson
from mat_pictures import Take, photographed_on_mat

from tracelabels.scanning import Picture, scan_picture
from tracelabels.symbols import PRINTED, read_symbols

SEED = 8601
USUAL = Take()
TAKES = {
    "usual": USUAL,
    "2 px": replace(USUAL, px=2.0),
    "blur 0.5": replace(USUAL, blur=0.5, is_bell=True),
    "blur 0.6": replace(USUAL, blur=0.6, is_bell=True),
    "disc 0.4": replace(USUAL, blur=0.4),
    "tilt 30": replace(USUAL, tilt=30),
    "tilt 45": replace(USUAL, tilt=45),
    "off-axis 40": replace(USUAL, off_axis=40),
    "diameter 28": replace(USUAL, diameter=28),
    "flat, tilt 60": replace(USUAL, diameter=None, tilt=60),
    "shadow": replace(USUAL, shadow=True),
    "noise 25": replace(USUAL, noise=25.0),
    "motion 1": replace(USUAL, motion=1.0),
    "far": replace(USUAL, px=2.2, blur=0.4, quality=70),
    "combined": replace(USUAL, diameter=36, tilt=20, off_axis=15, px=3, blur=0.35, quality=75),
    "near, 3 megapixels": replace(USUAL, size=(1500, 2000), px=6, blur=0.5, is_bell=True),
    "12 megapixels": replace(USUAL, size=(3000, 4000), px=4, blur=0.45, is_bell=True),
}
AIM = 0.95


def try_on_mat(job):
    """Return the take, whether the bare reader reads the text, whether a scan does, and its wrong texts."""
    name, kind, number = job
    rng = np.random.default_rng([SEED, list(TAKES).index(name), SYMBOLS.index(kind), number])
    serial = int(rng.integers(9000))
    grey = photographed_on_mat(kind, serial, TAKES[name], rng)
    text = symbol_of(kind, serial).payload.text
    bare = any(one.text == text for one in read_symbols(grey, kinds=PRINTED))
    scan = scan_picture(Picture(grey=grey, name="mat", page=1), today=TODAY, clock=time.process_time)
    said = {one.text for one in scan.readings}
    return name, kind, bare, text in said, said - {text}


def test_whole_tubes_on_a_mat():
    jobs = [(name, kind, number) for name in TAKES for kind in SQUARES_AND_RECTANGLES for number in range(2)]
    tried = many(try_on_mat, jobs)
    print("", f"{'':20}{'bare':>6}{'scan':>6}{'of':>6}   not read", sep="\n")
    for name in TAKES:
        of = [one for one in tried if one[0] == name]
        left = ", ".join(one[1] for one in of if not one[3])
        print(f"{name:20}{sum(one[2] for one in of):6}{sum(one[3] for one in of):6}{len(of):6}   {left}")
    read = sum(one[3] for one in tried)
    low, high = wilson(read, len(tried))
    print(f"{'all':20}{sum(one[2] for one in tried):6}{read:6}{len(tried):6}   {100 * low:.1f} to {100 * high:.1f} %")
    assert [one for one in tried if one[4]] == []
    assert [one for one in tried if one[2] and not one[3]] == [], "the bare reader reads these"
    assert high >= AIM
