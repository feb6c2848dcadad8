"""Words of others are shown without what breaks a line or is no sign."""

import pytest

from fitter.shown import encodable, shown

SEEN = ["", "Märzwiese – 2 × 3.jpg", "子犬.jpg", "\N{NO-BREAK SPACE}a", "می\u200cروم", "👩\u200d👧.jpg"]
UNSEEN = ["\n", "\r", "\t", "\0", "\x1b", "\x85", "\u2028", "\u2029", "\u202e", "\ufeff", "\udcff"]


@pytest.mark.parametrize("text", SEEN)
def test_what_can_be_seen_stays(text):
    """Letters of any script, signs, spaces, and what joins letters."""
    assert shown(text) == text == encodable(text)


@pytest.mark.parametrize("odd", UNSEEN)
def test_what_cannot_be_seen_is_replaced(odd):
    """One for one, so that columns stay in line."""
    assert shown(f"a{odd}{odd}b") == "a��b"


def test_a_document_keeps_all_but_what_utf_8_cannot_hold():
    """JSON escapes line breaks itself."""
    assert encodable("a\n\u2028\udcffb").encode() == "a\n\u2028�b".encode()
