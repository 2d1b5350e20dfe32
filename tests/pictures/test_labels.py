"""Nothing that is to be read may lie on something else that is to be read: measured in what was really drawn."""

from __future__ import annotations

import dataclasses
import itertools
import math
import re
from xml.etree import ElementTree

import pyarrow as pa
import pytest
from PIL import ImageFont

from hingeline import pictures
from hingeline.answers.findings import Figure
from hingeline.pictures import fonts
from hingeline.pictures.flow import place
from hingeline.pictures.frames import rows
from hingeline.pictures.pieces import apart, ticks
from hingeline.pictures.share import close_up

from . import answer_sample as sample
from . import outcome_sample

SVG = "{http://www.w3.org/2000/svg}"
Box = tuple[str, float, float, float, float]


def shift(transform: str | None) -> tuple[float, float]:
    moves = re.findall(r"translate\(([-\d.]+),([-\d.]+)\)", transform or "")
    return sum(float(x) for x, _ in moves), sum(float(y) for _, y in moves)


def text_boxes(svg: str) -> tuple[list[Box], float, float]:
    """Give each text with its box in pixels, measured with FreeType, and the picture's size."""
    root = ElementTree.fromstring(svg)
    found: dict[tuple[str, float, float], Box] = {}

    def walk(node: ElementTree.Element, x: float, y: float) -> None:
        dx, dy = shift(node.get("transform"))
        x, y = x + dx, y + dy
        if node.tag == f"{SVG}text" and node.text:
            size = float(node.get("font-size", "0").removesuffix("px"))
            face = fonts.file("semibold" if node.get("font-weight") in ("600", "bold") else "regular")
            long = ImageFont.truetype(str(face), 100).getlength(node.text) * size / 100
            left = x - {"middle": long / 2, "end": long}.get(node.get("text-anchor", "start"), 0.0)
            found[node.text, round(x), round(y)] = (
                node.text,
                left,
                y - 0.66 * size,
                left + long,
                y + 0.18 * size,
            )
        for child in node:
            walk(child, x, y)

    walk(root, 0, 0)
    return list(found.values()), float(root.get("width", "0")), float(root.get("height", "0"))


def crowded() -> Figure:
    """Four thresholds within five points, four turns within seven years, and one at the far end."""
    figure = sample.share_figure()
    crossings = [
        {
            "threshold": share,
            "age": at,
            "low": at - 1,
            "high": at + 1,
            "label": f"{share:.0%} at {at:.1f} years ({at - 1:.1f}–{at + 1:.1f})",
            "headline": share == 0.10,
        }
        for share, at in ((0.06, 15.8), (0.07, 16.1), (0.08, 16.6), (0.10, 17.5))
    ]
    turns = [
        {
            "number": number,
            "age": at,
            "from_age": at - 1.5,
            "to_age": at + 1.5,
            "share": 0.1,
            "sign": "up",
            "identified": True,
            "label": f"Turn {number}, up: {at:.1f} years ({at - 1.5:.1f}–{at + 1.5:.1f})",
        }
        for number, at in enumerate((13.0, 15.0, 17.5, 20.0, 88.0), start=1)
    ]
    tables = {
        name: pa.Table.from_pylist(made, schema=figure.frames[name].schema)
        for name, made in (("crossings", crossings), ("turns", turns))
    }
    return dataclasses.replace(figure, frames=figure.frames | tables)


def doubtful() -> Figure:
    """A turn in two stretches, one not identified, a threshold not reached, and labels as long as can be."""
    figure = sample.share_figure()
    turns = figure.frames["turns"].to_pylist()
    turns[0]["label"] = "Turn 1, up: 14.2 years (12.9–15.6 or 20.0–22.5)"
    turns[1] |= {"identified": False, "from_age": -math.inf, "to_age": math.inf}
    turns[1]["label"] = "Turn 2, down: 18.6 years (anywhere), not identified"
    turns.insert(1, turns[0] | {"from_age": 20.0, "to_age": 22.5})
    crossings = figure.frames["crossings"].to_pylist()
    crossings[3] |= {
        "age": math.nan,
        "low": 88.0,
        "high": math.inf,
        "label": "30% not reached by 95 (88.0 or later)",
    }
    crossings[2] |= {"low": -math.inf, "high": 47.0}
    crossings[2]["label"] = "The direct share reaches 20% at 43.4 (95% CI 47.0 or earlier, or already at 0)"
    tables = {
        name: pa.Table.from_pylist(made, schema=figure.frames[name].schema)
        for name, made in (("crossings", crossings), ("turns", turns))
    }
    return dataclasses.replace(figure, frames=figure.frames | tables)


