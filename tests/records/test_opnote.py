"""Operation notes: what is read, with which words, and what is left unknown."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hingeline import vocabulary
from hingeline.records.opnote import SCHEMA, read_note, read_notes
from hingeline.records.opnote_text import LONGEST

NOT_TOLD = "not told"
EXAMPLES = tomllib.loads(Path(__file__).with_name("opnote_examples.toml").read_text(encoding="utf-8"))["note"]


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example["text"][:40])
def test_a_note_tells_what_its_writer_meant(example):
    note = read_note(example["text"])
    assert (note.side or NOT_TOLD) == example["side"]
    one = example["side"] if example["side"] in vocabulary.SIDES else "left"
    for name, value in example["tells"].items():
        prefix, _, field = name.rpartition(".")
        groin = note.groin({"L": "left", "R": "right"}.get(prefix, one))
        assert getattr(groin, field) == (None if value == NOT_TOLD else value), (name, groin.words)


TRADE = """
left right bilateral hernia sac direct indirect femoral no not without or and but , . ; : ? ( ) / - declined previous
posterior wall intact weak deep ring open closed lateral medial to the epigastric vessels mesh Type: L PL2 M1 x é
correction Findings: Plan: History: same TAPP possible cannot exclude [x] ☐ ☒ ﬁndings 3
"""
PIECES = st.lists(st.sampled_from([*TRADE.split(), "\n", "[ ]", "\r\n", "\u200b", "\t", "\x00"]), max_size=40)


@given(st.one_of(st.text(max_size=300), PIECES.map(" ".join), PIECES.map("".join)))
@settings(max_examples=300, deadline=None)
def test_any_text_is_read_and_its_words_slice_the_text(text):
    note = read_note(text)
    assert note.side in (None, "left", "right", "both")
    for side in vocabulary.SIDES:
        groin = note.groin(side)
        assert groin.type in vocabulary.TYPES
        assert groin.repair in vocabulary.REPAIRS
        assert groin.approach in vocabulary.APPROACHES
        assert groin.known_by in vocabulary.KNOWN_BY
        assert groin.reason is None or groin.reason in vocabulary.REASONS
        assert groin.occurrence is None or groin.occurrence in vocabulary.OCCURRENCES
        for word in groin.words:
            assert text[word.start : word.end] == word.text
            assert word.text


@given(
    st.sampled_from(["direct", "indirect", "femoral"]),
    st.sampled_from(["left", "right"]),
    st.sampled_from(
        ["no {}", "no evidence of a {}", "without a {}", "there was not a {}", "negative for a {}"]
    ),
    st.sampled_from(["hernia", "component", "defect"]),
)
def test_taking_a_negation_away_turns_the_reading(kind, side, negation, noun):
    denied = f"{side.capitalize()} groin explored. On inspection {negation.format(f'{kind} {noun}')}."
    plain = f"{side.capitalize()} groin explored. On inspection a {kind} {noun}."
    assert read_note(denied).groin(side).type == "unknown"
    assert read_note(plain).groin(side).type == kind


@given(
    st.sampled_from(["direct", "indirect"]),
    st.sampled_from(["was not seen", "was absent", "was ruled out", "not found"]),
)
def test_a_negation_that_follows_reaches_back(kind, negation):
    other = {"direct": "indirect", "indirect": "direct"}[kind]
    note = read_note(f"Left groin. A {other} sac was found but a {kind} hernia {negation}.")
    assert note.left.type == other


@pytest.mark.parametrize(
    "age", ["3 week old boy", "infant", "14 year old girl", "71 year old man", "80-year-old"]
)
@pytest.mark.parametrize(
    ("finding", "kind"), [("direct hernia", "direct"), ("indirect sac", "indirect"), ("hernia", "unknown")]
)
def test_age_has_no_part_in_the_type(age, finding, kind):
    assert read_note(f"{age}. Left groin explored: {finding}.").left.type == kind


def test_the_side_that_was_not_operated_is_all_unknown():
    note = read_note("Left inguinal hernia repair. Indirect sac. Right side: no hernia.")
    assert note.side == "left"
    assert note.right.type == note.right.repair == note.right.approach == "unknown"
    assert note.right.words == ()
    assert note.right.reason is None


def test_a_doubt_says_why():
    note = read_note("Left groin. Indirect sac tied. Cannot exclude a direct component.")
    assert note.left.type == "unknown"
    assert "direct is told in doubt" in note.left.doubt
    assert read_note("Left groin. Indirect sac tied.").left.doubt == ""


def test_a_denial_is_among_the_words_that_decided():
    note = read_note("Left. Indirect sac, no direct component.")
    assert ("type", "direct", "no direct") in {(w.field, w.text, w.means) for w in note.left.words}


def test_a_note_longer_than_is_read_says_so_and_is_not_read_further():
    note = read_note("Left indirect hernia. " + "a" * LONGEST + " direct hernia")
    assert note.left.type == "indirect"
    assert f"{LONGEST:,} characters" in note.left.doubt


@pytest.mark.parametrize(
    "piece",
    ["a", "[", "☐", "no ", "(", " ", "\n", "direct/", "no direct, ", ":", "_", "left and right ", "é"],
)
def test_a_megabyte_of_anything_is_cut_before_it_is_read(piece):
    note = read_note(piece * (1_000_000 // len(piece)))
    assert "characters were read" in note.left.doubt + note.right.doubt


def test_many_notes_make_a_table_in_their_order():
    texts = ["Left direct hernia.", None, "  ", "Right indirect hernia, no mesh.", "Left direct hernia."]
    table = read_notes(texts)
    assert table.schema == SCHEMA
    assert table["side"].to_pylist() == ["left", None, None, "right", "left"]
    assert table["left_type"].to_pylist() == ["direct", None, None, None, "direct"]
    assert table["right_mesh"].to_pylist() == [None, None, None, False, None]
    assert "direct ← 'direct'" in table["left_words"][0].as_py()
    assert read_notes([]).num_rows == 0


def test_a_script_without_a_guard_is_not_run_again_by_the_processes(tmp_path):
    script = tmp_path / "plain.py"
    script.write_text(
        "from hingeline.records.opnote import read_notes\n"
        "print('begun', flush=True)\n"
        "texts = [f'Left indirect sac, note {n}.' for n in range(1200)]\n"
        "print(read_notes(texts, processes=2).num_rows)\n",
        encoding="utf-8",
    )
    done = subprocess.run([sys.executable, str(script)], capture_output=True, text=True, timeout=120)
    assert (done.returncode, done.stdout.split()) == (0, ["begun", "1200"]), done.stderr


def test_two_processes_read_as_one_does():
    texts = [f"Left {kind} hernia, case {i}." for i in range(300) for kind in ("direct", "indirect")]
    assert read_notes(texts, processes=2).equals(read_notes(texts, processes=1))


def test_a_reading_prints_as_a_sentence_and_makes_a_frame():
    note = read_note("Left direct hernia, mesh.")
    assert str(note) == "Left: type direct, repair mesh, approach unknown."
    assert note.to_frame().num_rows == 1
    assert str(read_note("")) == "Side not told: type unknown, repair unknown, approach unknown."
