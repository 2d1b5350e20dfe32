from __future__ import annotations

import dataclasses
import json
import math
from collections.abc import Iterator
from typing import Any

import numpy as np
import pyarrow as pa
import pytest

from hingeline import pictures
from hingeline.answers.figures import KINDS
from hingeline.answers.findings import Figure
from hingeline.errors import HingelineError
from hingeline.pictures import theme
from hingeline.pictures.kinds import DRAWERS
from hingeline.pictures.repairs import stacked
from hingeline.pictures.share import close_up

from . import answer_sample as sample
from .outcome_sample import outcome_figures

FIGURES = sample.figures() | {figure.kind: figure for figure in outcome_figures()}


def change(figure: Figure, frame: str, rows: list[dict[str, Any]]) -> Figure:
    schema = figure.frames[frame].schema
    return dataclasses.replace(
        figure, frames=figure.frames | {frame: pa.Table.from_pylist(rows, schema=schema)}
    )


def layers(spec: Any) -> Iterator[dict[str, Any]]:
    """Give every layer of a specification that has data of its own."""
    if isinstance(spec, dict):
        if "data" in spec:
            yield spec
        for part in spec.values():
            yield from layers(part)
    elif isinstance(spec, list):
        for part in spec:
            yield from layers(part)


def marked(spec: Any, **wanted: Any) -> list[dict[str, Any]]:
    """Give the rows of all layers whose mark has these properties."""
    return [
        row
        for layer in layers(spec)
        if all(layer["mark"].get(name) == value for name, value in wanted.items())
        for row in layer["data"]["values"]
    ]


def test_every_kind_of_the_contract_has_a_drawer_and_no_other_has() -> None:
    assert set(DRAWERS) == set(KINDS) == set(FIGURES)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_a_specification_is_plain_json_with_its_alt_text_and_data_inside(kind: str) -> None:
    for sheet in (pictures.WIDE, pictures.NARROW):
        spec = pictures.draw(FIGURES[kind], sheet)
        text = json.dumps(spec, allow_nan=False)
        assert spec["description"] == FIGURES[kind].alt
        assert '"url"' not in text
        assert '"format": "csv"' not in text


def test_a_kind_that_is_not_known_is_refused_in_three_parts() -> None:
    with pytest.raises(HingelineError, match="no kind of picture called 'pie'") as caught:
        pictures.draw(dataclasses.replace(FIGURES["flow"], kind="pie"))
    assert "direct_share" in caught.value.todo


def test_a_frame_without_its_column_is_refused_by_name() -> None:
    figure = FIGURES["direct_share"]
    frames = figure.frames | {"hinge": figure.frames["hinge"].drop_columns(["share"])}
    with pytest.raises(HingelineError, match="the frame 'hinge' lacks the column share"):
        pictures.draw(dataclasses.replace(figure, frames=frames))
    without = {name: table for name, table in figure.frames.items() if name != "turns"}
    with pytest.raises(HingelineError, match="the frame 'turns' is missing"):
        pictures.draw(dataclasses.replace(figure, frames=without))


def test_only_the_direct_share_can_be_seen_closer() -> None:
    with pytest.raises(HingelineError, match="cannot be seen closer"):
        pictures.draw(FIGURES["flow"], ages=(5, 25))


def test_no_label_and_no_row_is_lost_between_frame_and_picture() -> None:
    figure = FIGURES["direct_share"]
    spec = pictures.draw(figure)
    squares = marked(spec, shape="square", stroke=theme.colour("paper"))
    assert len(squares) == figure.frames["points"].num_rows
    assert sum(row["n"] for row in squares) == sum(figure.frames["points"]["n"].to_pylist())
    said = {row["text"] for row in marked(spec, type="text")}
    for frame in ("turns", "crossings"):
        assert set(figure.frames[frame]["label"].to_pylist()) <= said


