"""Pictures and pages against standards: contrast (W3C), colour vision (Machado 2009), lightness (CIE 1976), schema.

Formulas are typed from the standards themselves, never taken from the code under test.
"""

from __future__ import annotations

import importlib.util
import io
import itertools
import json
import re
from html.parser import HTMLParser
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from fontTools.ttLib import TTFont

from hingeline import pictures
from hingeline.answers.figures import KINDS
from hingeline.pictures import fonts, theme
from hingeline.writing import outline, render_html


def load_sample(name: str) -> ModuleType:
    path = Path(__file__).parents[1] / "pictures" / f"{name}.py"
    spec = importlib.util.spec_from_file_location(name, path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


SAMPLE = load_sample("answer_sample")
FIGURES = SAMPLE.figures() | {f.kind: f for f in load_sample("outcome_sample").outcome_figures()}
PAPERS = {"light": theme.LIGHT, "dark": theme.DARK}
TYPES = ("indirect", "direct", "combined", "femoral", "unknown")


def linear(colour: str) -> np.ndarray:
    """WCAG 2.2, definition of relative luminance: sRGB to linear light (https://www.w3.org/TR/WCAG22/)."""
    channels = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.where(channels <= 0.04045, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4)


def luminance(colour: str) -> float:
    return float(linear(colour) @ np.array([0.2126, 0.7152, 0.0722]))


def contrast(one: str, two: str) -> float:
    """WCAG 2.2, definition of contrast ratio."""
    dark, light = sorted((luminance(one), luminance(two)))
    return (light + 0.05) / (dark + 0.05)


def lightness(colour: str) -> float:
    """CIE 1976 L*, from relative luminance (memory)."""
    y = luminance(colour)
    return 116 * y ** (1 / 3) - 16 if y > (6 / 29) ** 3 else y * (29 / 3) ** 3


def lab(light: np.ndarray) -> np.ndarray:
    """CIE 1976 L*a*b* of linear sRGB under D65 (IEC 61966-2-1; memory)."""
    matrix = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
    f = np.cbrt(matrix @ light / np.array([0.95047, 1.0, 1.08883]))
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


COLOUR_VISION = {
    # Machado, Oliveira & Fernandes 2009, IEEE Trans Vis Comput Graph 15:1291, severity 1.0 (memory)
    "protanopia": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deuteranopia": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "tritanopia": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
}


def test_the_contrast_formula_gives_the_ends_that_the_standard_names() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#777777") == pytest.approx(1)
    # the well-known lightest grey that passes level AA on white is #767676 (common practice, no source)
    assert contrast("#767676", "#ffffff") >= 4.5 > contrast("#777777", "#ffffff")


@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS.keys())
def test_text_has_the_contrast_of_level_aa(paper: theme.Paper) -> None:
    """WCAG 2.2, success criterion 1.4.3: 4.5 to 1."""
    for ground in (paper.paper, paper.wash):
        for text in (paper.ink, paper.soft, paper.link):
            assert contrast(text, ground) >= 4.5, (text, ground)


@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS.keys())
def test_marks_have_the_contrast_of_level_aa(paper: theme.Paper) -> None:
    """WCAG 2.2, success criterion 1.4.11: 3 to 1. Type unknown is pale and so always has a darker edge."""
    for name in ("indirect", "direct", "combined", "femoral", "edge", "curve", "ink"):
        assert contrast(getattr(paper, name), paper.paper) >= 3, name


@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS.keys())
def test_types_differ_in_grey(paper: theme.Paper) -> None:
    for one, two in itertools.combinations(TYPES, 2):
        apart = abs(lightness(getattr(paper, one)) - lightness(getattr(paper, two)))
        assert apart >= 8, f"{one} and {two} differ by {apart:.1f} of L*"
    main = abs(lightness(paper.indirect) - lightness(paper.direct))
    assert main >= 18, "indirect and direct, the two that matter most"


@pytest.mark.parametrize("vision", COLOUR_VISION)
@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS.keys())
def test_types_differ_without_colour_vision(paper: theme.Paper, vision: str) -> None:
    """Colour difference of CIE 1976; 2.3 is just noticeable (Mahy 1994; memory), five times that is asked for."""
    matrix = np.array(COLOUR_VISION[vision])
    seen = {name: lab(np.clip(matrix @ linear(getattr(paper, name)), 0, 1)) for name in TYPES}
    for one, two in itertools.combinations(TYPES, 2):
        apart = float(np.linalg.norm(seen[one] - seen[two]))
        assert apart >= 11.5, f"{one} and {two} are {apart:.1f} apart"


