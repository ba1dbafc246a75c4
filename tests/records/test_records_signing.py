"""Signed heads: checked without the secret, by a second implementation of the standard; wrong files refused."""

import hashlib
import json
from datetime import UTC, datetime

import pytest
from records_scenario import KEY, record_morning

from tracelabels.errors import LedgerError
from tracelabels.records import Head, head_file, open_ledger, public_key_of, read_head_file, sign_head
from tracelabels.records.signing import is_signed, parse_heads, sign

SIGNING_KEY = bytes(range(32, 64))
PUBLIC_KEY = public_key_of(SIGNING_KEY)
NOW = datetime(2027, 1, 4, 9, 30, tzinfo=UTC)
HEAD = Head(site=3, sequence=77, link=bytes(range(100, 132)))

# -- RFC 8032, 5.1: the curve, and the check of a signature, with whole numbers and nothing else ---------------------

P = 2**255 - 19
L = 2**252 + 27742317777372353535851937790883648493
D = -121665 * pow(121666, -1, P) % P


def add(one, other):
    (x1, y1), (x2, y2) = one, other
    both = D * x1 * x2 * y1 * y2 % P
    return (x1 * y2 + x2 * y1) * pow(1 + both, -1, P) % P, (y1 * y2 + x1 * x2) * pow(1 - both, -1, P) % P


def times(number, point):
    sum_ = (0, 1)
    while number:
        sum_ = add(sum_, point) if number & 1 else sum_
        point, number = add(point, point), number >> 1
    return sum_