def test_a_square_has_an_area_in_proportion_to_its_groins_over_the_least() -> None:
    spec = pictures.draw(FIGURES["direct_share"])
    (sized,) = [s for s in layers(spec) if s.get("encoding", {}).get("size", {}).get("field") == "n"]
    scale = sized["encoding"]["size"]["scale"]
    assert scale["type"] == "linear"
    assert scale["domain"] == [0, max(row["n"] for row in sized["data"]["values"])]


def test_the_axis_holds_every_share_and_line_and_shows_where_an_interval_is_cut() -> None:
    figure = FIGURES["direct_share"]
    points = figure.frames["points"].to_pylist()
    points[100] |= {"share": 0.2, "low": 0.01, "high": 0.99, "n": 5}
    spec = pictures.draw(change(figure, "points", points))
    axes = [
        s["encoding"]["y"]["scale"]["domain"]
        for s in layers(spec)
        if "scale" in s.get("encoding", {}).get("y", {}) and s["encoding"]["y"]["scale"]
    ]
    top = axes[0][1]
    assert all(axis == [0, top] for axis in axes)
    assert max(p["share"] for p in points) <= top < 0.99
    assert max(figure.frames["hinge"]["high"].to_pylist()) <= top
    assert 100 in [i for i, p in enumerate(points) if p["age"] in {r["age"] for r in marked(spec, size=26)}]
    drawn = marked(spec, type="rule", stroke=theme.colour("direct"))
    assert max(row["high"] for row in drawn) <= top


def test_a_threshold_that_is_not_reached_keeps_its_label_and_gets_no_ring() -> None:
    figure = FIGURES["direct_share"]
    crossings = figure.frames["crossings"].to_pylist()
    crossings[3] |= {
        "age": math.nan,
        "low": 88.0,
        "high": math.inf,
        "label": "30% not reached by 95 (88.0 or more)",
    }
    spec = pictures.draw(change(figure, "crossings", crossings))
    assert len(marked(spec, type="point", shape="circle", stroke=theme.colour("ink"))) == 3
    bars = [row for row in marked(spec, type="rule", strokeCap="butt") if row["threshold"] == 0.3]
    assert bars[0]["from"] == 88.0
    assert bars[0]["to"] == 95.0, "an open side runs to the frame"
    said = " ".join(row["text"] for row in marked(spec, type="text"))
    assert "30% not reached by 95" in said


def test_a_turn_that_is_not_identified_is_hollow_and_says_so() -> None:
    figure = FIGURES["direct_share"]
    turns = figure.frames["turns"].to_pylist()
    turns[1] |= {
        "identified": False,
        "from_age": -math.inf,
        "to_age": math.inf,
        "label": "Turn 2: not identified",
    }
    spec = pictures.draw(change(figure, "turns", turns))
    diamonds = {row["number"]: row["fill"] for row in marked(spec, shape="diamond", size=190)}
    assert diamonds == {1: theme.colour("ink"), 2: theme.colour("paper"), 3: theme.colour("ink")}
    json.dumps(spec, allow_nan=False)


def test_a_crossing_at_the_very_place_of_a_turn_leaves_both_to_be_seen() -> None:
    figure = FIGURES["direct_share"]
    turns = figure.frames["turns"].to_pylist()
    turns[1] |= {"age": 17.6, "share": 0.101}
    spec = pictures.draw(change(figure, "turns", turns))
    rings = {
        row["threshold"]: row["size"] for row in marked(spec, shape="circle", stroke=theme.colour("ink"))
    }
    assert rings[0.1] > 2 * 190 > 190 > rings[0.05], "an area that holds the diamond of 190"
    order = [layer["mark"].get("shape") for layer in layers(spec) if layer["mark"].get("type") == "point"]
    assert order.index("circle") < order.index("diamond"), "the diamond is drawn on the ring"


