"""Text must be there in every file: vl-convert drops all of it without a word when no font of a list is there."""

from __future__ import annotations

import io
import re

import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader

from hingeline import pictures
from hingeline.errors import HingelineError
from hingeline.pictures import fonts

from . import answer_sample as sample


def ink(png: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(png)).convert("L")) < 120


@pytest.fixture(scope="module")
def svg() -> str:
    return pictures.svg(pictures.draw(sample.share_figure()))


def test_svg_holds_its_text_and_its_alt_text(svg: str) -> None:
    assert ">Turn 1, up: 14.2 years (12.9–15.6)</text>" in svg
    assert ">10% at 17.5 years (16.9–18.4)</text>" in svg
    assert svg.startswith("<svg ")
    assert 'role="img" aria-label="Direct share of inguinal hernias by age' in svg
    assert "<desc>Direct share of inguinal hernias by age" in svg


def test_png_holds_text(svg: str) -> None:
    drawn = ink(pictures.convert(svg, "png", 1))
    wordless = ink(pictures.convert(re.sub(r"<text.*?</text>", "", svg), "png", 1))
    assert (drawn & ~wordless).sum() > 3000, "pixels that only the words have"


def test_png_is_as_many_pixels_as_asked_for(svg: str) -> None:
    one, two = (Image.open(io.BytesIO(pictures.convert(svg, "png", scale))) for scale in (1, 2))
    assert two.width == pytest.approx(2 * one.width, abs=2)


def test_pdf_holds_text_and_the_family(svg: str) -> None:
    page = PdfReader(io.BytesIO(pictures.convert(svg, "pdf"))).pages[0]
    text = page.extract_text()
    assert "Direct share by age" in text
    assert "14.2 years" in text


def test_every_list_of_fonts_ends_with_one_that_is_there(svg: str) -> None:
    lists = set(re.findall(r'font-family="([^"]*)"', svg))
    assert lists == {fonts.STACK}
    elsewhere = svg.replace(fonts.FAMILY, "Nowhere To Be Found")
    wordless = ink(pictures.convert(re.sub(r"<text.*?</text>", "", elsewhere), "png", 1))
    assert (ink(pictures.convert(elsewhere, "png", 1)) & ~wordless).sum() > 3000
    alone = svg.replace(fonts.STACK, "Nowhere To Be Found")
    assert (ink(pictures.convert(alone, "png", 1)) & ~wordless).sum() == 0, "the trap is still there"


def test_the_family_itself_is_used_and_not_the_last_resort(svg: str) -> None:
    ours = ink(pictures.convert(svg, "png", 1))
    theirs = ink(pictures.convert(svg.replace(fonts.STACK, fonts.FALLBACK), "png", 1))
    assert (ours != theirs).sum() > 2000


def test_what_only_carries_tooltips_is_not_in_a_still_file() -> None:
    spec = pictures.draw(sample.repairs_figure())
    assert 'fill-opacity="0"' not in pictures.svg(spec)


def test_the_same_specification_gives_the_same_bytes(svg: str) -> None:
    assert pictures.svg(pictures.draw(sample.share_figure())) == svg
    assert pictures.convert(svg, "png", 1) == pictures.convert(svg, "png", 1)


def test_a_format_that_is_not_known_is_refused() -> None:
    with pytest.raises(HingelineError, match="cannot be written as 'gif'"):
        pictures.export(pictures.draw(sample.flow_figure()), "gif")  # type: ignore[arg-type]


def test_markup_in_a_name_stays_text() -> None:
    hostile = '<script>alert("x")</script>&amp;'
    drawing = pictures.svg(pictures.draw(sample.hospitals_figure(name=hostile)))
    assert "<script" not in drawing
    assert "&lt;script" in drawing
