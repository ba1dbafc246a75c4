"""The steriliser's commands from the lot of indicators to what is due: answers, words, exit codes, refusals whole."""

import json

import pytest

AT = "2026-11-{:02d} {}"
PROGRAMME = ("--cycle", "air_removal", "--programme", "wrapped 134", "--hold", "134", "3.5")


@pytest.fixture
def bench(run, tmp_path, monkeypatch):
    """A practice with steriliser S1, one passed spore test, three pouches of empty tubes; run a command in it."""
    monkeypatch.delenv("TRACELABELS_PRACTICE", raising=False)
    folder = tmp_path / "practice"
    assert run("new", folder, "--name", "Tidewater Restorative", "--today", "2026-11-25").code == 0

    def call(*arguments: str, day: int = 30, code: int = 0):
        done = run(*arguments, "--practice", folder, "--today", f"2026-11-{day:02d}", "--json")
        assert done.code == code, done.err
        return [json.loads(line) for line in done.out.splitlines()], done.err

    call("prepare", "--tubes", "3", "--variant", "empty_tubes", "--size", "1.5", day=25)
    call("pack", "--preparation", "P01-0001", "--material-lot", "PF-77", day=25)
    enter = ("steriliser", "S1", "--name", "the small one", "--serial-number", "7", "--cycle", "air_removal")
    call(*enter, "--installed", AT.format(25, "06:00"))
    call("steriliser-day", "S1", "air_removal_test", "--passed", "--at", AT.format(25, "06:30"))
    first = ("load", "S1", "--count", "0", *PROGRAMME, "--spore-test", "BI-9", "over the drain")
    call(*first, "--at", AT.format(25, "07:00"))
    call("load-end", "L01-0001", "complete", "--at", AT.format(25, "08:00"))
    call("spore-read", "B01-0001", "no_growth", "--at", AT.format(26, "07:00"))
    call("steriliser-day", "S1", "air_removal_test", "--passed", "--at", AT.format(26, "07:30"))
    return call


def test_a_load_from_its_start_to_its_release(bench):
    one, other, third = serials_of(bench)
    start = ("load", "S1", one, other, third, "--count", "3", *PROGRAMME, "--at", AT.format(26, "08:00"))
    answers, words = bench(*start)
    assert answers == [
        {"done": True, "load": "L01-0002", "pouches": [one, other, third], "spore_test": None, "warnings": []}
    ]
    assert words == "Load L01-0002 of S1 started with 3 pouches.\n"
    bench("load-end", "L01-0002", "complete", "--at", AT.format(26, "09:00"))
    answers, words = bench("unload", "L01-0002", one, f"{other}=wet", "--at", AT.format(26, "09:30"), code=1)
    assert answers == [
        {"load": "L01-0002", "unloaded": [one, other], "rejected": [other], "missing": [third], "extra": []}
    ]
    assert words == (
        f"Load L01-0002: 2 pouches scanned out now.\n  rejected: {other}\n  NOT scanned out yet: {third}\n"
    )
    bench("unload", "L01-0002", third, "--at", AT.format(26, "09:40"))
    typed = [word for minute in range(5) for word in ("--reading", f"{minute}=134.2@306")]
    bench("readings", "L01-0002", *typed)
    answers, words = bench("indicators", "L01-0002", "--all", "turned", f"{third}=unclear", "--lot", "CI-3", code=1)
    assert answers == [{"done": True, "load": "L01-0002", "read": 3, "not_turned": [third], "compared": {}}]
    assert words == f"Load L01-0002: 3 indicators read; NOT turned: {third}.\n"
    answers, words = bench("release", "L01-0002", "--second", "lead")
    assert answers == [
        {"done": True, "load": "L01-0002", "decision": "released", "early": False, "excepted": [other, third]}
    ]
    assert words == (
        f"Load L01-0002: released.\n  left out: {other} (came out wet)\n"
        f"  left out: {third} (its indicator is unclear)\n"
    )


def serials_of(bench) -> tuple[str, ...]:
    """The three pouches, as the due list names them."""
    answers, _ = bench("due", day=25, code=0)
    return tuple(one["thing"] for one in answers if one["kind"] == "pouch")


