"""Signs that no font can draw are written otherwise and told; nothing is an empty box, nothing is lost silently."""

import unicodedata

import pytest

from pupilage.reports.pack.drawable import ALWAYS, fit
from pupilage.reports.pack.typesetting import can_draw


def latin_only(text):
    return all(unicodedata.name(sign, "").startswith("LATIN") for sign in text)


def test_text_in_a_script_with_a_font_stays():
    assert fit({"dog": "محمد"}, lambda text: True) == fit({"dog": "محمد"}, lambda text: True)
    assert fit({"dog": "محمد"}, lambda text: True).data == {"dog": "محمد"}


def test_letters_without_a_font_give_way_to_a_mark_and_are_told_by_their_code():
    found = fit({"dog": "小虎 Tansy", "rows": [["小"]]}, latin_only)
    assert found.data == {"dog": "[…] Tansy", "rows": [["[…]"]]}
    assert found.missing == ("CJK: U+5C0F U+864E",)


def test_emoji_without_a_font_gives_way_to_its_name():
    found = fit("Tansy 🐶\ufe0f", latin_only)
    assert found.data == "Tansy [dog face]"
    assert found.missing == ("SYMBOL: U+1F436",)


def test_emoji_without_a_font_is_a_mark_where_its_english_name_would_be_the_wrong_language():
    assert fit("Tansy 🐶🐾, 小虎", latin_only, named=False).data == "Tansy […], […]"


def test_control_signs_and_half_pairs_become_spaces():
    assert fit("a\x00b\ud83d", latin_only).data == "a b "


def test_long_text_in_a_script_without_a_font_is_given_up_as_a_whole_after_one_question():
    asked = []
    long = "".join(chr(0x4E00 + i) for i in range(1500))
    found = fit(long, lambda text: asked.append(text) or False)
    assert len(asked) == 1
    assert found.data == "[…]"
    assert found.missing[0].endswith("…")


def test_figures_and_flags_are_left_alone():
    assert fit({"made": [2026, 5, 12], "large": False}, latin_only).data == {"made": [2026, 5, 12], "large": False}


def test_the_typesetters_own_font_draws_all_that_is_taken_for_granted():
    signs = "".join(chr(i) for i in range(0x20, 0x3000) if ALWAYS.match(chr(i)))
    assert can_draw(signs)


@pytest.mark.parametrize("sign", ["\ue123", "\U000f1234"])
def test_private_signs_are_never_asked_for(sign):
    assert sign not in fit(f"a{sign}b", lambda text: True).data
