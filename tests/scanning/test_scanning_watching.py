"""A stream: labels are told once, followed while there, never with another text; deep work seldom, on the sharpest."""

import itertools
from dataclasses import replace

import cv2
import numpy as np
import pytest
from envelope_pictures import USUAL, decoy, symbol_of
from hand_held import frame, laid, tremor

from tracelabels.errors import InputError, PictureError
from tracelabels.scanning import Frame, Pace, Viewfinder
from tracelabels.scanning.reading import Scan
from tracelabels.scanning.watching import deep_look, quick_look
from tracelabels.scanning.watching.following import Following
from tracelabels.symbols import Symbology, write_code_128

SIZE = (300, 320)
STEP = 0.1  # s from frame to frame
SMALL = replace(USUAL, px_per_module=2.0)  # read from enlarged views alone


@pytest.fixture
def viewfinder(today):
    def make(**options):  # noqa: ANN003  the viewfinder's own
        return Viewfinder(today=today, **options)

    return make


@pytest.fixture
def watch(viewfinder):
    """Look at pictures a tenth of a second apart; return a glance a picture."""

    def run(pictures, **options):  # noqa: ANN003  the viewfinder's own
        finder = viewfinder(**options)
        return [finder.look(Frame(grey=grey, at=number * STEP)) for number, grey in enumerate(pictures)]

    return run


@pytest.fixture(scope="module")
def one():
    return laid("DM12x36", 100, (20, 15))


@pytest.fixture(scope="module")
def other():
    """The next tube's label: nothing but its code is different."""
    return laid("DM12x36", 101, (20, 15))


@pytest.fixture(scope="module")
def small():
    return laid("DM20", 100, (90, 90), strain=SMALL)


def clip(labels, count, *, seed=1, **seen):  # noqa: ANN003  what the picture is put to
    rng = np.random.default_rng(seed)
    return [frame(labels, rng, size=SIZE, shift=shift, **seen) for shift in tremor(count, rng)]


def texts(sightings):
    return [sighting.reading.text for sighting in sightings]


def told(glances):
    return [text for glance in glances for text in texts(glance.newly_read)]


def test_a_label_is_told_once_and_kept_while_it_is_seen(one, watch):
    glances = watch(clip([one], 12))
    assert told(glances) == [one.text]
    assert texts(glances[0].newly_read) == [one.text]
    for glance in glances:
        [sighting] = glance.current
        assert (sighting.reading.text, sighting.first_seen) == (one.text, 0.0)
        assert (glance.unread, glance.advice, glance.gone) == ((), (), ())
    # The reader loses a frame of a hand-held label now and then.
    assert sum(glance.current[0].last_read == glance.at for glance in glances) >= 9


@pytest.mark.parametrize("is_read", [True, False])
def test_where_a_label_is_goes_with_it(is_read, one, small, watch):
    label, rng = one if is_read else small, np.random.default_rng(1)
    glances = watch([frame([label], rng, size=SIZE, shift=shift) for shift in ((0, 0), (0, 0), (0, 0), (6, -4))])
    before, after = (np.array(glance.current[0].reading.corners) for glance in glances[-2:])
    assert np.abs(after - before - [6, -4]).max() <= 2
    [moved] = glances[-1].current
    assert moved.last_seen == glances[-1].at
    assert (moved.last_read == moved.last_seen) is is_read


def test_the_deeper_look_is_at_the_sharpest_of_the_last_frames(small, watch):
    rng = np.random.default_rng(2)
    blurs = (2.2, 2.2, 0.6, 2.2)
    glances = watch([frame([small], rng, size=SIZE, blur=blur) for blur in blurs], pace=Pace(patience=4))
    assert [glance.looked_deeply for glance in glances] == [False, False, False, True]
    [sighting] = glances[-1].newly_read
    assert (sighting.reading.text, sighting.last_read) == (small.text, 2 * STEP)


def test_frames_are_kept_though_the_camera_writes_the_next_one_into_the_same_array(small, viewfinder):
    rng = np.random.default_rng(2)
    buffer = np.empty(SIZE, np.uint8)
    finder = viewfinder(pace=Pace(patience=4))
    for number, blur in enumerate((2.2, 0.6, 2.2, 2.2)):
        buffer[:] = frame([small], rng, size=SIZE, blur=blur)
        glance = finder.look(Frame(grey=buffer, at=number * STEP))
    assert texts(glance.newly_read) == [small.text]


