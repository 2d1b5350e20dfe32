"""Operation notes: what the reader passes over for speed is what a plain reading would find nothing in."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hingeline.records import opnote_scan
from hingeline.records.opnote import read_note
from hingeline.records.opnote_phrases import HEADS, ROOT, longest
from hingeline.records.opnote_signs import coded, counts
from hingeline.records.opnote_spelling import CANON
from hingeline.records.opnote_text import read_words

NOTES = tomllib.loads(Path(__file__).with_name("opnote_examples.toml").read_text(encoding="utf-8"))["note"]
TEXTS = [note["text"] for note in NOTES]

PLAIN = re.compile(
    r"[^\W\d_][^\W_]*(?:'[a-z]+)?|\d+(?:[.,]\d+)*|\n(?:[ ]*\n)*"
    r"|[\[(](?:[ _.-]{0,3}|[ ]?(?:x{1,2}|✗|✘|✕|×|☑|\*|\+)[ ]?)[\])]"
    r"|_+(?:x|☑)_+|_{2,}|::+|--+|[^\w\s]"
)
"""The words of a note by one pattern for all letters, match by match, blanks between them."""

LETTERS = [*"abxl Z0129.,;:'-_()[]{}\n\t/?&@#!|", "no direct ", "\x1c", "\x1f", "left  ", "PL2 "]


def plainly(text: str) -> tuple[list[str], list[tuple[int, int]]]:
    lowered = text.lower().replace("\t", " ")
    words: list[str] = []
    spans: list[tuple[int, int]] = []
    for found in PLAIN.finditer(lowered):
        for word in CANON[found.group()].split(" ") if len(found.group()) > 1 else [CANON[found.group()]]:
            words.append(word)
            spans.append(found.span())
    return words, spans


@given(st.one_of(st.sampled_from(TEXTS), st.lists(st.sampled_from(LETTERS), max_size=60).map("".join)))
@settings(max_examples=400, deadline=None)
def test_words_and_their_places_are_those_of_plain_matching(text):
    if not text.isascii():
        text = text.encode("ascii", "ignore").decode()
    read = read_words(text)
    assert (read.words, read.spans) == plainly(text)


def test_words_that_are_passed_over_begin_nothing():
    passed = 0
    for text in TEXTS:
        words = read_words(text).words
        for at, word in enumerate(words):
            begins = opnote_scan._BEGINS[word]
            if begins == 0:
                passed += 1
                assert longest(ROOT, words, at) == (None, at), word
                assert longest(HEADS, words, at) == (None, at), word
                assert word not in (".", ";", "!", "\n", "\n\n")
            if begins < 2:
                assert coded(words, at, word)[0] == [], word
    assert passed > 500


def test_phrases_that_are_not_looked_at_twice_always_count():
    for text in TEXTS:
        read = read_words(text)
        for at, word in enumerate(read.words):
            tags, after = longest(ROOT, read.words, at)
            if tags and not tags & opnote_scan._COUNTED and word != "no":
                assert counts(tags, read.words, read.spans, at, after), word


@pytest.mark.parametrize(
    "piece",
    ["  ", " | ", "l" + " " * 115 + "r\n", "left  right\na  b  c\n", "sac tied, ", "Mesh: ", "converted ", "[ ]", "'",
     "closed at the ring ", "femoral canal closed ", "direct/", "Findings: direct hernia.\n"],
)  # fmt: skip
def test_ten_thousand_of_anything_are_read_to_an_end(piece):
    note = read_note("Left groin. " + piece * 10_000)
    assert note.side in (None, "left", "right", "both")


class Looked(list[str]):
    """Words that count how often one is looked at."""

    looks = 0

    def __getitem__(self, at):
        self.looks += 1
        return super().__getitem__(at)


def test_a_line_of_articles_and_dashes_is_looked_at_a_few_times_a_word():
    for begin in ("a", "-", "the"):
        words = Looked([begin, "-"] * 5_000)
        for at in range(len(words)):
            longest(ROOT, words, at)
        assert words.looks <= 10 * len(words)


def test_articles_and_hyphens_inside_a_phrase_are_still_passed_over():
    words = ["deep", "-", "the", "-", "inguinal", "ring"]
    assert longest(ROOT, words, 0) == (longest(ROOT, ["deep", "inguinal", "ring"], 0)[0], len(words))


def test_a_note_of_thousands_of_negations_in_one_sentence_reaches_no_further_than_a_note_of_a_hundred():
    far = read_note("Left direct hernia " + "no - " * 3_000)
    near = read_note("Left direct hernia " + "no - " * 100)
    assert far.left.type == near.left.type
