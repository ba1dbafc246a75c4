"""``identify`` as other programs call it."""

import json

LINES = [
    (
        "]d201095011015300031715011910AB-123",  # GS1 General Specifications, figure 2.6.14-3
        {
            "ok": True,
            "mode": "gs1",
            "elements": [["01", "09501101530003"], ["17", "150119"], ["10", "AB-123"]],
            "dates": {"17": "2015-01-19"},
            "unmet": [],
            "error": None,
        },
    ),
    (
        '"1727113013261125105501\\u001d21010000012"',
        {
            "ok": True,
            "mode": "in_house",
            "elements": [["17", "271130"], ["13", "261125"], ["10", "5501"], ["21", "010000012"]],
            "dates": {"17": "2027-11-30", "13": "2026-11-25"},
            "error": None,
        },
    ),
    (
        "https://id.gs1.org/01/09520123456788/10/ABC1/21/12345?17=180426",  # GS1 Digital Link, worked example
        {
            "ok": True,
            "mode": "digital_link",
            "elements": [["01", "09520123456788"], ["10", "ABC1"], ["21", "12345"], ["17", "180426"]],
        },
    ),
    ("", {"ok": False, "elements": [], "mode": None}),
    ("not a code", {"ok": False}),
    ('"half a string', {"ok": False}),
    ('["a list"]', {"ok": False}),
]


def test_each_line_is_answered_in_order(run):
    stdin = "".join(f"{line}\n" for line, _ in LINES).encode()
    done = run("identify", "--json", "--today", "2026-11-25", stdin=stdin)
    answers = [json.loads(line) for line in done.out.splitlines()]
    assert (done.code, len(answers), done.err) == (0, len(LINES), "")
    for (line, expected), answer in zip(LINES, answers, strict=True):
        assert {key: answer[key] for key in expected} == expected, line
        assert set(answer) == {"ok", "mode", "elements", "dates", "unmet", "doubts", "error"}
        assert answer["ok"] is (answer["error"] is None)


def test_a_raw_separator_stays_data_and_a_substitute_is_replaced_only_when_named(run):
    raw = b"1727113013261125105501\x1d21010000012\r\n"
    named = b"1727113013261125105501<GS>21010000012\n"
    done = run("identify", "--json", "--today", "2026-11-25", stdin=raw)
    assert json.loads(done.out)["elements"][-1] == ["21", "010000012"]
    done = run("identify", "--json", "--today", "2026-11-25", stdin=named)
    assert json.loads(done.out)["ok"] is False or ["10", "5501<GS>21010000012"] in json.loads(done.out)["elements"]
    done = run("identify", "--json", "--today", "2026-11-25", "--gs", "<GS>", stdin=named)
    assert json.loads(done.out)["elements"][-1] == ["21", "010000012"]


def test_any_bytes_are_answered(run):
    done = run("identify", "--json", stdin=bytes(range(1, 256)) + b"\n" + b'"\\ud800"\n' + b"1" * 100_000)
    answers = [json.loads(line) for line in done.out.splitlines()]
    assert (done.code, [one["ok"] for one in answers]) == (0, [False] * 4)


def test_people_get_titles_and_dates(run):
    done = run("identify", "--today", "2026-11-25", stdin=b"(17)271100(10)5501\n")
    assert done.out.splitlines()[:3] == [
        "(17)271100(10)5501",
        "  (17) USE BY or EXPIRY 271100  = 2027-11-30",
        "  (10) BATCH/LOT        5501",
    ]
