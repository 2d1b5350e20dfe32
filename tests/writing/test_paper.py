from __future__ import annotations

import dataclasses
import datetime
import io

from pypdf import PdfReader

from hingeline import wording
from hingeline.writing import outline, render_pdf
from hingeline.writing.pdf import dated

from .drawn import sample

OUTLINE = outline(sample.answer())
PDF = render_pdf(OUTLINE)
READ = PdfReader(io.BytesIO(PDF))


def words(text: str) -> str:
    return " ".join(text.split())


def test_every_page_has_the_caution_and_its_number() -> None:
    assert len(READ.pages) > 2
    for number, page in enumerate(READ.pages, start=1):
        text = words(page.extract_text())
        assert wording.CAUTION in text
        assert f"{number} of {len(READ.pages)}" in text


def test_sentences_tables_captions_and_the_words_in_pictures_are_there_as_text() -> None:
    text = words(" ".join(page.extract_text() for page in READ.pages))
    for sentence in sample.answer().sentences:
        assert sentence in text
    for said in (
        "Thornmere University Hospital",
        "+2.6 points a year",
        "Muggeo",
        "What these numbers cannot say",
    ):
        assert said in text
    assert "Turn 1, up: 14.2 years" in text, "pictures are vectors with text, not pixels"


def test_pictures_hold_no_pixels() -> None:
    assert sum(len(page.images) for page in READ.pages) == 0


def test_it_is_tagged_titled_in_english_and_its_pictures_have_alt_text() -> None:
    root = READ.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert str(root["/Lang"]).lower() == "en-gb"
    assert READ.metadata is not None
    assert READ.metadata.title == OUTLINE.title
    assert {p.alt for p in OUTLINE.pictures} <= alt_texts(root["/StructTreeRoot"])


def test_it_is_set_in_the_same_family_as_the_page() -> None:
    fonts = {
        str(font.get_object()["/BaseFont"])
        for page in READ.pages
        for font in page["/Resources"].get_object().get("/Font", {}).values()
    }
    assert fonts
    assert all("SourceSansPro" in name for name in fonts), fonts


def test_the_same_outline_gives_the_same_bytes() -> None:
    assert render_pdf(outline(sample.answer())) == PDF


def test_its_date_is_that_of_the_data() -> None:
    assert READ.metadata is not None
    created = READ.metadata.creation_date
    assert created is not None
    assert created.date() == datetime.date(2025, 6, 30)
    assert dated("cut off on 2024-02-29").date() == datetime.date(2024, 2, 29)
    assert dated("31 February 2024") == dated("no date at all")


def test_what_typst_would_read_as_code_stays_text() -> None:
    hostile = '#panic("x") $x^2$ *bold* @ref <label> \\ "quoted" // gone /* gone */ `raw` [ ] = - ~'
    answer = sample.answer(hospital=hostile)
    answer = dataclasses.replace(
        answer, title=hostile, question=hostile, sentences=(hostile,), marks={hostile: hostile}
    )
    grid = sample.Grid(hostile, (hostile,), ((hostile,),), hostile)
    part = sample.Part("x", hostile, hostile, (), (grid,), hostile, (hostile,))
    answer = dataclasses.replace(answer, parts=(*answer.parts[:2], part), references=(hostile,))
    text = words(
        " ".join(page.extract_text() for page in PdfReader(io.BytesIO(render_pdf(outline(answer)))).pages)
    )
    assert text.count('#panic("x") $x^2$') >= 8
    assert "// gone /* gone */" in text


def alt_texts(node: object) -> set[str]:
    """Walk the tags of a PDF for its alternative texts."""
    found: set[str] = set()
    waiting = [node]
    while waiting:
        one = waiting.pop()
        one = one.get_object() if hasattr(one, "get_object") else one
        if isinstance(one, dict):
            if "/Alt" in one:
                found.add(str(one["/Alt"]))
            waiting.append(one.get("/K"))
        elif isinstance(one, list):
            waiting.extend(one)
    return found