def test_a_refused_start_says_every_reason(bench):
    one, *_ = serials_of(bench)
    answers, words = bench("load", "S1", one, "--count", "2", *PROGRAMME, "--at", AT.format(27, "08:00"), code=1)
    assert answers == [
        {
            "done": False,
            "reasons": [
                {
                    "kind": "count_differs",
                    "sentence": "2 pouches were counted and 1 scanned; count and scan again until both agree",
                },
                {
                    "kind": "daily_test",
                    "sentence": "no passed air-removal test of steriliser S1 is on record for 2026-11-27",
                },
            ],
        }
    ]
    assert words == (
        "Load: refused, nothing was recorded.\n"
        "  2 pouches were counted and 1 scanned; count and scan again until both agree\n"
        "  no passed air-removal test of steriliser S1 is on record for 2026-11-27\n"
    )


def test_growth_says_what_it_reaches_and_the_way_back(bench):
    one, *_ = serials_of(bench)
    ride = ("--spore-test", "BI-9", "over the drain")
    bench("load", "S1", one, "--count", "1", *PROGRAMME, *ride, "--at", AT.format(26, "08:00"))
    answers, words = bench("spore-read", "B01-0002", "growth", "--at", AT.format(26, "20:00"), code=1)
    after = "load L01-0001, whose spore test B01-0001 passed (itself not affected)"
    assert answers == [
        {
            "spore_test": "B01-0002",
            "result": "growth",
            "after": after,
            "until": "now (not returned to service)",
            "hold": "H01-0001",
            "loads": ["L01-0002"],
        }
    ]
    assert words == (
        f"Spore test B01-0002: growth.\nAffected: after {after}, until now (not returned to service).\n"
        "Hold H01-0001 on loads L01-0002; the steriliser is out of service for such cycles.\n"
        "Who had what: tracelabels recall bi:B01-0002\n"
    )
    answers, _ = bench("return-to-service", "S1", code=1)
    assert [one["sentence"] for one in answers[0]["reasons"]] == [
        "3 consecutive passed spore tests of air removal cycles are needed since it was taken out; on record: 0 passed"
    ]
    answers, words = bench("return-to-service", "S1", "--override", "examined")
    assert (answers[0]["done"], len(answers[0]["overridden"])) == (True, 1)
    answers, words = bench("lift", "H01-0001", "--reason", "destroyed all")
    assert words == "Hold H01-0001 is lifted.\n"


def test_what_is_due_is_listed_by_day_and_what_is_late_is_a_finding(bench):
    one, other, third = serials_of(bench)
    bench("consumable", "indicators", "CI-3", "--expiry", "2026-12-05")
    serviced = ("steriliser-day", "S1", "serviced", "--next-due", "2026-12-03", "--at", AT.format(26, "07:45"))
    bench(*serviced)
    ride = ("--spore-test", "BI-9", "over the drain")
    bench("load", "S1", one, "--count", "1", *PROGRAMME, *ride, "--at", AT.format(26, "08:00"))
    answers, words = bench("due", "--within", "30", code=1)
    assert [(one["kind"], one["thing"], one["on"], one["overdue"]) for one in answers] == [
        ("pouch", other, "2026-11-25", False),
        ("pouch", third, "2026-11-25", False),
        ("load_end", "L01-0002", "2026-11-26", True),
        ("spore_reading", "B01-0002", "2026-11-27", True),
        ("service", "S1", "2026-12-03", False),
        ("spore_test", "S1", "2026-12-03", False),
        ("lot", "indicators/CI-3", "2026-12-05", False),
    ]
    assert words.splitlines()[2:4] == [
        "OVERDUE 2026-11-26: load L01-0002: nobody entered how it ended",
        "OVERDUE 2026-11-27: spore test B01-0002 in load L01-0002 is to be read from 2026-11-27 08:00",
    ]
    assert len(bench("due", "--within", "0", code=1)[0]) == 4
    bench("load-end", "L01-0002", "complete", "--at", AT.format(26, "09:00"))
    kinds = [one["kind"] for one in bench("due", "--within", "0", code=1)[0]]
    assert kinds == ["pouch", "pouch", "release", "unloading", "spore_reading"]