CASES = {
    **sample.figures(),
    **{figure.kind: figure for figure in outcome_sample.outcome_figures()},
    "crowded": crowded(),
    "doubtful": doubtful(),
    "six strata": outcome_sample.curves_figure(
        rates=dict.fromkeys(
            ("0–11 years", "12–17 years", "18–29 years", "30–49 years", "50 or more", "x"), 0.01
        )
    ),
    "one curve": outcome_sample.curves_figure(rates={"mesh": 0.0005}),
    "many series": outcome_sample.series_figure(seed=5, many=30),
    "few lost": outcome_sample.tipping_figure(lost=2),
    "sizes by words": outcome_sample.size_figure(by_words=True),
}


@pytest.mark.parametrize("sheet", [pictures.WIDE, pictures.NARROW], ids=["wide", "narrow"])
@pytest.mark.parametrize("case", sorted(CASES))
def test_no_text_lies_on_another_or_leaves_the_picture(case: str, sheet: pictures.Sheet) -> None:
    check(CASES[case], sheet, None)


def test_no_text_lies_on_another_when_seen_closer() -> None:
    figure = CASES["direct_share"]
    check(figure, pictures.WIDE, close_up(figure))


def check(figure: Figure, sheet: pictures.Sheet, ages: tuple[float, float] | None) -> None:
    boxes, wide, high = text_boxes(pictures.svg(pictures.draw(figure, sheet, ages)))
    assert len(boxes) > 8
    said = " ".join(text for text, *_ in boxes)
    assert "…" not in said, "nothing is cut short"
    assert wide <= sheet.width + 20, "a picture is as wide as its sheet"
    for (a, *one), (b, *two) in itertools.combinations(boxes, 2):
        across = min(one[2], two[2]) - max(one[0], two[0])
        down = min(one[3], two[3]) - max(one[1], two[1])
        assert across <= 0.5 or down <= 0.5, f"'{a}' lies on '{b}' by {across:.1f} × {down:.1f} px"
    for text, left, top, right, foot in boxes:
        assert left >= -1, f"'{text}' leaves the picture at the left"
        assert right <= wide + 1, f"'{text}' leaves the picture at the right"
        assert top >= 0, f"'{text}' leaves the picture at the top"
        assert foot <= high, f"'{text}' leaves the picture at the foot"


def test_boxes_of_the_flow_hold_their_words_and_never_meet() -> None:
    for sheet in (pictures.WIDE, pictures.NARROW):
        boxes = place(rows(sample.flow_figure(), "boxes"), sheet)
        for box in boxes:
            for line in box.lines:
                face = ImageFont.truetype(str(fonts.file("semibold")), 100)
                assert face.getlength(line) * sheet.text / 100 <= box.wide
        for one, two in itertools.combinations(boxes, 2):
            across = min(one.left + one.wide, two.left + two.wide) - max(one.left, two.left)
            down = min(one.top + one.high, two.top + two.high) - max(one.top, two.top)
            assert across <= 0 or down <= 0


def test_places_are_moved_apart_no_further_than_they_must() -> None:
    assert apart([10, 50, 90], [20, 20, 20], 0, 100) == [10, 50, 90]
    assert apart([50, 50], [20, 20], 0, 100) == [40, 60]
    assert apart([50, 50], [10, 50], 0, 100) == [35, 65], "each takes the room that it needs"
    assert apart([95, 99, 10], [20, 20, 20], 0, 100) == [80, 100, 10]
    assert apart([], [], 0, 100) == []


def test_ticks_are_round_few_and_reach_over_the_most() -> None:
    assert ticks(515, 6) == [0, 100, 200, 300, 400, 500, 600]
    assert ticks(0.69, 8) == pytest.approx([0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7])
    assert ticks(1.0, 4, (1, 2, 2.5, 5)) == [0, 0.25, 0.5, 0.75, 1]
    assert ticks(60, 5) == [0, 20, 40, 60]


def test_a_name_too_long_for_its_plot_is_broken_or_cut_never_run_over() -> None:
    name = "The Royal and Ancient Infirmary of Saint Somebody-upon-the-Water " * 3
    lines = fonts.wrap(name, 200, 15, "semibold")
    assert max(fonts.width(line, 15, "semibold") for line in lines) <= 200
    assert " ".join(lines).split() == name.split()
    assert fonts.width(fonts.shorten("W" * 200, 90, 15), 15) <= 90
    assert fonts.wrap("", 100, 15) == [""]
