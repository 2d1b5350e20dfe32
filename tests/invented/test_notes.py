"""Operation notes of the invented study: true to their groins, of many words, and their own dice."""

from __future__ import annotations

import random
import re
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from hingeline.invented import note_findings as findings
from hingeline.invented.hospitals import HOSPITALS
from hingeline.invented.note_slips import slipped
from hingeline.invented.note_styles import write_note
from hingeline.invented.note_told import Told
from hingeline.invented.notes import write_notes
from hingeline.invented.outcomes import Rows, add_outcomes, take
from hingeline.invented.patients import draw_groins
from hingeline.vocabulary import TYPES

LEFT = re.compile(r"\b(left|l|lt)\b|\bbilat|\bboth\b", re.IGNORECASE)
RIGHT = re.compile(r"\b(right|r|rt)\b|\bbilat|\bboth\b", re.IGNORECASE)

PLAIN = Told(
    side="left",
    type="indirect",
    known_by="floor examined",
    reason="hernia",
    occurrence="primary",
    repair="mesh",
    approach="open",
    male=True,
    age_years=40.0,
    emergency=False,
)


@pytest.fixture(scope="module")
def rows() -> Rows:
    generator = np.random.default_rng(41)
    drawn = add_outcomes(draw_groins(6_000, generator), generator)
    mixed = next(i for i, hospital in enumerate(HOSPITALS) if hospital.setting == "all ages")
    return take(drawn, drawn["hospital"] == mixed)


@pytest.mark.parametrize("kind", TYPES)
def test_each_type_is_written_in_thirty_ways_or_more(kind: str) -> None:
    frames = {text for texts in findings.BY_TYPE[kind].values() for text in texts}
    assert len(frames | set(findings.TERSE[kind])) >= 30


def test_every_note_names_the_side_of_each_of_its_groins(rows: Rows) -> None:
    for note, side in zip(write_notes(rows, 5), rows["side"].tolist(), strict=True):
        assert (LEFT if side == "left" else RIGHT).search(note), note


def test_the_groins_of_one_operation_share_a_note_that_names_both_sides(rows: Rows) -> None:
    notes = write_notes(rows, 5)
    together = 0
    for i in range(1, len(notes)):
        if notes[i] == notes[i - 1] and rows["patient"][i] == rows["patient"][i - 1]:
            together += 1
            assert LEFT.search(notes[i])
            assert RIGHT.search(notes[i])
    assert together > 30


def test_the_same_seed_writes_the_same_notes_and_another_does_not(rows: Rows) -> None:
    assert write_notes(rows, 5).tolist() == write_notes(rows, 5).tolist()
    assert write_notes(rows, 5).tolist() != write_notes(rows, 6).tolist()


def test_notes_are_rarely_alike(rows: Rows) -> None:
    patients = len(np.unique(rows["patient"]))
    assert len(set(write_notes(rows, 5).tolist())) > 0.85 * patients


def test_a_recurrent_hernia_is_told_as_one() -> None:
    dice = random.Random(8)
    notes = [write_note([replace(PLAIN, occurrence="recurrent")], dice) for _ in range(300)]
    told = [note for note in notes if re.search(r"recurren|redo|earlier repair", note, re.IGNORECASE)]
    assert len(told) > 280  # a slip of the keyboard may fall on the word itself


def test_a_note_that_leaves_the_type_open_affirms_none() -> None:
    """No frame of the untyped says plainly that the hernia was of a type."""
    plain = re.compile(
        r"\b(was|were|confirmed|found) (an? )?(direct|indirect|femoral|pantaloon)\b", re.IGNORECASE
    )
    for texts in findings.OPEN_TYPE.values():
        for text in texts:
            assert not plain.search(text), text


def test_each_type_is_told_by_words_of_its_own() -> None:
    words = {
        "indirect": r"ind|lateral|ppv|processus|deep ring|internal ring",
        "direct": r"\bdir|medial|hesselbach",
        "combined": r"combined|pantaloon|direct|medial|both|either|straddle|saddle",
        "femoral": r"fem|inguinal ligament",
    }
    for kind, pattern in words.items():
        for texts in (*findings.BY_TYPE[kind].values(), findings.TERSE[kind]):
            for text in texts:
                assert re.search(pattern, text, re.IGNORECASE), text


def test_slips_fall_on_a_few_notes_and_never_on_a_side() -> None:
    dice, text = random.Random(2), "Right inguinal hernia and left femoral hernia, sutured."
    made = [slipped(text, dice) for _ in range(2_000)]
    changed = Counter(note != text for note in made)[True]
    assert 0 < changed < 500
    assert all("Right" in note and "left" in note for note in made)