def test_what_was_read_deeply_is_followed_and_not_read_deeply_again(small, watch, monkeypatch):
    budgets = []
    scan_picture = deep_look.scan_picture

    def noted(picture, *, budget_ms, **options):  # noqa: ANN003  the scan's own
        budgets.append(budget_ms)
        return scan_picture(picture, budget_ms=budget_ms, **options)

    monkeypatch.setattr(deep_look, "scan_picture", noted)
    glances = watch(clip([small], 18), pace=Pace(settled_s=1.0, unread_s=6.0))
    assert told(glances) == [small.text]
    assert all(texts(glance.current) == [small.text] for glance in glances[2:])
    assert glances[-1].current[0].last_seen > 1.0 > glances[-1].current[0].last_read
    # One scan, and then a search for further labels after a second, without any deeper attempt.
    assert budgets == [250.0, 0.0]
    # It is read once more in good time, and not told again.
    glances = watch(clip([small], 32), pace=Pace(settled_s=60.0))
    assert told(glances) == [small.text]
    assert glances[-1].current[0].last_read > 1.4


def test_another_label_in_the_same_place_ends_the_old_text_at_once(one, other, watch):
    rng = np.random.default_rng(3)
    glances = watch([frame([one if number < 4 else other], rng, size=SIZE) for number in range(8)])
    assert [texts(glance.current) for glance in glances] == [[one.text]] * 4 + [[]] + [[other.text]] * 3
    [doubt] = glances[4].unread
    assert doubt.reason == "two frames read two different texts here: hold one label still until two frames agree"
    assert glances[4].advice == (doubt.reason,)
    assert told(glances) == [one.text, other.text]


def test_two_texts_in_turn_are_never_believed(one, other, watch):
    rng = np.random.default_rng(4)
    glances = watch([frame([(one, other)[number % 2]], rng, size=SIZE) for number in range(8)])
    assert told(glances) == [one.text]  # the first frame's, before anything spoke against it
    assert all(glance.current == () and len(glance.unread) == 1 for glance in glances[1:])


def test_one_misread_frame_is_got_over_without_telling_again(one, other, watch):
    rng = np.random.default_rng(5)
    labels = [one, one, other, one, one, one]
    glances = watch([frame([label], rng, size=SIZE) for label in labels])
    assert told(glances) == [one.text]
    assert [len(glance.current) for glance in glances] == [1, 1, 0, 0, 1, 1]


def test_an_old_text_goes_when_a_label_that_cannot_be_read_takes_its_place(one, other, watch):
    rng = np.random.default_rng(6)
    pictures = [
        frame([one if number < 4 else other], rng, size=SIZE, blur=0.7 if number < 4 else 4.5) for number in range(15)
    ]
    glances = watch(pictures)
    seen_last = 3 * STEP
    for glance in glances[4:]:
        assert texts(glance.current) == ([one.text] if glance.at - seen_last <= 0.8 else [])
    assert [text for glance in glances for text in texts(glance.gone)] == [one.text]


def test_a_text_that_is_not_read_goes_though_its_place_looks_the_same(one, watch, monkeypatch):
    nothing = Scan(readings=(), unread=(), advice=(), tried=(), elapsed_ms=0.0)
    reads = itertools.count()
    read = quick_look.read_symbols
    monkeypatch.setattr(
        quick_look, "read_symbols", lambda *args, **options: read(*args, **options) if next(reads) == 0 else ()
    )
    monkeypatch.setattr(deep_look, "scan_picture", lambda *_, **__: nothing)
    picture = frame([one], np.random.default_rng(7), size=SIZE)
    glances = watch([picture] * 34)
    assert [glance.at for glance in glances if glance.current][-1] == pytest.approx(3.0)
    assert texts(next(glance.gone for glance in glances if glance.gone)) == [one.text]


def test_a_second_label_that_plain_reads_miss_is_found_beside_the_first(watch):
    first = laid("DM12x36", 7, (10, 20), seed=3)
    second = laid("DM20", 100, (330, 90), seed=0, strain=replace(USUAL, tilt=15, px_per_module=4.0))
    rng = np.random.default_rng(8)
    glances = watch([frame([first, second], rng, size=(420, 640)) for _ in range(4)])
    assert told(glances[:1]) == [first.text]
    assert told(glances) == [first.text, second.text]
    assert texts(glances[-1].current) == [first.text, second.text]


def test_a_label_that_jumps_is_the_same_label(one, watch):
    rng = np.random.default_rng(9)
    away = replace(one, at=(300, 120))
    glances = watch([frame([label], rng, size=(420, 640)) for label in (one, away, away)])
    assert told(glances) == [one.text]
    assert min(x for x, _ in glances[-1].current[0].reading.corners) > 300
    both = watch([frame(labels, rng, size=(420, 640)) for labels in ([one], [one, away])])
    assert told(both) == [one.text, one.text]  # two labels in one picture are two, whatever they say


