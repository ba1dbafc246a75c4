"""Setting text by measured widths: nothing leaves its place, nothing essential is lost."""

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from tracelabels.errors import LabelError
from tracelabels.labels.boxes import line_pitch
from tracelabels.labels.fitting import ELLIPSIS, Room, clean_text, find_fitted, what_would_fit
from tracelabels.labels.layouts import Shorten
from tracelabels.lengths import Mm, Points
from tracelabels.paper import Face, cap_height, text_width


def room(
    width: float, *, height: float = 0.0, largest: float = 9.0, smallest: float = 5.0, shorten=Shorten.NEVER
) -> Room:
    return Room(
        width=Mm(width),
        height=Mm(height),
        largest=Points(largest),
        smallest=Points(smallest),
        face=Face.BOLD,
        shorten=shorten,
    )


TEXTS = st.lists(st.text("abcdefgMWil0123456789-.éŠДжλΩ", min_size=1, max_size=14), min_size=1, max_size=8).map(
    " ".join
)
ROOMS = st.builds(
    room,
    st.floats(3, 60),
    height=st.sampled_from([0.0, 2.4, 4.0, 6.1, 15.0]),
    largest=st.sampled_from([5.0, 6.25, 9.0]),
    smallest=st.sampled_from([3.75, 4.75, 5.0]),
    shorten=st.sampled_from(Shorten),
)


@given(TEXTS, ROOMS)
@example("Driftwood-Umbra Areola Blend No. 4", room(17.4, height=6.1))
def test_a_fitted_text_stays_in_its_place_and_above_its_smallest_size(text, place):
    fitted = find_fitted(text, place)
    if fitted is None:
        return
    assert place.smallest <= fitted.size <= place.largest
    assert fitted.size % 0.25 == 0
    for line, width in zip(fitted.lines, fitted.widths, strict=True):
        assert width == pytest.approx(text_width(line, place.face, fitted.size))
        assert width <= place.width + 1e-6
    if place.height:
        used = cap_height(fitted.size) + (len(fitted.lines) - 1) * line_pitch(fitted.size)
        assert used <= place.height + 1e-6 or len(fitted.lines) == 1
    else:
        assert len(fitted.lines) == 1


@given(TEXTS, ROOMS)
def test_nothing_is_lost_unless_it_may_be_abbreviated(text, place):
    fitted = find_fitted(text, place)
    if fitted is None:
        return
    shown = "".join(fitted.lines).replace(" ", "")
    if shown.endswith(ELLIPSIS):
        assert place.shorten is Shorten.ABBREVIATE
        assert text.replace(" ", "").startswith(shown[:-1])
        assert fitted.size == place.smallest
    else:
        assert shown == text.replace(" ", "")


@given(TEXTS, ROOMS)
def test_a_text_that_fits_at_the_largest_size_is_set_in_it(text, place):
    if text_width(text, place.face, place.largest) <= place.width:
        fitted = find_fitted(text, place)
        assert (fitted.size, fitted.lines) == (place.largest, (text,))


@given(TEXTS, ROOMS)
def test_no_larger_size_would_have_done_on_one_line(text, place):
    fitted = find_fitted(text, place)
    if (
        fitted is not None
        and len(fitted.lines) == 1
        and place.smallest < fitted.size < place.largest
        and not place.height
    ):
        assert text_width(text, place.face, Points(fitted.size + 0.25)) > place.width


def test_lines_break_at_spaces_and_after_hyphens_and_are_balanced():
    fitted = find_fitted("Driftwood-Umbra Areola Blend No. 4", room(17.4, height=6.1))
    assert fitted.lines == ("Driftwood-", "Umbra Areola", "Blend No. 4")


def test_entries_each_begin_a_line():
    fitted = find_fitted("2 Rosehip\nOat Milk", room(40, height=10))
    assert fitted.lines == ("2 Rosehip", "Oat Milk")


@pytest.mark.parametrize(
    ("text", "width", "lines"),
    [
        ("Rosehip and Oat Milk", 14, ("Rosehip and…",)),
        ("Rosehip and Oat Milk", 9.6, ("Rosehip…",)),
        ("Rosehip", 5, ("Ros…",)),
        ("Rosehip", 1.2, None),
    ],
)
def test_the_visible_rule_of_abbreviation(text, width, lines):
    fitted = find_fitted(text, room(width, shorten=Shorten.ABBREVIATE))
    assert (fitted.lines if fitted else None) == lines


def test_what_would_fit_names_a_width_that_does_fit():
    text, place = "Driftwood Umbra", room(10)
    assert find_fitted(text, place) is None
    assert what_would_fit(text, place) == "1 line of 14.7 mm"
    assert find_fitted(text, room(14.7)) is not None


def test_what_would_fit_names_a_word_or_lines():
    assert what_would_fit("Driftwood Umbra", room(7, height=6.1)) == "a width of 8.6 mm, which its longest word takes"
    text = "a b c " * 20
    assert what_would_fit(text, room(7, height=6.1)) == "14 lines of that width, where there is room for 3"
    enough = cap_height(Points(5.0)) + 13 * line_pitch(Points(5.0))
    assert find_fitted(text, room(7, largest=5.0, height=enough + 0.01)) is not None
    assert find_fitted(text, room(7, largest=5.0, height=enough - 0.01)) is None


@pytest.mark.parametrize(
    ("text", "cleaned"),
    [
        ("  Oat   Milk ", "Oat Milk"),
        ("Rose\u0301", "Rosé"),
        ("Ольха Ωμέγα Šípek", "Ольха Ωμέγα Šípek"),
        ("one\n two", "one\ntwo"),
    ],
)
def test_texts_are_composed_and_single_spaced(text, cleaned):
    assert clean_text(text) == cleaned


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("Rose 漆", "'漆' (CJK UNIFIED IDEOGRAPH-6F06, U+6F06)"),
        ("snow ☃", "'☃' (SNOWMAN, U+2603)"),
        ("bell\x07", "'\\x07' (a character without a name, U+0007)"),
    ],
)
def test_a_character_that_the_face_lacks_is_named(text, named):
    with pytest.raises(LabelError) as caught:
        clean_text(text)
    assert str(caught.value) == (
        f"the character {named} in '{text}'; "
        "expected characters that the text face has (Latin, Greek, Cyrillic); write it with other characters"
    )


def test_every_latin_greek_and_cyrillic_letter_of_common_alphabets_is_there():
    # Latin-1 Supplement and Latin Extended-A, monotonic Greek, Russian with Ukrainian, Belarusian and Serbian letters.
    # (U+0149 is left out: Unicode itself deprecates it.)
    letters = [
        *map(chr, {*range(0xC0, 0x180)} - {0x149}),
        *"ΑΒΓΔΕΖΗΘΙΚΛΜΝΞΟΠΡΣΤΥΦΧΨΩαβγδεζηθικλμνξοπρςστυφχψωάέήίόύώΐΰϊϋ",
    ]
    letters += [*map(chr, range(0x410, 0x450)), *"ЁёІіЇїЄєҐґЎўЈјЉљЊњЋћЂђЏџ"]
    assert clean_text("".join(letters))