def test_types_differ_in_dash_and_mark_too() -> None:
    styles = [theme.TYPE_STYLES[name] for name in TYPES]
    assert len({style.dash for style in styles}) == len({style.shape for style in styles}) == 5
    assert theme.TYPE_STYLES["indirect"] == theme.TypeStyle((1, 0), "circle"), (
        "design, section 8: solid, round"
    )
    assert theme.TYPE_STYLES["direct"].shape == "square", "design, section 8: dashed, square"


def test_no_two_colours_of_a_paper_are_the_same() -> None:
    for paper in PAPERS.values():
        assert len(set(vars(paper).values())) == len(vars(paper))


@pytest.fixture(scope="module")
def validator() -> Any:
    """Give a validator of the official Vega-Lite schema, which Altair bundles."""
    import altair
    import jsonschema

    folder = Path(altair.__file__).parent / "vegalite"
    (path,) = folder.glob("v6/schema/vega-lite-schema.json")
    schema = json.loads(path.read_text(encoding="utf-8"))
    return jsonschema.Draft7Validator(schema)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_specifications_satisfy_the_official_schema(kind: str, validator: Any) -> None:
    figure = FIGURES[kind]
    spec = pictures.draw(figure)
    assert validator.is_valid(short(spec)), next(validator.iter_errors(short(spec))).message[:400]
    broken = short(spec) | {"vconcat": [{"mark": "no such mark"}]}
    assert not validator.is_valid(broken), "the schema does refuse what is wrong"


def short(spec: Any) -> Any:
    """Keep two rows of each data set: the schema looks at their form, not their number."""
    if isinstance(spec, dict):
        return {
            k: v[:2] if k == "values" and isinstance(v, list) and v and isinstance(v[0], dict) else short(v)
            for k, v in spec.items()
        }
    return [short(v) for v in spec] if isinstance(spec, list) else spec


def test_the_versions_of_schema_converter_and_page_agree() -> None:
    import altair
    import vl_convert

    major = re.search(r"v(\d+)\.json", theme.SCHEMA)
    assert major is not None
    assert theme.VEGA_LITE in vl_convert.get_vegalite_versions()
    assert theme.VEGA_LITE.split(".")[0] == major[1] == altair.SCHEMA_VERSION.removeprefix("v").split(".")[0]


@pytest.mark.parametrize("weight", ["regular", "semibold", "italic"])
def test_woff_is_read_by_fonttools_with_every_table_unchanged(weight: fonts.Weight) -> None:
    """W3C WOFF 1.0, read back by fontTools."""
    ours, theirs = TTFont(io.BytesIO(fonts.woff(weight))), TTFont(fonts.file(weight))
    assert ours.flavor == "woff"
    assert set(ours.reader.keys()) == set(theirs.reader.keys())
    for tag in theirs.reader.keys():  # noqa: SIM118 (a reader is no dictionary)
        assert ours.reader[tag] == theirs.reader[tag]
    (length,) = np.frombuffer(fonts.woff(weight)[8:12], ">u4")
    assert length == len(fonts.woff(weight))


@pytest.mark.parametrize("weight", ["regular", "semibold", "italic"])
def test_widths_of_text_are_those_that_fonttools_reads(weight: fonts.Weight) -> None:
    face = TTFont(fonts.file(weight))
    glyphs, advances, units = face.getBestCmap(), face["hmtx"], face["head"].unitsPerEm
    text = "Turn 1, up: 14.2 years (12.9–15.6) × ≥ “Ærø” −½"
    expected = sum(advances[glyphs[ord(character)]][0] for character in text) * 15 / units
    assert fonts.width(text, 15, weight) == pytest.approx(expected)


class Loads(HTMLParser):
    """Collects every attribute by which an element can fetch something."""

    FETCHING = (
        "src",
        "href",
        "srcset",
        "data",
        "action",
        "formaction",
        "poster",
        "background",
        "xlink:href",
        "ping",
    )

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found += [value or "" for name, value in attrs if name in self.FETCHING]


def test_the_page_fetches_nothing() -> None:
    page = render_html(outline(SAMPLE.answer()))
    reader = Loads()
    reader.feed(page)
    assert reader.found
    assert all(value.startswith("#") for value in reader.found), reader.found
    style = re.search(r"<style>(.*?)</style>", page, re.S)
    assert style is not None
    assert "@import" not in style[1]
    assert all(
        target.startswith("data:font/woff;base64,") for target in re.findall(r"url\(([^)]*)", style[1])
    )
    outside = re.sub(r"<script>.*?</script>", "", page, flags=re.S)
    addresses = set(
        re.findall(r"(?:https?:)?//[\w.]+\.\w+[^\s\"'<>\\]*", re.sub(r"base64,[^)]*", "", outside))
    )
    names = {"http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink", theme.SCHEMA}
    assert addresses <= names, "names of formats, which nothing fetches"
