"""Text files, text options, filler and sharing words out."""

import pytest
from hypothesis import given as examples
from hypothesis import strategies as st

from fitter.errors import InputError, UseError
from fitter.words import (
    LARGEST_FILE,
    MOST_WORDS,
    clean_text,
    clean_title,
    filler,
    given_count,
    given_text,
    parse_text_option,
    read_text_file,
    split_text,
)


@pytest.fixture
def story(tmp_path):
    """Write a short UTF-8 text with a byte order mark and line ends of another system."""
    path = tmp_path / "story.txt"
    path.write_bytes("\ufeffWe swam.\r\n\r\nBiscuit shook herself.\r\n".encode())
    return path


def test_a_text_file_is_read_as_paragraphs(story):
    """The byte order mark and the line ends do not reach the text."""
    assert read_text_file(story) == "We swam.\n\nBiscuit shook herself."


def test_letters_are_composed(tmp_path):
    """A letter and its combining accent become one character (Unicode NFC)."""
    path = tmp_path / "accent.txt"
    path.write_text("cafe\u0301", encoding="utf-8")
    assert read_text_file(path) == "caf\u00e9"


@pytest.mark.parametrize(
    ("content", "problem"),
    [
        (b"", "has no words"),
        (b" \n\t\n", "has no words"),
        (b"caf\xe9", "not UTF-8"),
        ("We swam.".encode("utf-16"), "not UTF-8"),
        (b"We\x00swam", r"line 1: control character U\+0000"),
        (b"one\ntwo \x1b[31m red", r"line 2: control character U\+001B"),
        ("Biscuit \U0001f436".encode(), r"U\+1F436"),
        (b"word " * (MOST_WORDS + 1), "5,001 words"),
        (b"x" * (LARGEST_FILE + 1), "over 1 MB"),
    ],
)
def test_a_bad_text_file_is_one_clear_line(tmp_path, content, problem):
    """Each is refused in one line that names the file."""
    path = tmp_path / "bad.txt"
    path.write_bytes(content)
    with pytest.raises(InputError, match=problem) as caught:
        read_text_file(path)
    assert "bad.txt" in caught.value.message and "\n" not in caught.value.message


@pytest.mark.parametrize("name", ["missing.txt", ".", "a\0b"])
def test_a_text_path_that_is_no_file(tmp_path, name):
    """Missing files, folders and impossible paths."""
    with pytest.raises(InputError, match="text"):
        read_text_file(f"{tmp_path}/{name}")


def test_an_option_names_a_slot(story):
    """SLOT=FILE chooses the slot; FILE alone leaves it open."""
    assert parse_text_option(f"card-2={story}").slot == "card-2"
    made = parse_text_option(str(story))
    assert (made.slot, made.words, made.filler) == (None, 5, False)


def test_an_option_may_be_a_file_with_an_equals_sign(tmp_path, monkeypatch):
    """An existing file of that very name wins over the slot."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "day=1.txt").write_text("We swam.", encoding="utf-8")
    assert parse_text_option("day=1.txt").slot is None


@pytest.mark.parametrize("option", ["", "card=", "=story.txt", "no slot!=story.txt"])
def test_a_bad_option_is_explained(option):
    """The form wanted is named."""
    with pytest.raises(UseError, match="SLOT=FILE"):
        parse_text_option(option)


def test_given_words_are_counted():
    """Real words and filler are told apart."""
    assert given_text("We swam.", slot="card").words == 2
    made = given_count(60)
    assert made.filler and made.words == 60 == len(made.text.split())


@pytest.mark.parametrize("count", [1, 2, 7, 60, 150, 400, MOST_WORDS])
def test_filler_has_exactly_the_words_asked_for(count):
    """Every count, the same text each time, ending like a sentence."""
    text = filler(count)
    assert len(text.split()) == count
    assert text == filler(count)
    assert text.endswith(".")


@pytest.mark.parametrize("count", [0, -3, MOST_WORDS + 1, 100_000])
def test_an_absurd_count_is_refused(count):
    """100,000 words are refused before anything is set."""
    with pytest.raises(InputError, match="words"):
        filler(count)


def test_a_title_is_one_line():
    """White space becomes single spaces; empty and endless titles are refused."""
    assert clean_title(" A summer\n at  Marrow Lake ") == "A summer at Marrow Lake"
    for bad in ("", "  ", "lake " * 50, "a\x07b"):
        with pytest.raises(InputError):
            clean_title(bad)


def test_words_are_shared_at_a_paragraph_where_one_is_near():
    """A paragraph's end near the share wins over the exact place."""
    text = "One two three four five.\n\nSix seven eight. Nine ten eleven twelve."
    assert split_text(text, (1, 1)) == (
        "One two three four five.",
        "Six seven eight. Nine ten eleven twelve.",
    )


def test_words_are_shared_at_a_sentence_before_a_word():
    """Without a near paragraph's end, a near sentence's end is taken."""
    text = "One two three four five six. Seven eight nine ten eleven."
    assert split_text(text, (1, 1)) == ("One two three four five six.", "Seven eight nine ten eleven.")


def test_words_are_shared_where_allowed():
    """Cuts keep to the ends that are named, and fall nearest the share where none is."""
    text = "One two three four five six.\n\nHa ho. Eight nine ten eleven twelve thirteen."
    assert split_text(text, (1, 1))[0].endswith("six.")
    assert split_text(text, (1, 1), ends=("sentence",))[0].endswith("Ha ho.")
    assert split_text(text, (1, 2), ends=())[0].endswith("five")


@examples(
    st.lists(st.sampled_from(["lake", "a", "end.", "Biscuit", "jetty,", "\n\n"]), min_size=8, max_size=60),
    st.lists(st.floats(0.1, 5), min_size=1, max_size=4),
)
def test_sharing_loses_no_word(words, shares):
    """Every word is in exactly one piece, in order, and no piece is empty."""
    text = " ".join(words)
    if len(text.split()) < len(shares):
        return
    pieces = split_text(text, shares)
    assert len(pieces) == len(shares) and all(piece.strip() for piece in pieces)
    assert " ".join(pieces).split() == text.split()


def test_paragraphs_survive_sharing():
    """A paragraph's end inside a piece stays a blank line."""
    text = "A b c.\n\nD e f. " + "word " * 30
    assert split_text(text, (1, 2))[0].startswith("A b c.\n\nD e f.")


@pytest.mark.parametrize("shares", [(), (0, 1), (-1, 2), (float("nan"), 1), (1, 1, 1, 1)])
def test_impossible_shares_are_refused(shares):
    """No shares, shares that are not positive, more shares than words."""
    with pytest.raises(UseError):
        split_text("one two three", shares)


@pytest.mark.parametrize("length", [81, 3_000])
def test_an_endless_word_is_refused(length):
    """It is wider than any card, and nothing is hyphenated."""
    with pytest.raises(InputError, match=r"the word 'w{20}…' has [\d,]+ letters and is wider than any card; break"):
        clean_text("before " + "w" * length + " after")
    assert clean_text("w" * 80) == "w" * 80
