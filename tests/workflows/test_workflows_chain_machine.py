"""Random histories of all the workflows, against a checker by brute force (``chain_oracle.py``, ``chain_reach.py``)."""

import itertools
import time
from collections import Counter
from datetime import date
from functools import partialmethod

import pytest
from chain_machine import ChainMachine
from chain_told import TOLD
from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import RULE_MARKER, run_state_machine_as_test

from tracelabels.workflows.new_practice import make_practice

SHORT = settings(
    max_examples=2,
    stateful_step_count=25,
    deadline=None,
    suppress_health_check=list(HealthCheck),
    derandomize=True,
    database=None,
    phases=(Phase.generate,),  # a history of twenty-five steps is read as it is; the long run shrinks it
)
FEW = settings(SHORT, max_examples=2, stateful_step_count=12)
LONG_SECONDS = 300
"""For each focus; batches of histories are begun until then."""
LONG = settings(
    SHORT,
    max_examples=5,
    stateful_step_count=50,
    derandomize=False,
    phases=(Phase.generate, Phase.shrink),
    print_blob=True,
)


@pytest.fixture
def machine(tmp_path):
    """Makes the machine's class, with a folder of its own for each history."""
    make_practice(tmp_path / "template", name="Tidewater Restorative", site=1, today=date(2027, 1, 4))
    for one in (tmp_path / "template").glob("ledger*"):
        one.unlink()
    numbers = itertools.count(1)

    def call(**changes: object) -> type[ChainMachine]:
        made = {"template": tmp_path / "template", "folders": staticmethod(lambda: tmp_path / f"p{next(numbers)}")}
        return type("Machine", (ChainMachine,), {**made, "seen": Counter(), **changes})

    return call


CHAIR = {
    "a_day_of_work",
    "a_client_comes",
    "another_client_comes",
    "a_pouch_is_opened",
    "a_tube_is_filled",
    "a_thing_is_used",
    "a_bottle_is_used_directly",
    "a_use_is_taken_back",
    "a_bottle_comes",
    "a_thing_is_kept_back",
    "a_hold_is_lifted",
    "a_batch_is_corrected",
    "a_growth_is_seen_late",
    "a_recall_is_recorded",
    "an_opening_is_corrected",
    "an_old_tap_comes_again",
    "an_incident_is_reported",
    "a_thing_is_moved",
    "a_thing_is_destroyed",
    "days_pass",
}
STERILISER = {
    "a_day_of_work",
    "a_pouch_is_packed",
    "a_load_goes_well",
    "a_load_starts",
    "a_load_ends",
    "a_load_is_unloaded",
    "readings_are_recorded",
    "an_indicator_is_read",
    "a_spore_test_is_read",
    "a_growth_is_seen_late",
    "a_second_spore_test_rode_along",
    "test_loads_pass",
    "a_load_is_decided",
    "the_steriliser_is_repaired",
    "the_steriliser_is_returned",
    "the_practice_decides",
    "a_hold_is_lifted",
    "a_client_comes",
    "days_pass",
}
CLIENTS = {
    "a_day_of_work",
    "a_client_comes",
    "another_client_comes",
    "a_thing_is_used",
    "a_client_is_registered",
    "a_care_level_is_changed",
    "an_incident_is_reported",
    "a_recall_is_recorded",
    "a_recall_goes_on",
    "something_went_wrong",
    "it_healed",
    "a_client_asks_to_be_erased",
    "an_old_tap_comes_again",
    "the_practice_decides",
    "days_pass",
}
FOCUS = {"everything": None, "chair": CHAIR, "steriliser": STERILISER, "clients": CLIENTS}
REACHED = {
    "everything": {"gate go", "gate stop"},
    "chair": {"gate go", "opened, GO True", "use with GO", "filled at the chair"},
    "clients": {"gate go", "use with GO"},
    "steriliser": {"gate go", "load released"},
}
"""What the short run must have met: a machine that never gets there shows nothing. The rest is told (``TOLD``)."""


def focused(machine: type[ChainMachine], names: set[str] | None) -> type[ChainMachine]:
    """Return a machine that has only some of the rules, so that its histories go deeper there."""
    if names is None:
        return machine
    assert names <= set(dir(machine))
    rules = [one for one in dir(machine) if hasattr(getattr(machine, one), RULE_MARKER) and one not in names]
    return type("Focused", (machine,), {one: _plain(getattr(machine, one)) for one in rules})


def _plain(rule):
    """Return what a rule does, as a method that is no rule."""
    return partialmethod(_call, rule)


def _call(self, rule, **drawn: object) -> None:
    rule(self, **drawn)


@pytest.mark.slow
@pytest.mark.parametrize("told", TOLD)
def test_histories_that_are_told_agree_with_the_checker(machine, told):
    one = machine()()
    try:
        one.a_first_day(is_released=True, is_strict=True, early=False)
        one.all_holds()
        told(one)
        one.all_holds()
    finally:
        one.teardown()


@pytest.mark.slow
@pytest.mark.parametrize("focus", FOCUS)
def test_random_histories_agree_with_the_checker(machine, focus):
    made = machine()
    run_state_machine_as_test(focused(made, FOCUS[focus]), settings=SHORT)
    assert {one for one in REACHED[focus] if not made.seen[one]} == set(), made.seen


@pytest.mark.slow
def test_random_histories_agree_with_the_checker_on_postgresql(machine, new_database):
    made = machine(location=staticmethod(lambda _: new_database()))
    run_state_machine_as_test(focused(made, CHAIR), settings=FEW)
    assert made.seen["gate go"]


@pytest.mark.long
@pytest.mark.parametrize("focus", FOCUS)
def test_many_random_histories_agree_with_the_checker(machine, focus, capsys):
    """New histories each time it is run, and said how many; what fails is shrunk and printed."""
    made, begun = machine(), time.monotonic()
    while time.monotonic() - begun < LONG_SECONDS:
        run_state_machine_as_test(focused(made, FOCUS[focus]), settings=LONG)
    with capsys.disabled():
        took = time.monotonic() - begun
        print(f"\n{focus}: {made.seen['histories']} histories, {made.seen['steps']} steps, {took:.0f} s; {made.seen}")
