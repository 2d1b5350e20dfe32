from __future__ import annotations

import dataclasses
import json

import pytest

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.writing import outline
from hingeline.writing.outline import Note, Picture, Sentence, Table

from .drawn import sample

ANSWER = sample.answer()
OUTLINE = outline(ANSWER)


def test_the_answer_stands_first_in_its_own_sentences() -> None:
    first = OUTLINE.sections[0]
    assert first.id == "answer"
    assert tuple(b.text for b in first.blocks if isinstance(b, Sentence)) == ANSWER.sentences


def test_every_part_goes_from_sentence_to_picture_to_table_to_how_and_what_it_cannot_say() -> None:
    order = [Sentence, Picture, Table, Note]
    for part, section in zip(ANSWER.parts, OUTLINE.sections[1:], strict=False):
        assert section.id == part.id
        ranks = [order.index(type(block)) for block in section.blocks]
        assert ranks == sorted(ranks)
        notes = [block for block in section.blocks if isinstance(block, Note)]
        assert [n.kind for n in notes if n.kind != "caution"] == ["method"] + ["cannot"] * bool(part.cannot)


def test_the_caution_stands_by_every_part_on_operations_and_only_those() -> None:
    quiet = dataclasses.replace(ANSWER.parts[0], operations=False)
    sections = outline(dataclasses.replace(ANSWER, parts=(quiet, *ANSWER.parts[1:]))).sections
    cautioned = {
        s.id for s in sections for b in s.blocks if isinstance(b, Note) and b.items == (wording.CAUTION,)
    }
    assert cautioned == {"answer", "ages", "direct-share"}
    assert OUTLINE.caution == wording.CAUTION


def test_pictures_and_tables_are_numbered_in_reading_order() -> None:
    assert [p.number for p in OUTLINE.pictures] == list(range(1, len(OUTLINE.pictures) + 1))
    tables = [b.number for s in OUTLINE.sections for b in s.blocks if isinstance(b, Table)]
    assert tables == list(range(1, len(tables) + 1))


def test_the_direct_share_is_also_seen_closer() -> None:
    names = [picture.name for picture in OUTLINE.pictures]
    assert names.index("direct-share-closer") == names.index("direct-share") + 1


def test_every_finding_has_its_row_with_interval_counts_cells_method_and_standing() -> None:
    (numbers,) = [s for s in OUTLINE.sections if s.id == "numbers"]
    table = numbers.blocks[0]
    assert isinstance(table, Table)
    assert table.ids == tuple(f"number-{f.id}" for f in ANSWER.findings)
    first = table.rows[0]
    assert "14.2 years (12.9–15.6)" in first
    assert "19,472" in first
    assert "sex = male" in first
    assert "199 replicates" in first[5]
    assert first[6] == "exploratory, headline"
    assert table.rows[2][1] == "not reached"


def test_a_sentence_points_at_the_rows_of_the_findings_told_in_it() -> None:
    first, second, third = (b for b in OUTLINE.sections[0].blocks if isinstance(b, Sentence))
    assert first.about == (("number-turn.1", "first turn of the direct share"),)
    assert [id for id, _ in second.about] == ["number-crossing.0.10"]
    assert third.about == ()


def test_the_numbers_behind_a_picture_are_all_in_its_table() -> None:
    for picture, figure in ((p, f) for p in OUTLINE.pictures for f in _figures() if f.name == p.name):
        assert picture.data is not None
        frame = next(iter(figure.frames.values()))
        if figure.kind in (
            "direct_share",
            "direct_share_by_hospital",
            "direct_share_by_sex",
            "flow",
            "rates_by_age",
        ):
            assert len(picture.data.rows) == frame.num_rows
        assert all(len(row) == len(picture.data.heads) for row in picture.data.rows)


def test_counts_of_repairs_in_the_table_add_up_to_those_in_the_frame() -> None:
    (picture,) = [p for p in OUTLINE.pictures if p.name == "repairs-by-age"]
    assert picture.data is not None
    told = sum(int(cell.replace(",", "")) for row in picture.data.rows for cell in row[1:] if cell != "–")
    assert told == sum(sample.repairs_figure().frames["bars"]["n"].to_pylist())


def test_no_title_is_said_twice_by_one_picture() -> None:
    assert len({p.title for p in OUTLINE.pictures}) == len(OUTLINE.pictures)
    assert all(p.alt for p in OUTLINE.pictures)


def test_an_answer_without_findings_or_references_has_no_empty_sections() -> None:
    bare = dataclasses.replace(ANSWER, findings=(), references=(), parts=())
    assert [section.id for section in outline(bare).sections] == ["answer"]


def test_a_figure_that_cannot_be_drawn_is_refused_by_name() -> None:
    figure = dataclasses.replace(sample.flow_figure(), frames={})
    part = dataclasses.replace(ANSWER.parts[0], figures=(figure,))
    with pytest.raises(HingelineError, match="the frame 'boxes' is missing"):
        outline(dataclasses.replace(ANSWER, parts=(part,)))


def test_specifications_are_json() -> None:
    for picture in OUTLINE.pictures:
        for spec in (picture.spec, picture.narrow):
            json.dumps(spec, allow_nan=False)


def _figures() -> list:
    return [figure for part in ANSWER.parts for figure in part.figures]
