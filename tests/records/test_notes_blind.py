"""The reader of operation notes on hundreds of notes written by others without sight of its patterns.

What must be reached is the issue's: at least 97% right between indirect and direct among those it types, at least 90%
of them typed. The other bounds say what was decided here: a note that leaves the type open is seldom guessed.
"""

from __future__ import annotations

import re

import pytest

from hingeline.records.opnote import read_note

from .scoring import FILES, Score, labelled, score


@pytest.fixture(scope="module", params=FILES)
def told(request: pytest.FixtureRequest) -> Score:
    return score(labelled([request.param]))


def test_there_are_hundreds_of_notes_of_every_style_and_type():
    notes = labelled()
    assert len(notes) >= 450
    assert len({note["id"] for note in notes}) == len(notes)
    assert {note["style"] for note in notes} == {"dictated", "templated", "terse", "rambling", "with errors"}
    types = {note[side]["type"] for note in notes for side in ("left", "right") if note[side]}
    assert types == {"indirect", "direct", "combined", "femoral", "unknown"}


def test_indirect_and_direct_are_told_apart(told):
    assert told.right() >= 0.97


def test_what_a_note_tells_is_typed(told):
    assert told.typed() >= 0.90


def test_what_a_note_leaves_open_is_seldom_guessed(told):
    assert told.guessed() <= 0.10


@pytest.mark.parametrize("kind", ["indirect", "direct", "combined", "femoral"])
def test_each_type_is_found_and_meant(told, kind):
    assert told.recall(kind) >= 0.80
    assert told.precision(kind) >= 0.85


@pytest.mark.parametrize(
    ("name", "least"), [("side", 0.95), ("repair", 0.90), ("approach", 0.90), ("mesh", 0.85)]
)
def test_side_repair_and_mesh_are_read(told, name, least):
    assert told.agreement(name) >= least


def test_every_reading_shows_its_words():
    for note in labelled():
        read = read_note(note["text"])
        for groin in (read.left, read.right):
            for words in groin.words:
                assert note["text"][words.start : words.end] == words.text
            if groin.type != "unknown":
                assert any(words.field == "type" for words in groin.words), note["id"]


def test_the_type_never_follows_from_the_age():
    """Any age put before a note leaves the reading as it is (no shortcut such as "infant, so a direct is an error")."""
    ages = ("6-week-old infant. ", "Boy of 4 years. ", "Man aged 82. ")
    for note in labelled()[::7]:
        text = re.sub(r"(?i)\b\d+[- ]?(year|yr|month|week|day|y/?o|mo)s?\b[- ]?(old)?", "", note["text"])
        plain = read_note(text)
        for age in ages:
            read = read_note(age + text)
            assert (read.left.type, read.right.type) == (plain.left.type, plain.right.type), note["id"]


def test_notes_that_were_written_to_mend_the_reader_stay_read():
    """What mending won is kept. ``fourth.jsonl`` and the odd notes of ``third.jsonl`` were used for development.

    The fourth were written by the reader's author, each batch before the reader was tried on it; so they say nothing of
    how well notes by others are read.
    """
    odd = [note for note in labelled(["third.jsonl"]) if int(note["id"][1:]) % 2]
    for notes in (odd, labelled(["fourth.jsonl"])):
        told = score(notes)
        assert told.typed() >= 0.95
        assert told.right() >= 0.98
        assert told.guessed() <= 0.10