def decoded(octets):
    y = int.from_bytes(octets, "little")
    sign_of_x, y = y >> 255, y & ((1 << 255) - 1)
    square = (y * y - 1) * pow(D * y * y + 1, -1, P) % P
    x = pow(square, (P + 3) // 8, P)
    if (x * x - square) % P:
        x = x * pow(2, (P - 1) // 4, P) % P
    assert (x * x - square) % P == 0
    return (P - x if x & 1 != sign_of_x else x), y


BASE = decoded((4 * pow(5, -1, P) % P).to_bytes(32, "little"))


def checks(public_key: bytes, message: bytes, signature: bytes) -> bool:
    """RFC 8032, 5.1.7: S times B equals R plus the hash times A."""
    r, s = signature[:32], int.from_bytes(signature[32:], "little")
    hashed = int.from_bytes(hashlib.sha512(r + public_key + message).digest(), "little") % L
    return s < L and times(s, BASE) == add(decoded(r), times(hashed, decoded(public_key)))


def test_the_second_implementation_and_ours_keep_to_the_published_vector():
    """RFC 8032, 7.1, TEST 2: secret key, public key, message 72, signature (from memory; a wrong digit would fail)."""
    secret = bytes.fromhex("4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb")
    public = bytes.fromhex("3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c")
    signature = bytes.fromhex(
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
        "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"
    )
    assert public_key_of(secret) == public
    assert checks(public, b"\x72", signature)
    assert not checks(public, b"\x73", signature)


def test_an_outsider_checks_a_head_file_with_nothing_of_ours():
    """The message is the canonical JSON (RFC 8785) of the object without its signature."""
    (one,) = json.loads(head_file([sign_head(HEAD, at=NOW, signing_key=SIGNING_KEY)]))["heads"]
    signature = bytes.fromhex(one.pop("signature"))
    assert one == {
        "site": 3,
        "sequence": 77,
        "link": HEAD.link.hex(),
        "time": "2027-01-04T09:30:00.000000Z",
        "public_key": PUBLIC_KEY.hex(),
    }
    message = json.dumps(one, sort_keys=True, separators=(",", ":")).encode()
    assert checks(PUBLIC_KEY, message, signature)
    assert not checks(PUBLIC_KEY, message.replace(b"77", b"78"), signature)


# -- reading them back -----------------------------------------------------------------------------------------------


def test_heads_come_back_as_they_were_signed(tmp_path):
    heads = tuple(
        sign_head(Head(site=site, sequence=site * 9, link=bytes([site]) * 32), at=NOW, signing_key=SIGNING_KEY)
        for site in (1, 2)
    )
    file = tmp_path / "heads.json"
    file.write_bytes(head_file(heads))
    assert read_head_file(file, public_keys=[PUBLIC_KEY]) == heads


@pytest.mark.parametrize("field", ["site", "sequence", "link", "time", "public_key", "signature"])
def test_a_head_with_any_field_changed_is_refused(field):
    whole = json.loads(head_file([sign_head(HEAD, at=NOW, signing_key=SIGNING_KEY)]))
    (one,) = whole["heads"]
    value = one[field]
    one[field] = value + 1 if isinstance(value, int) else value.replace(value[5], "1" if value[5] != "1" else "2", 1)
    with pytest.raises(LedgerError) as refused:
        parse_heads(json.dumps(whole).encode(), name="heads.json", public_keys=[PUBLIC_KEY])
    site, sequence = one["site"], one["sequence"]
    assert str(refused.value) == (
        f"head file heads.json, which holds a head of site {site} at fact {sequence} whose signature is wrong; "
        "expected a head as it was signed; "
        "it was changed since: take another copy of it, and ask who could write to this one"
    )


def test_a_head_of_another_practice_is_refused():
    content = head_file([sign_head(HEAD, at=NOW, signing_key=bytes(32))])
    with pytest.raises(LedgerError) as refused:
        parse_heads(content, name="heads.json", public_keys=[PUBLIC_KEY])
    assert str(refused.value) == (
        "head file heads.json, which holds a head of site 3 at fact 77 signed with key "
        f"{public_key_of(bytes(32)).hex()[:16]}, not {PUBLIC_KEY.hex()[:16]}; "
        "expected a head that this practice signed; "
        "name a head of this practice, or put back the signing key with which it was signed"
    )


NO_HEADS = {
    "nothing": b"",
    "rubbish": b"\x00\xff\xfe",
    "a list": b"[]",
    "another JSON": b'{"format": "tracelabels heads 1"}',
    "no heads": b'{"format": "tracelabels heads 1", "heads": []}',
    "another kind": b'{"format": "something", "heads": []}',
    "an unknown field": head_file([sign_head(HEAD, at=NOW, signing_key=SIGNING_KEY)]).replace(
        b'"site"', b'"x":1,"site"'
    ),
    "no hexadecimal": head_file([sign_head(HEAD, at=NOW, signing_key=SIGNING_KEY)]).replace(
        b'"link": "64', b'"link": "zz'
    ),
    "very long": b" " * 2_000_000,
}


@pytest.mark.parametrize("content", NO_HEADS.values(), ids=NO_HEADS)
def test_a_file_that_holds_no_heads_is_refused(tmp_path, content):
    file = tmp_path / "heads.json"
    file.write_bytes(content)
    with pytest.raises(LedgerError, match="expected a file that 'tracelabels head' left"):
        read_head_file(file, public_keys=[PUBLIC_KEY])


def test_short_keys_and_signatures_are_wrong_and_no_accident():
    assert not is_signed(b"", "x", sign(SIGNING_KEY, "x"))
    assert not is_signed(PUBLIC_KEY, "x", b"")
    assert is_signed(PUBLIC_KEY, "x", sign(SIGNING_KEY, "x"))


def test_a_ledger_gives_the_ends_of_all_its_chains(new_location, clock):
    here, there = new_location(), new_location()
    with open_ledger(here, site=1, clock=clock, key=KEY) as one:
        assert one.heads() == (Head(site=1, sequence=0, link=bytes(32)),)
        with open_ledger(there, site=2, clock=clock, key=KEY) as two:
            with two.write(by="s") as unit:
                record_morning(unit)
            one.merge(there, by="s")
            (first, second) = one.heads()
            assert (first.site, first.sequence, (second,)) == (1, 1, two.heads())
        assert one.verify(heads=[first, second]) == []
        assert [str(problem.at) for problem in one.verify(heads=[Head(site=2, sequence=999, link=bytes(32))])] == [
            "2-999"
        ]


def test_the_condition_names_library_journal_and_facts(location, clock):
    with open_ledger(location, site=1, clock=clock, key=KEY) as ledger:
        with ledger.write(by="s") as unit:
            unit.next_serials(1)
            unit.next_serials(1)
        condition = ledger.condition()
    if str(location).startswith("postgresql"):
        assert condition.library.startswith("PostgreSQL ")
        # the tests' own server runs with fsync off, and that is told
        assert condition.is_durable is ("fsync on, synchronous_commit on" in condition.journal)
    else:
        assert condition.library.startswith("SQLite 3.")
        assert condition.journal in {
            "write-ahead log with synchronous FULL",
            "rollback journal with synchronous EXTRA",
        }
        assert condition.is_durable
    assert condition.facts == ((1, 2),)
