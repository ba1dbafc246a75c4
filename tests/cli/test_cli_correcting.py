"""Corrections from the command line: the answer lists labels to print again; the history shows both versions."""

import json


def test_a_batch_is_corrected_and_its_labels_are_listed(run, practice):
    words = ("correct", "bottle", "010000012", "--set", "batch=5502", "--reason", "misread", "--practice", practice)
    done = run(*words, "--json", "--today", "2026-11-25")
    said = json.loads(done.out)
    assert done.code == 0
    assert (said["name"], said["changes"]) == ("bottle 010000012", {"batch": ["5501", "5502"]})
    assert len(said["outdated_labels"]) == 4
    assert said["outdated_labels"][0]["differences"] == ["batch 5501, on record is 5502"]
    assert "print them again (4)" in done.err
    shown = run("history", "bottle", "010000012", "--json", "--practice", practice).out
    lines = [json.loads(line) for line in shown.splitlines()]
    assert [(one["reason"], one["changes"].get("batch")) for one in lines[:2]] == [
        (None, ["-", "5501"]),
        ("misread", ["5501", "5502"]),
    ]
    assert "bottle_opened" in [one.get("kind") for one in lines[2:]]
    shown = run("history", "bottle", "010000012", "--practice", practice).out
    assert "  batch                      5501 -> 5502\n" in shown


def test_what_is_named_cannot_be_taken_back_and_bad_words_are_refused(run, practice):
    done = run("take-back", "bottle", "010000012", "--reason", "slip", "--practice", practice)
    assert (done.code, "names; expected a thing that no other names" in done.err) == (2, True)
    done = run("take-back", "tube", "010000020", "--reason", "slip", "--practice", practice)
    assert done.code == 0
    assert done.err.startswith("Took back tube 010000020 (fact 1-")
    done = run("correct", "tube", "010000036", "--set", "lot", "--reason", "slip", "--practice", practice)
    assert (done.code, done.err) == (
        2,
        "tracelabels: --set 'lot'; expected FIELD=TEXT; write for example --set batch=5502\n",
    )