def test_bars_need_a_second_frame(payload, drawn, watch):
    bars = drawn(write_code_128(payload(3)).modules, px=3, margin=12)
    once, twice = watch([bars, bars])
    assert (once.newly_read, once.current) == ((), ())
    assert once.advice == ("read once, with nothing to spare: hold still until a second frame agrees",)
    assert texts(twice.newly_read) == [payload(3).text]


def test_scrambled_symbols_say_what_they_said_or_nothing(watch):
    repaired = 0
    for number, kind in enumerate(("DM20", "DM12x36", "QR2", "DM18")):
        rng = np.random.default_rng([10, number])
        symbol = symbol_of(kind, number)
        for turned in (0.02, 0.5):
            scrambled = replace(symbol, modules=decoy(symbol, rng, turned=turned))
            label = laid(kind, number, (15, 15), symbol=scrambled, strain=replace(USUAL, px_per_module=4.0))
            glances = watch(clip([label], 4, seed=number, blur=0.9))
            assert set(told(glances)) <= {symbol.payload.text}
            repaired += bool(told(glances))
    assert repaired == 4


def test_codes_that_are_not_printed_here_say_nothing(drawn, watch):
    import segno

    modules = np.array([[bool(cell) for cell in row] for row in segno.make("https://example.org/menu").matrix])
    glances = watch([drawn(modules, margin=8)] * 4)
    assert [glance.current for glance in glances] == [()] * 4


@pytest.fixture
def reading(scan):
    """What a scan reads of a label, and the frame in which it does."""

    def make(label, at):
        grey = frame([label], np.random.default_rng(14), size=SIZE)
        [read] = scan(grey).readings
        return read, Frame(grey=grey, at=at)

    return make


def test_an_older_frame_does_not_speak_against_a_newer_one(one, other, reading):
    following = Following(unseen_s=0.8, unread_s=3.0)
    new, newer = reading(other, 1.0)
    old, older = reading(one, 0.9)
    following.take([new], newer)
    following.take([old], older)
    assert texts(following.current) == [other.text]
    following.take([old], replace(older, at=1.1))
    assert following.current == ()


def test_two_texts_at_once_in_one_place_put_it_in_doubt(one, reading):
    following = Following(unseen_s=0.8, unread_s=3.0)
    read, seen = reading(one, 0.0)
    following.take([read], seen)
    following.dispute([read.corners])
    assert (following.current, len(following.in_doubt)) == ((), 1)
    following.take([read], replace(seen, at=0.1))
    assert following.current == ()
    following.take([read], replace(seen, at=0.1))  # the same frame once more counts once
    assert following.current == ()
    following.take([read], replace(seen, at=0.2))
    assert texts(following.current) == [one.text]


@pytest.mark.parametrize(
    ("seen", "words"),
    [
        ({"motion": 25.0}, "hold still and let the camera focus"),
        ({"blur": 5.0}, "hold still and let the camera focus"),
        ({"blur": 3.6}, "hold still and let the camera focus"),
    ],
)
def test_a_frame_that_is_smeared_is_told_so(one, seen, words, watch):
    glance = watch(clip([one], 3, **seen))[-1]
    assert glance.current == ()
    [advice] = glance.advice
    assert "blurred over about" in advice
    assert advice.endswith(words)


def test_a_code_too_far_away_and_an_empty_bench_are_told_so(drawn, symbol_of, payload, watch):
    symbol = symbol_of(payload(5), Symbology.DATA_MATRIX)
    large = np.pad(drawn(symbol.modules, px=8, margin=3), 500, constant_values=255)
    far = cv2.resize(large, None, fx=0.9 / 8, fy=0.9 / 8, interpolation=cv2.INTER_AREA)
    assert "come closer" in watch([far] * 3)[-1].advice[0]
    empty = watch(clip([], 3))[-1]
    assert (empty.current, empty.unread, len(empty.advice)) == ((), (), 1)
    assert "nearly one grey" in empty.advice[0]


@pytest.mark.parametrize(
    ("radius", "words"),
    [(28, "glare covers 21% of the code"), (60, "glare washes out a part of the picture"), (0, None)],
)
def test_glare_is_told(radius, words, watch):
    label = laid("DM20", 5, (20, 15))
    height, width = label.light.shape
    y, x = np.mgrid[:height, :width]
    lit = label.light + 400.0 * (np.hypot(y - height / 2, x - width / 2) < radius)
    advice = watch(clip([replace(label, light=lit)], 3), clock=lambda: 0.0)[-1].advice  # there is always time
    assert advice == ((f"{words}: tilt the label or move the lamp",) if words else ())


