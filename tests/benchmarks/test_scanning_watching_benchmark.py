"""What a stream costs beside the bare reader on the same frames, and that it says nothing wrong in many of them."""

import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from envelope_pictures import SYMBOLS, USUAL, decoy, symbol_of
from hand_held import frame, laid, tremor

from tracelabels.scanning import Frame, Picture, Viewfinder, scan_picture
from tracelabels.symbols import PRINTED, read_symbols

TODAY = date(2026, 11, 28)
SEED = 8401
STEP = 0.1  # s from frame to frame
ROUNDS = 3


def clip(labels, count, *, blur=0.7):
    """Return frames of the size that a phone's browser gives a viewfinder."""
    rng = np.random.default_rng(SEED)
    return [frame(labels, rng, size=(720, 1280), shift=shift, blur=blur) for shift in tremor(count, rng)]


def watched(pictures):
    finder = Viewfinder(today=TODAY)
    return [finder.look(Frame(grey=grey, at=number * STEP)) for number, grey in enumerate(pictures)]


def read_bare(grey):
    read_symbols(grey, kinds=PRINTED)


def scan(grey):
    scan_picture(Picture(grey=grey, name="frame", page=1), today=TODAY)


def milliseconds(work, grey):
    started = time.perf_counter()
    work(grey)
    return (time.perf_counter() - started) * 1000.0


def costs(pictures):
    """Return the glances, and for each frame the best milliseconds of some rounds: watched, and read bare."""
    rounds = [(watched(pictures), [milliseconds(read_bare, grey) for grey in pictures]) for _ in range(ROUNDS)]
    ours = np.min([[glance.elapsed_ms for glance in glances] for glances, _ in rounds], axis=0)
    return rounds[0][0], ours, np.min([bare for _, bare in rounds], axis=0)


def test_a_frame_that_is_read_already_costs_little_more_than_the_bare_reader():
    labels = [laid("DM12x36", 100, (150, 200)), laid("DM12x36", 200, (500, 200)), laid("DM20", 300, (850, 250))]
    glances, ours, bare = costs(clip(labels, 20))
    assert all(len(glance.current) == len(labels) for glance in glances)
    quick = np.array([not glance.looked_deeply for glance in glances])
    one, mean = ours[quick].sum() / bare[quick].sum(), ours.sum() / bare.sum()
    print(
        f"\nthree labels, all read: {one:.2f} times the bare reader a frame ({bare.mean():.0f} ms), {mean:.2f} with "
        f"the searches for further labels ({(~quick).sum()} of {len(quick)} frames, {ours.max():.0f} ms at most)"
    )
    assert one <= 1.3
    assert mean <= 1.5


def test_a_label_that_nothing_reads_costs_far_less_than_a_scan_of_every_frame():
    pictures = clip([laid("DM20", 100, (300, 200))], 15, blur=3.0)
    glances = watched(pictures)
    ours = np.array([glance.elapsed_ms for glance in glances])
    scanned = np.mean([milliseconds(scan, grey) for grey in pictures[:4]])
    print(
        f"\nnothing read: {ours.mean() / scanned:.2f} times a scan of every frame ({scanned:.0f} ms), "
        f"{sum(glance.looked_deeply for glance in glances)} of {len(glances)} frames looked at deeply, "
        f"{ours.max():.0f} ms at most"
    )
    assert not any(glance.current for glance in glances)
    assert ours.mean() <= 0.6 * scanned


def exchanged(number):
    """Watch a label that is exchanged for another in the same place; return what went wrong, as words.

    Every second one is the next tube's. No old text may be current for longer than it may be unseen.
    """
    rng = np.random.default_rng([SEED, 1, number])
    kind, px = SYMBOLS[1 + number % (len(SYMBOLS) - 1)], float(rng.choice([1.9, 2.2, 3.0, 4.0]))
    strain = replace(USUAL, px_per_module=px, tilt=float(rng.choice([0, 0, 10, 20])))
    serial, blur = int(rng.integers(4000)), float(rng.uniform(0.1, 0.5)) * px
    old, new = (
        laid(kind, one, (20, 15), seed=number, strain=strain) for one in (serial, serial + 1 + number % 2 * 999)
    )
    finder, wrong = Viewfinder(today=TODAY), Counter()
    for count, shift in enumerate(tremor(45, rng, step=1.0)):
        shown = old if count < 20 else new
        grey = frame([shown], rng, size=(300, 320), shift=shift, blur=max(0.4, blur + rng.normal(0, 0.2)))
        glance = finder.look(Frame(grey=grey, at=count * STEP))
        texts = {one.reading.text for one in glance.current}
        wrong["another text"] += bool(texts - {old.text, new.text})
        wrong["the new text before its time"] += new.text in texts and count < 20
        wrong["the old text too long"] += old.text in texts and count >= 28
        wrong["the old text told again"] += count >= 20 and old.text in {one.reading.text for one in glance.newly_read}
    return sorted(+wrong)


def decoys_said(number):
    """Watch random modules in a perfect fixed pattern, or a scrambled symbol; return wrong texts."""
    rng = np.random.default_rng([SEED, 2, number])
    kind, px = SYMBOLS[number % len(SYMBOLS)], float(rng.choice([1.9, 2.2, 3.0, 4.0]))
    strain = replace(USUAL, px_per_module=px, tilt=float(rng.choice([0, 10, 20])))
    symbol = symbol_of(kind, int(rng.integers(9000)))
    modules = decoy(symbol, rng, turned=0.5 if rng.random() < 0.5 else rng.uniform(0.2, 0.5))
    label = laid(kind, 0, (15, 10), seed=number, strain=strain, symbol=replace(symbol, modules=modules))
    finder, said = Viewfinder(today=TODAY), set()
    for count, shift in enumerate(tremor(30, rng, step=1.0)):
        grey = frame([label], rng, size=(300, 320), shift=shift, blur=float(rng.uniform(0.4, 0.5 * px + 0.4)))
        glance = finder.look(Frame(grey=grey, at=count * STEP))
        said |= {one.reading.text for one in glance.newly_read} - {symbol.payload.text}
    return sorted(said)


def test_labels_exchanged_and_decoys_in_few_clips():
    assert [exchanged(number) for number in range(9)] == [[]] * 9
    assert [decoys_said(number) for number in range(5)] == [[]] * 5


@pytest.mark.long
def test_labels_exchanged_and_decoys_in_many_clips():
    with ProcessPoolExecutor(2) as pool:
        assert [one for one in pool.map(exchanged, range(3_000), chunksize=20) if one] == []
        assert [one for one in pool.map(decoys_said, range(3_000), chunksize=20) if one] == []
