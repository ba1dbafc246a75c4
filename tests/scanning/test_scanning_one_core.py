"""Within a block on one core the libraries of linear algebra use one thread, after it what they used before."""

import threading

import numpy as np
import pytest
from threadpoolctl import threadpool_info, threadpool_limits

from tracelabels.scanning.locating import LOCATED_SHAPES
from tracelabels.scanning.one_core import on_one_core
from tracelabels.scanning.sampled import read_by_modules


def threads():
    return {one["num_threads"] for one in threadpool_info() if one["user_api"] == "blas"}


@pytest.fixture(autouse=True)
def _three_threads():
    with threadpool_limits(3, user_api="blas"):
        assert threads() == {3}
        yield


def test_the_number_of_threads_is_put_back():
    with on_one_core():
        assert threads() == {1}
    assert threads() == {3}


def test_an_error_puts_it_back():
    with pytest.raises(ZeroDivisionError), on_one_core():
        1 / 0  # noqa: B018
    assert threads() == {3}


def test_of_two_threads_the_first_puts_it_back_and_the_second_leaves_it_alone():
    entered, may_leave = threading.Event(), threading.Event()

    def stay():
        with on_one_core():
            entered.set()
            may_leave.wait(10)

    other = threading.Thread(target=stay)
    with on_one_core():
        other.start()
        assert entered.wait(10)
        assert threads() == {1}
    assert threads() == {3}
    may_leave.set()
    other.join()
    assert threads() == {3}
    with on_one_core():
        assert threads() == {1}


def test_modules_are_sampled_on_one_core():
    from envelope_pictures import SETTINGS, shoot, symbol_of

    seen = []

    def note(_):
        seen.append(threads())
        return True

    shot = shoot(symbol_of("DM18", 1), "DM18", SETTINGS["tilt 30"], np.random.default_rng(11))
    texts = [
        reading.text
        for reading in read_by_modules(
            shot.grey, LOCATED_SHAPES, accepts=note, is_wanted=lambda _: not seen, has_time=lambda: True
        )
    ]
    assert texts == [shot.symbol.payload.text]
    assert seen
    assert set().union(*seen) == {1}
