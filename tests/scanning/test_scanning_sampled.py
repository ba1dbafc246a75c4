"""Reading by modules asks before each step: is there time, is the place wanted, may the reading be believed."""

import cv2
import numpy as np
import pytest

from tracelabels.scanning import sampled
from tracelabels.scanning.locating import LOCATED_SHAPES
from tracelabels.scanning.merging import same_place
from tracelabels.scanning.sampled import read_by_modules


@pytest.fixture(scope="module")
def two_labels():
    """Two tubes beside each other: the picture, their texts, and where the second begins."""
    from envelope_pictures import SETTINGS, shoot, symbol_of

    shots = [
        shoot(symbol_of(kind, number), kind, SETTINGS["tilt 30"], np.random.default_rng([416, number]))
        for number, kind in enumerate(("DM18", "MQR4"))
    ]
    height = max(one.grey.shape[0] for one in shots)
    parts = [cv2.copyMakeBorder(one.grey, 0, height - len(one.grey), 0, 12, cv2.BORDER_REPLICATE) for one in shots]
    return np.hstack(parts), [one.symbol.payload.text for one in shots], parts[0].shape[1]


@pytest.fixture
def events(monkeypatch):
    """What was done, in order: places looked at and maps sampled; tests add their own."""
    done = []
    find_outlines, locate, read_sampled = (sampled.find_outlines, sampled.locate, sampled.read_sampled)

    def found(grey, *, has_time):
        assert callable(has_time)
        done.append("find_outlines")
        return find_outlines(grey)

    def located(site, *, searches, has_time):
        assert callable(has_time)
        done.append("locate")
        return locate(site, searches=searches)

    def read(grey, shape, place, *, accepts):
        done.append("read_sampled")
        return read_sampled(grey, shape, place, accepts=accepts)

    monkeypatch.setattr(sampled, "find_outlines", found)
    monkeypatch.setattr(sampled, "locate", located)
    monkeypatch.setattr(sampled, "read_sampled", read)
    return done


def always(_=None):
    return True


def never(_=None):
    return False


def test_each_label_is_read_once_where_it_lies(two_labels):
    grey, texts, border = two_labels
    read = []

    def is_unread(corners):
        return not any(same_place(corners, reading.corners) for reading in read)

    for reading in read_by_modules(grey, LOCATED_SHAPES, accepts=always, is_wanted=is_unread, has_time=always):
        read.append(reading)  # noqa: PERF402  asked about in between
    assert sorted(reading.text for reading in read) == sorted(texts)
    for reading in read:
        is_left = all(x < border for x, _ in reading.corners)
        assert is_left == (reading.text == texts[0])


def test_what_is_not_wanted_is_not_looked_at(two_labels, events):
    grey, texts, border = two_labels
    assert list(read_by_modules(grey, LOCATED_SHAPES, accepts=always, is_wanted=never, has_time=always)) == []
    assert events == ["find_outlines"]

    def on_the_right(corners):
        return all(x > border for x, _ in corners)

    right = read_by_modules(grey, LOCATED_SHAPES, accepts=always, is_wanted=on_the_right, has_time=always)
    assert next(right).text == texts[1]


def test_nothing_is_read_that_the_guards_refuse(two_labels):
    grey, texts, _ = two_labels
    asked = []

    def refuses(reading):
        asked.append(reading.text)
        return False

    assert list(read_by_modules(grey, LOCATED_SHAPES, accepts=refuses, is_wanted=always, has_time=always)) == []
    assert set(texts) <= set(asked)


def test_without_time_nothing_begins(two_labels, events):
    assert list(read_by_modules(two_labels[0], LOCATED_SHAPES, accepts=always, is_wanted=always, has_time=never)) == []
    assert events == []


@pytest.mark.parametrize("asked", range(2, 6))
def test_no_attempt_begins_once_there_is_no_time(two_labels, events, asked):
    def has_time():
        events.append("time")
        return events.count("time") < asked

    assert (
        list(read_by_modules(two_labels[0], LOCATED_SHAPES, accepts=never, is_wanted=always, has_time=has_time)) == []
    )
    refused = [at for at, event in enumerate(events) if event == "time"][asked - 1]
    assert set(events[refused:]) == {"time"}, "nothing was begun after the answer no"
    # Between two questions lies one attempt at most.
    between = "".join({"time": "|", "read_sampled": "r"}.get(one, "") for one in events)
    assert "rr" not in between


def test_where_one_is_surely_there_and_says_nothing_no_other_outline_is_looked_at_but_its_own_again(
    two_labels, monkeypatch
):
    grey, _, _ = two_labels
    looked_at, sure = [], []
    locate = sampled.locate

    def spied(site, *, searches, has_time):
        outline = site.outline
        assert not any(one is not outline and same_place(outline.corners, one.corners) for one in sure)
        looked_at.append((outline, searches))
        for located in locate(site, searches=searches, has_time=has_time):
            yield located
            if located.is_sure and outline not in sure:
                sure.append(outline)

    monkeypatch.setattr(sampled, "locate", spied)
    assert list(read_by_modules(grey, LOCATED_SHAPES, accepts=never, is_wanted=always, has_time=always)) == []
    assert len(sure) >= 2
    for outline in sure:
        assert len({searches for one, searches in looked_at if one is outline}) == 2


def test_what_is_prepared_for_an_outline_is_kept_from_one_look_to_the_next(two_labels, monkeypatch):
    sites, prepared = [], sampled.site_within
    monkeypatch.setattr(sampled, "site_within", lambda *given: sites.append(prepared(*given)) or sites[-1])
    looked_at = []
    monkeypatch.setattr(sampled, "locate", lambda site, **_: looked_at.append(site) or [])
    assert list(read_by_modules(two_labels[0], LOCATED_SHAPES, accepts=never, is_wanted=always, has_time=always)) == []
    assert len(looked_at) == 2 * len(sites)
    assert {id(site) for site in looked_at} == {id(site) for site in sites}


def test_the_likeliest_outlines_are_looked_at_thoroughly_before_the_others_at_all(two_labels, monkeypatch):
    looked = []

    def nothing(site, *, searches, **_time):  # noqa: ANN003  whatever else is asked
        looked.append((site.outline.corners, searches))
        return []

    monkeypatch.setattr(sampled, "locate", nothing)
    assert list(read_by_modules(two_labels[0], LOCATED_SHAPES, accepts=always, is_wanted=always, has_time=always)) == []
    likeliest, others = looked[:4], looked[4:]
    assert others
    for part in (likeliest, others):
        half = len(part) // 2
        assert [corners for corners, _ in part[:half]] == [corners for corners, _ in part[half:]]
        first, second = ({number for _, searches in of for number in searches} for of in (part[:half], part[half:]))
        assert first
        assert second
        assert not first & second
    assert {corners for corners, _ in likeliest}.isdisjoint(corners for corners, _ in others)
