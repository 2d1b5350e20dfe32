"""Pictures of outcomes show what their frames say: places are worked out here from the frames, by hand."""

from __future__ import annotations

import dataclasses
import itertools
import re
from typing import Any

import numpy as np
import pyarrow as pa
import pytest

from hingeline import pictures
from hingeline.answers.figures import KINDS
from hingeline.answers.findings import Figure
from hingeline.pictures import theme
from hingeline.pictures.funnel import is_outside
from hingeline.pictures.pixels import Plot, between
from hingeline.pictures.size import decades
from hingeline.writing.data import data_behind

from . import outcome_sample as sample
from .test_drawing import marked

KINDS_OF_OUTCOMES = {figure.kind: figure for figure in sample.outcome_figures()}
SHEETS = (pictures.WIDE, pictures.NARROW)


def lightness(hex_colour: str) -> float:
    """CIE L* of a colour (CIE 1976; sRGB of IEC 61966-2-1)."""
    return 116 * np.cbrt(luminance(hex_colour)) - 16


def luminance(hex_colour: str) -> float:
    """Relative luminance (WCAG 2.2, W3C 2023)."""
    parts = np.array([int(hex_colour[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    linear = np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
    return float(linear @ [0.2126, 0.7152, 0.0722])


def ratio(one: str, two: str) -> float:
    light, dark = sorted((luminance(one), luminance(two)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def with_rows(figure: Figure, frame: str, made: list[dict[str, Any]]) -> Figure:
    return dataclasses.replace(figure, frames=figure.frames | {frame: pa.Table.from_pylist(made)})


@pytest.mark.parametrize("kind", sorted(KINDS_OF_OUTCOMES))
def test_frames_without_rows_draw_a_sentence(kind: str) -> None:
    figure = KINDS_OF_OUTCOMES[kind]
    none = {name: pa.table({column: [] for column in columns}) for name, columns in KINDS[kind].items()}
    bare = dataclasses.replace(figure, frames=none)
    for sheet in SHEETS:
        drawn = pictures.svg(pictures.draw(bare, sheet))
        assert "Too few people or events" in drawn
    behind = data_behind(bare)
    assert behind is not None
    assert behind.rows == ()


@pytest.mark.parametrize("kind", sorted(KINDS_OF_OUTCOMES))
def test_the_table_behind_a_picture_has_a_head_a_column(kind: str) -> None:
    behind = data_behind(KINDS_OF_OUTCOMES[kind])
    assert behind is not None
    assert behind.rows
    assert {len(row) for row in behind.rows} == {len(behind.heads)}


@pytest.mark.parametrize("paper", [theme.LIGHT, theme.DARK], ids=["light", "dark"])
def test_repairs_can_be_read_on_paper_and_told_apart_in_grey(paper: theme.Paper) -> None:
    repairs = [getattr(paper, name) for name in theme.REPAIR_STYLES]
    for one in repairs:
        assert ratio(one, paper.paper) >= 4.5, "names at the lines' ends are text (WCAG 2.2, 1.4.3)"
    for one, two in itertools.combinations(repairs, 2):
        assert abs(lightness(one) - lightness(two)) >= 10
    for style in theme.OTHER_STYLES:
        assert ratio(getattr(paper, style.colour), paper.paper) >= 4.5
    assert len({style.dash for style in theme.REPAIR_STYLES.values()}) == 3
    assert len({style.shape for style in theme.REPAIR_STYLES.values()}) == 3
    assert len({(s.dash, s.shape) for s in theme.OTHER_STYLES}) == 6


def test_no_colour_has_two_names() -> None:
    for paper in (theme.LIGHT, theme.DARK):
        assert len(set(vars(paper).values())) == len(vars(paper)), "a page swaps colours by their value"


@pytest.mark.parametrize("kind", sorted(KINDS_OF_OUTCOMES))
def test_every_colour_of_a_drawing_has_a_name_that_turns_dark(kind: str) -> None:
    drawn = theme.by_variable(pictures.svg(pictures.draw(KINDS_OF_OUTCOMES[kind])))
    assert not re.findall(r'(?:fill|stroke)="#[0-9a-f]{6}"', drawn)


def test_a_curve_goes_on_thin_where_few_remain() -> None:
    figure = sample.curves_figure()
    steps = [r | {"few": r["years"] > 4} for r in figure.frames["steps"].to_pylist()]
    spec = pictures.draw(with_rows(figure, "steps", steps))
    thin = marked(spec, type="line", strokeWidth=1.0)
    thick = marked(spec, type="line", strokeWidth=2.6)
    assert min(r["years"] for r in thin) > 4
    joints = [row for row in thick if row in thin]
    assert len(joints) == 3, "each thick part ends where its thin part begins"
    assert not marked(pictures.draw(figure), type="line", strokeWidth=1.0)


def test_a_hidden_series_has_its_words_and_no_mark_or_weight() -> None:
    spec = pictures.draw(sample.series_figure())
    said = [row["text"] for row in marked(spec, type="text")]
    assert "fewer than 5" in said
    assert "not told" in said
    squares = marked(spec, type="point", shape="square", fill=theme.colour("ink"))
    assert len(squares) == 7, "eight hospitals, one of them hidden"
    told = [t for t in said if re.fullmatch(r"\d+%", t)]
    weights = [f"{100 * r['weight']:.0f}%" for r in sample.series_figure().frames["series"].to_pylist()[:8]]
    assert told[: len(weights)].count(weights[3]) == weights.count(weights[3]) - 1


def test_squares_have_areas_in_proportion_to_weights() -> None:
    shown = [r for r in sample.series_figure().frames["series"].to_pylist() if r["kind"] == "series"]
    shown = [r for r in shown if r["share"] is not None and r["weight"] > 0.04]
    spec = pictures.draw(sample.series_figure())
    sizes = [
        layer["mark"]["size"]
        for layer in spec["vconcat"][0]["layer"]
        if layer["mark"].get("shape") == "square" and layer["mark"]["fill"] == theme.colour("ink")
    ]
    areas = sorted(sizes)[-len(shown) :]
    weights = sorted(r["weight"] for r in shown)
    assert np.array(areas) / areas[-1] == pytest.approx(np.array(weights) / weights[-1], rel=1e-4)


def test_hospitals_outside_their_limits_are_filled_and_named() -> None:
    spec = pictures.draw(sample.funnel_figure())
    filled = {r["name"] for r in marked(spec, type="point", shape="circle", fill=theme.colour("ink")) if r}
    assert filled == {"Norhaven General", "Thornmere University Hospital", "Great Wexcombe District"}
    said = {row["text"] for row in marked(spec, type="text")}
    assert filled <= said


def test_a_hospital_on_its_limit_is_not_outside() -> None:
    limits = [{"n": 100, "low95": 0.0, "high95": 0.05}, {"n": 200, "low95": 0.01, "high95": 0.04}]
    assert not is_outside({"n": 100, "share": 0.05}, limits)
    assert is_outside({"n": 200, "share": 0.041}, limits)
    assert not is_outside({"n": 150, "share": 0.0449}, limits), "between two rows, in a straight line"
    assert is_outside({"n": 150, "share": 0.0451}, limits)


def test_what_was_observed_is_the_only_filled_mark_of_one_more() -> None:
    spec = pictures.draw(sample.one_more_figure())
    own = marked(spec["vconcat"][1], type="point", shape="diamond", fill=theme.colour("ink"))
    assert [r["change"] for r in own] == [0]
    said = [row["text"] for row in marked(spec, type="text")]
    assert {"A", "B", "C"} <= set(said)
    assert any("at +8 to +10" in text for text in said)


def test_verdicts_of_those_lost_differ_in_fill_and_in_sign() -> None:
    spec = pictures.draw(sample.tipping_figure(lost=6))
    cells = [r for r in marked(spec, type="rect") if "verdict" in r]
    assert len(cells) == 49, "every cell is drawn"
    fills = {
        layer["mark"]["fill"]
        for layer in spec["vconcat"][0]["layer"]
        if layer["mark"]["type"] == "rect" and "verdict" in layer["data"]["values"][0]
    }
    assert len(fills) == 3
    for one, two in itertools.combinations(sorted(fills), 2):
        assert abs(lightness(one) - lightness(two)) >= 8


def test_a_margin_and_nought_are_lines_at_their_places() -> None:
    spec = pictures.draw(sample.contrast_figure())
    dashed = marked(spec["vconcat"][1], type="rule", strokeDash=[7, 4])
    assert len(dashed) == 1
    middle = {r["told"].split(":")[0]: r["x"] for r in marked(spec, type="point", shape="circle")}
    # mesh less high ligation by 5 years is 0.02, the margin itself
    assert dashed[0]["x"] == pytest.approx(middle["Mesh repair less high ligation, by 5 years"])


def test_round_places_hold_all_and_are_few() -> None:
    assert between(-0.013, 0.042, 7) == pytest.approx([-0.02, -0.01, 0, 0.01, 0.02, 0.03, 0.04, 0.05])
    generator = np.random.default_rng()
    for low, wide in zip(generator.normal(size=50), generator.exponential(size=50), strict=True):
        places = between(low, low + wide, 6)
        assert places[0] <= low + 1e-6
        assert places[-1] >= low + wide - 1e-6
        assert 2 <= len(places) <= 7


def test_places_in_pixels_are_linear_or_logarithmic_and_cut_at_the_frame() -> None:
    plot = Plot(10, 20, 100, 200, 0, 4, 1, 100, log=True)
    assert plot.x(1) == 35
    assert plot.x(9) == 110
    assert plot.y(10) == 120, "half way up in the logarithm"
    assert plot.y(0.1) == 220
    assert decades(515, 8232) == [500, 1000, 2000, 5000, 10000]


def test_sizes_by_words_stand_one_after_the_other() -> None:
    spec = pictures.draw(sample.size_figure(by_words=True))
    said = [row["text"] for row in marked(spec, type="text")]
    assert "1.5 points" in said


def test_one_verdict_throughout_is_told_without_letters() -> None:
    figure = sample.one_more_figure()
    alike = [r | {"verdict": "exact limits"} for r in figure.frames["rows"].to_pylist()]
    said = [row["text"] for row in marked(pictures.draw(with_rows(figure, "rows", alike)), type="text")]
    assert "A" not in said
    assert "Exact limits" in said


def test_a_single_series_of_sizes_heads_its_axis() -> None:
    figure = sample.size_figure()
    one = [r | {"series": "groins in all"} for r in figure.frames["rows"].to_pylist()[:6]]
    bare = dataclasses.replace(figure, frames={"rows": pa.Table.from_pylist(one)})
    said = [row["text"] for row in marked(pictures.draw(bare), type="text")]
    assert said.count("Groins in all") == 1