def test_labels_are_applied_or_destroyed(bench):
    sheet = ("--layout", "tube-empty", "--sheet", "a4-7x27-25.4x10", "--stock-withstands-steam")
    bench("print", "--preparation", "P01-0001", *sheet, day=25)
    listed = [one for one in bench("due", day=25)[0] if one["kind"] == "labels"]
    assert [one["sentence"] for one in listed] == ["print run R01-0001: 3 labels neither applied nor destroyed"]
    (said,), _ = bench("labels-used", "R01-0001", code=1)
    one, other, third = said["open"]
    answers, words = bench("labels-used", "R01-0001", "--destroyed", one, "--applied", other, code=1)
    assert answers == [{"run": "R01-0001", "applied": 1, "destroyed": 1, "open": [third]}]
    assert words == f"Print run R01-0001: 1 labels applied, 1 destroyed, 1 neither.\n  neither: {third}\n"
    answers, _ = bench("labels-used", "R01-0001", "--rest-applied")
    assert answers == [{"run": "R01-0001", "applied": 2, "destroyed": 1, "open": []}]
    assert not [one for one in bench("due", day=25)[0] if one["kind"] == "labels"]
    _, words = bench("labels-used", "R01-0001", "--applied", one, code=2)
    assert words == (
        f"tracelabels: label {one} applied, said to be destroyed before; expected one fate for each label; "
        "correct what was said before, with the reason, if it was wrong\n"
    )


@pytest.mark.parametrize(
    ("command", "words"),
    [
        (
            ("load-end", "L01-0001", "complete", "--at", "yesterday"),
            ("--at 'yesterday'; expected a local time such as \"2026-11-25 14:05\"; "
            "write year, month, day, hours and minutes"),
        ),
        (
            ("unload", "L01-0001", "010000012=damp"),
            ("pouch '010000012=damp'; expected a serial, or a serial with one of sound, wet, torn, not_turned, other "
            "after =; write it as 010000012=wet"),
        ),
        (
            ("readings", "L01-0001", "--verdict", "met", "--reading", "134.2"),
            "--reading '134.2'; expected MINUTE=DEGREES or MINUTE=DEGREES@KPA; write it as 0=134.2@306",
        ),
        (
            ("readings", "L01-0001", "--verdict", "met", "--reading", "0=hot"),
            "--reading 'hot'; expected a number such as 3.5; write it with a point",
        ),
        (
            ("indicators", "L01-0001", "010000012=dark"),
            ("indicator '010000012=dark'; expected a pouch's serial, = and one of turned, not_turned, unclear; "
            "write it as 010000012=turned"),
        ),
        (
            ("indicators", "L01-0001", "--of-load", "turned", "--picture", f"010000012={__file__}"),
            ("--picture of 010000012, whose indicator is not among those read; expected a photograph of one that is "
            "read now; add what it showed, such as 010000012=turned"),
        ),
        (
            ("indicators", "L01-0001", "010000012=turned", "--picture", f"010000012={__file__}"),
            "test_cli_processing.py, which is no photograph; expected a photograph; photograph the indicator",
        ),
        (
            ("consumable", "indicators", "CI-3", "--turned", __file__),
            "test_cli_processing.py, which is no photograph; expected a photograph; photograph the indicator",
        ),
        (
            ("consumable", "spore_tests", "BI-3", "--population", "10"),
            ("a biological indicator with 10 spores; expected more than 100, as on its certificate (1.0e5 or more for "
            "moist heat); copy the population from the certificate, such as 2.3e6"),
        ),
        (
            ("load", "S1", "--count", "0", *PROGRAMME, "--in-reference-tube"),
            "--in-reference-tube without a spore test; expected a spore test; add --spore-test",
        ),
        (
            ("steriliser-day", "S1", "leak_test"),
            "leak test without a result; expected whether it passed or failed; add --passed or --failed",
        ),
        (
            ("steriliser-day", "S1", "repaired", "--failed"),
            ("repaired with a test's result; expected a result of tests only; leave out --passed and --failed, and say "
            "in --note what was found"),
        ),
        (
            ("hold", "L01-0099", "--reason", "a doubt"),
            ("'L01-0099' (nothing on record); expected one thing on record, such as load:L01-0001, pouch:SERIAL, "
            "lot:MAKER/BATCH, consumable:KIND/LOT; write its kind before it, with a colon"),
        ),
    ],
)  # fmt: skip
def test_wrong_input_is_one_sentence(bench, command, words):
    _, said = bench(*command, code=2)
    assert said == f"tracelabels: {words}\n"