def test_a_turn_in_two_stretches_has_two_bars_and_one_label() -> None:
    figure = FIGURES["direct_share"]
    turns = figure.frames["turns"].to_pylist()
    turns.insert(1, turns[0] | {"from_age": 20.0, "to_age": 22.0})
    spec = pictures.draw(change(figure, "turns", turns))
    bars = marked(spec, type="rule", stroke=theme.colour("track"))
    assert len(bars) == 4
    texts = [
        row["text"]
        for layer in layers(spec)
        for row in layer["data"]["values"]
        if row.get("text", "").startswith("Turn 1")
    ]
    assert len(texts) == 2, "the label, and its halo"


def test_a_picture_without_turns_or_crossings_is_drawn() -> None:
    figure = FIGURES["direct_share"]
    bare = change(change(figure, "turns", []), "crossings", [])
    assert b"<svg" in pictures.export(pictures.draw(bare), "svg")
    assert close_up(bare) is None


def test_seen_closer_only_the_ages_asked_for_are_there() -> None:
    figure = FIGURES["direct_share"]
    near = close_up(figure)
    assert near is not None
    assert near[0] < sample.TURNS[0] < sample.TURNS[1] < near[1] < 40
    for layer in layers(pictures.draw(figure, ages=near)):
        for row in layer["data"]["values"]:
            assert near[0] <= row.get("age", near[0]) <= near[1]


def test_bins_of_different_widths_are_stacked_without_loss() -> None:
    rng = np.random.default_rng()
    rows = []
    for kind, step in (("direct", 5), ("indirect", 1), ("unknown", 10)):
        for low in range(0, 20, step):
            n = int(rng.integers(0, 60))
            rows.append(
                {
                    "age_from": float(low),
                    "age_to": float(low + step),
                    "type": kind,
                    "n": n,
                    "per_year": n / step,
                }
            )
    pieces = stacked(rows)
    for kind in ("direct", "indirect", "unknown"):
        area = sum((p["age_to"] - p["age_from"]) * (p["to"] - p["from"]) for p in pieces if p["type"] == kind)
        assert area == pytest.approx(sum(r["n"] for r in rows if r["type"] == kind), abs=1e-2)
    by_age = {(p["age_from"], p["type"]): p for p in pieces}
    for age in range(20):
        assert by_age[age, "direct"]["from"] == 0, "what counts as direct stands on the axis"
        assert by_age[age, "direct"]["to"] == by_age[age, "indirect"]["from"]
        assert by_age[age, "indirect"]["to"] == by_age[age, "unknown"]["from"]


def test_ages_that_a_hospital_does_not_take_are_shaded() -> None:
    spec = pictures.draw(FIGURES["repairs_by_hospital"])
    shaded = marked(spec, type="rect", fill=theme.colour("wash"), stroke=theme.colour("rule"))
    assert sorted((row["from"], row["to"]) for row in shaded) == [
        (0, 15),
        (0, 16),
        (0, 18),
        (18, 95),
        (18, 95),
    ]


def test_rates_of_a_sex_that_is_far_lower_have_a_scale_of_their_own_and_say_so() -> None:
    spec = pictures.draw(FIGURES["rates_by_age"])
    assert any("own scale" in str(row["text"]) for row in marked(spec, type="text"))
    lines = FIGURES["rates_by_age"].frames["lines"].to_pylist()
    alike = [r | {"rate": 10.0, "low": 8.0, "high": 12.0} for r in lines]
    spec = pictures.draw(change(FIGURES["rates_by_age"], "lines", alike))
    assert not any("own scale" in str(row["text"]) for row in marked(spec, type="text"))


def test_colours_of_the_page_stand_by_name_and_words_are_left_alone() -> None:
    drawing = '<path fill="#17232b"/><text>"#17232b"</text><rect stroke="#123456"/>'
    assert theme.by_variable(drawing) == (
        '<path fill="var(--hl-ink)"/><text>"#17232b"</text><rect stroke="#123456"/>'
    )
    assert theme.by_variable('{"fill":"#17232b","label":"#17232b","labelColor":"#4f5d66"}') == (
        '{"fill":"var(--hl-ink)","label":"#17232b","labelColor":"var(--hl-soft)"}'
    )