def test_deeper_looks_are_rare_on_an_empty_bench(watch):
    glances = watch(clip([], 25))
    assert 3 <= sum(glance.looked_deeply for glance in glances) <= 5  # half a second apart


def test_slow_deeper_looks_leave_time_for_frames(viewfinder, monkeypatch):
    now = [0.0]
    nothing = Scan(readings=(), unread=(), advice=(), tried=(), elapsed_ms=0.0)

    def slow(_, **__):  # noqa: ANN003  the scan's own
        now[0] += 0.5
        return nothing

    monkeypatch.setattr(deep_look, "scan_picture", slow)
    finder = viewfinder(clock=lambda: now[0])
    pictures = clip([], 30)
    glances = [finder.look(Frame(grey=grey, at=number * STEP)) for number, grey in enumerate(pictures)]
    assert [number for number, glance in enumerate(glances) if glance.looked_deeply] == [2, 22]


def test_a_frame_that_would_take_too_long_is_read_reduced_and_its_known_places_in_full(one, viewfinder, monkeypatch):
    now = [0.0]
    sizes = []
    read = quick_look.read_symbols

    def timed(grey, **options):  # noqa: ANN003  the reader's own
        sizes.append(grey.shape)
        now[0] += grey.size * 1e-6  # 0.27 s for the whole frame
        return read(grey, **options)

    monkeypatch.setattr(quick_look, "read_symbols", timed)
    finder = viewfinder(clock=lambda: now[0])
    rng = np.random.default_rng(11)
    for number in range(3):
        started = now[0]
        glance = finder.look(Frame(grey=frame([one], rng, size=(420, 640)), at=number * STEP))
        if number == 1:
            assert sizes == [(420, 640), (140, 213), sizes[2]]
            assert sizes[2][0] * sizes[2][1] < 0.25 * 420 * 640
            assert now[0] - started < 0.1
            assert glance.current[0].last_read == glance.at
    assert told([glance]) == []


def test_the_same_frames_give_the_same_glances(one, small, watch):
    pictures = clip([one], 3) + clip([small], 6)
    assert watch(pictures, clock=lambda: 0.0) == watch(pictures, clock=lambda: 0.0)


def test_no_more_frames_are_kept_than_it_takes(one, viewfinder):
    finder = viewfinder(pace=Pace(patience=2))
    for number, grey in enumerate(clip([one], 6)):
        finder.look(Frame(grey=grey, at=number * STEP))
        assert len(finder._recent) <= 2


def test_a_turned_device_begins_anew(one, viewfinder):
    finder = viewfinder()
    rng = np.random.default_rng(12)
    finder.look(Frame(grey=frame([one], rng, size=SIZE), at=0.0))
    glance = finder.look(Frame(grey=frame([one], rng, size=(320, 300)), at=0.1))
    assert (texts(glance.gone), texts(glance.newly_read)) == ([one.text], [one.text])


def test_wrong_frames_and_paces_are_refused(one, viewfinder):
    grey = frame([one], np.random.default_rng(13), size=SIZE)
    finder = viewfinder()
    finder.look(Frame(grey=grey, at=2.0))
    with pytest.raises(PictureError) as late:
        finder.look(Frame(grey=grey, at=1.5))
    assert str(late.value) == (
        "a frame of 1.500 s after one of 2.000 s; expected frames in the order in which they were taken; "
        "leave out frames that come late"
    )
    with pytest.raises(PictureError) as coloured:
        Frame(grey=np.zeros((4, 4, 3), np.uint8), at=0.0)
    assert str(coloured.value) == (
        "a frame of shape (4, 4, 3) and type uint8; expected grey levels of shape (height, width) and type uint8; "
        "convert the frame to grey first"
    )
    with pytest.raises(PictureError) as timeless:
        Frame(grey=grey, at=float("nan"))
    assert str(timeless.value) == "a frame taken at nan s; expected a finite time; give the time in seconds"
    with pytest.raises(InputError) as still:
        Pace(patience=0)
    assert str(still.value) == "a pace with patience 0; expected a value above 0; change it"
    with pytest.raises(InputError) as hasty:
        Pace(unread_s=0.5)
    assert str(hasty.value) == (
        "a pace that drops the unread after 0.5 s and the unseen after 0.8 s; "
        "expected unread ones no sooner than unseen ones; raise unread_s"
    )


@pytest.mark.parametrize("shape", [(1, 1), (1, 200), (9, 9), (40, 3)])
def test_the_smallest_frames(shape, watch):
    assert all(glance.current == () for glance in watch([np.zeros(shape, np.uint8)] * 4))