@pytest.mark.parametrize(
    ("command", "given"),
    [
        (("consumable", "indicators", "CI-3", "--expiry", ""), "--expiry"),
        (("consumable", "indicators", "CI-3", "--from", ""), "--from"),
        (("spore-test", "L01-0001", "--lot", "BI-9", "--placement", "at the door", "--expiry", ""), "--expiry"),
        (("steriliser-day", "S1", "serviced", "--next-due", ""), "--next-due"),
        (("receive", "R-12", "--batch", "5501", "--received", ""), "--received"),
        (("open", "010000012", "--on", ""), "--on"),
        (("load", "S1", "--count", "0", *PROGRAMME, "--drying", ""), "--drying"),
        (
            ("steriliser", "S2", "--name", "x", "--serial-number", "8", "--cycle", "gravity", "--litres", ""),
            "--litres",
        ),
    ],
)
def test_an_option_that_was_left_empty_is_refused_and_never_taken_as_not_given(bench, command, given):
    if command[0] == "receive":
        bench("product", "Rosehip", "--item", "R-12", "--maker", "Saltmarsh Colour")
    _, said = bench(*command, code=2)
    assert said.startswith(f"tracelabels: {given} ''; expected a ")


def test_stock_is_kept_back_and_a_decision_is_answered_once(bench, tmp_path):
    one, *_ = serials_of(bench)
    answers, words = bench("hold", f"pouch:{one}", "L01-0001", "--reason", "a doubt", "--request", "tap-1")
    assert answers == [{"hold": "H01-0001", "items": [f"pouch {one}", "load L01-0001"]}]
    again = bench("hold", f"pouch:{one}", "L01-0001", "--reason", "a doubt", "--request", "tap-1")
    assert again[0] == answers
    other = bench("hold", f"pouch:{one}", "--reason", "a doubt", "--request", "tap-1", code=2)
    assert "something else was recorded" in other[1]
    bench(
        "consumable", "indicators", "CI-3", "--maker", "Lantern Packs", "--reference", "brown", "--from", "2026-11-26"
    )
    answers, words = bench("consumable", "indicators", "CI-3", "--withdraw", "pale")
    assert (answers, words) == (
        [{"consumable": "indicators/CI-3", "withdrawn": True}],
        "Withdrew consumable indicators/CI-3: hold H01-0002.\n",
    )
    file = tmp_path / "logger.csv"
    file.write_text("minute,C\n0,20\n9,134.2\n10,134.3\n11,134.2\n12,134.2\n13,134.3\n14,90\n")
    answers, _ = bench("readings", "L01-0001", "--file", str(file))
    assert (answers[0]["verdict"], len(answers[0]["evidence"])) == ("met", 64)
    assert answers[0]["computed"]["hold_minutes"] > 4
    answers, _ = bench("spore-test", "L01-0001", "--lot", "BI-9", "--placement", "at the door", "--hours", "48")
    assert answers == [
        {"done": True, "spore_test": "B01-0002", "load": "L01-0001", "due_at": "2026-11-27T07:00:00+00:00"}
    ]
    bench("indicators", "L01-0001", "--of-load", "turned", "--type", "5")
    answers, _ = bench("release", "L01-0001", code=1)
    assert [reason["kind"] for reason in answers[0]["reasons"]] == ["spores_incubating", "held"]
    wait = ("release", "L01-0001", "--decision", "quarantine", "--reason", "not read yet", "--request", "tap-2")
    assert bench(*wait)[0] == bench(*wait)[0]
    assert bench("verify")[0]


def test_a_local_time_that_the_clocks_skipped_is_refused():
    from zoneinfo import ZoneInfo

    from tracelabels.cli.options import parse_moment
    from tracelabels.errors import InputError

    vienna = ZoneInfo("Europe/Vienna")  # on 2026-03-29 the clocks go from 02:00 to 03:00
    assert parse_moment("2026-03-29 03:30", vienna).isoformat() == "2026-03-29T01:30:00+00:00"
    with pytest.raises(InputError) as refused:
        parse_moment("2026-03-29 02:30", vienna)
    assert str(refused.value) == (
        "--at '2026-03-29 02:30'; expected a local time such as \"2026-11-25 14:05\"; "
        "write year, month, day, hours and minutes"
    )
