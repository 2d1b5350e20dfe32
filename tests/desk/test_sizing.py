"""The size of the next study from a terminal: units of the clinic, refusals, and the same answer for machines."""

from __future__ import annotations

import json
import sys

import pytest

from hingeline import cli, wording
from hingeline.answers.figures import KINDS
from hingeline.desk.sizing import size_next
from hingeline.desk.sizing_asked import NEEDED
from hingeline.errors import HingelineError
from hingeline.estimates.simulate import shape_through
from hingeline.estimates.size import precision_of_ages, size_log_rank, size_noninferiority, size_proportion
from hingeline.pictures.kinds import DRAWERS

LOG_RANK = {"hazard_ratio": 0.5, "standard": 4.0, "years": 5.0, "entry_years": 3.0, "follow_years": 5.0}


@pytest.fixture
def call(monkeypatch, capsys):
    def called(*words):
        monkeypatch.setattr(sys, "argv", ["hingeline", "size", *map(str, words)])
        with pytest.raises(SystemExit) as ended:
            cli.main()
        told = capsys.readouterr()
        return ended.value.code, told.out, told.err

    return called


def test_per_cents_and_points_are_told_as_a_clinician_says_them():
    asked = {"new": 2.0, "standard": 2.0, "margin": 2.0, "lost": 10.0}
    found = size_next("as-good", asked)
    assert found.size.exact == size_noninferiority(0.02, 0.02, 0.02).exact
    assert found.size.total == 1938
    over = size_next("log-rank", {**LOG_RANK, "lost_a_year": 5.0}).size
    assert (
        over.exact == size_log_rank(0.5, 0.04, 5, accrual_years=3, follow_up_years=5, lost_a_year=0.05).exact
    )
    assert size_next("share", {"share": 2.0, "within": 1.0}).size.exact == size_proportion(0.02, 0.01).exact


def test_the_table_holds_the_answer_at_what_is_assumed_and_falls_with_the_margin():
    found = size_next("as-good", {"new": 2.0, "standard": 2.0, "margin": 2.0})
    rows = found.curve.to_pylist()
    assert {"assumption": 2.0, "size": found.size.total} in [
        {name: row[name] for name in ("assumption", "size")} for row in rows
    ]
    assert [row["size"] for row in rows] == sorted((row["size"] for row in rows), reverse=True)
    assert found.size.sentence in found.text()


def test_what_no_size_can_show_stands_in_the_table_as_such():
    found = size_next("shares", {"new": 1.0, "standard": 2.0})
    assert found.curve["size"].to_pylist()[-1] is None
    assert "none suffices" in found.text()


@pytest.mark.parametrize(
    ("kind", "asked"),
    [
        ("shares", {"new": 1.0, "standard": 2.0}),
        ("as-good", {"new": 2.0, "standard": 2.0, "margin": 2.0}),
        ("log-rank", LOG_RANK),
    ],
)
def test_the_question_turned_round_gives_the_power_back(kind, asked):
    size = size_next(kind, asked).size
    assert size_next(kind, {**asked, "groins": size.exact[0]}).size.power == pytest.approx(0.8, abs=1e-6)


def test_the_precision_of_a_crossing_is_that_from_python():
    asked = {
        "groins": 800.0,
        "threshold": 20.0,
        "points": "0:1,30:40",
        "ages": "5-30",
        "studies": 100,
        "seed": 3,
    }
    found = size_next("crossing", asked)
    ages = [5.25 + half / 2 for half in range(50)]
    line = shape_through([0, 30], [0.01, 0.4])
    direct = precision_of_ages(line, ages, 800, threshold=0.2, studies=100, seed=3)
    assert found.size.half_width == direct.half_width
    assert found.curve.num_rows >= 2


def test_the_terminal_prints_sentence_table_and_caution(call):
    code, out, err = call("--for", "as-good", "--new", 2, "--standard", 2, "--margin", 2)
    assert (code, err) == (0, "")
    assert "872 groins an arm are needed" in out
    assert "margin, points   groins in all, power 80%" in out
    assert wording.CAUTION in out


def test_machines_get_the_same(call):
    code, out, _ = call("--for", "share", "--share", 2, "--within", 1, "--json")
    told = json.loads(out.splitlines()[-1])
    assert code == 0
    assert told["total"] == size_proportion(0.02, 0.01).total
    assert told["power"] is None


@pytest.mark.parametrize(
    ("kind", "asked"),
    [
        ("as well", {}),
        ("as-good", {"new": 2.0, "standard": 2.0}),
        ("as-good", {"new": 2.0, "standard": 2.0, "margin": 0.0}),
        ("as-good", {"new": 2.0, "standard": 2.0, "margin": -1.0}),
        ("as-good", {"new": 5.0, "standard": 2.0, "margin": 2.0}),
        ("as-good", {"new": 2.0, "standard": 2.0, "margin": 2.0, "power": 100.0}),
        ("as-good", {"new": 2.0, "standard": 2.0, "margin": 2.0, "power": 120.0}),
        ("as-good", {"new": 2.0, "standard": 2.0, "margin": 2.0, "groins": 900.0, "power": 80.0}),
        ("as-good", {"new": 2.0, "standard": 2.0, "margin": 2.0, "per_hospital": 0.5}),
        ("shares", {"new": 2.0, "standard": 2.0}),
        ("shares", {"new": 0.0, "standard": 2.0}),
        ("shares", {"new": 1.0, "standard": 2.0, "within": 3.0}),
        ("share", {"share": 2.0, "within": float("nan")}),
        ("log-rank", {**LOG_RANK, "hazard_ratio": 1.0}),
        ("crossing", {"within": 1.0, "ages": "30-10"}),
        ("crossing", {"within": 1.0, "ages": "young"}),
        ("crossing", {"within": 1.0, "ages": "-"}),
        ("crossing", {"within": 1.0, "points": "0:1,ten:20"}),
        ("crossing", {"within": 1.0, "points": "0:1"}),
        ("crossing", {"within": 1.0, "ages": "30-60"}),
        ("crossing", {"within": 0.0}),
        ("turn", {"within": 1.0, "turn": 9}),
        ("turn", {"within": 1.0, "studies": 5}),
    ],
)
def test_what_cannot_be_is_refused_in_three_parts(kind, asked):
    with pytest.raises(HingelineError) as refused:
        size_next(kind, asked)
    assert all((refused.value.what, refused.value.where, refused.value.todo))


@pytest.mark.parametrize(
    ("kind", "asked", "what", "where"),
    [
        ("as-good", {"new": 2.0, "standard": 2.0, "margin": 0.0}, "margin is 0 points", "--margin"),
        (
            "as-good",
            {"new": 5.0, "standard": 2.0, "margin": 2.0},
            "worse by 3 points",
            "--new, --standard, --margin",
        ),
        (
            "shares",
            {"new": 2.0, "standard": 2.0},
            "Both repairs are assumed at 2 per cent",
            "--new, --standard",
        ),
        ("shares", {"new": 0.0, "standard": 2.0}, "new is 0 per cent", "--new"),
        ("share", {"share": 2.0, "within": 60.0}, "within is 60 points", "--within"),
        ("log-rank", {**LOG_RANK, "hazard_ratio": 1.0}, "hazard ratio of 1", "--hazard-ratio"),
        ("log-rank", {**LOG_RANK, "years": -5.0}, "years is -5", "--years"),
        ("crossing", {"within": 1.0, "ages": "30-60"}, "does not lie between", "--points, --ages"),
        ("turn", {"within": 1.0, "turn": 9}, "no turn 9", "--turn, --points"),
        (
            "as-good",
            {"new": 2.0, "standard": 2.0, "margin": 2.0, "power": 1.0},
            "power is 1 per cent",
            "--power",
        ),
        (
            "as-good",
            {"new": 2.0, "standard": 2.0, "margin": 2.0, "per_hospital": 0.5},
            "0.5 groins",
            "--per-hospital",
        ),
    ],
)
def test_a_refusal_names_options_and_units_as_they_are_typed(kind, asked, what, where):
    with pytest.raises(HingelineError) as refused:
        size_next(kind, asked)
    assert what in refused.value.what
    assert refused.value.where == where
    assert "0.0" not in refused.value.what + refused.value.todo


@pytest.mark.parametrize(
    ("kind", "asked"),
    [
        ("as-good", {"new": 2.0, "standard": 2.0, "margin": 2.0}),
        ("log-rank", LOG_RANK),
        ("share", {"share": 2.0, "within": 1.0}),
        (
            "crossing",
            {"groins": 800.0, "studies": 100, "threshold": 20.0, "points": "0:1,30:40", "ages": "5-30"},
        ),
    ],
)
def test_the_answer_is_ringed_where_the_table_has_it(kind, asked):
    found = size_next(kind, asked)
    frames = found.figure().frames
    (chosen,) = frames["chosen"].to_pylist()
    assert chosen["size"] == found.size.total
    assert (chosen["assumption"], chosen["size"]) in [
        (pytest.approx(row["assumption"]), row["size"]) for row in frames["rows"].to_pylist()
    ]
    (axes,) = frames["axes"].to_pylist()
    assert axes["x"].lower() == found.assumption


def test_a_picture_is_written_in_each_form(call, tmp_path):
    for ending, start in ((".svg", b"<svg"), (".png", b"\x89PNG"), (".pdf", b"%PDF")):
        path = tmp_path / f"size{ending}"
        code, _, err = call("--for", "as-good", "--new", 2, "--standard", 2, "--margin", 2, "--picture", path)
        assert (code, err) == (0, "")
        assert path.read_bytes().lstrip().startswith(start)
    assert "Margin, points" in (tmp_path / "size.svg").read_text(encoding="utf-8")
    code, _, err = call("--for", "share", "--share", 2, "--within", 1, "--picture", tmp_path / "size.gif")
    assert code != 0
    assert "--picture" in err


def test_every_question_and_option_is_known_to_the_terminal_and_explained():
    from pathlib import Path

    from typer.main import get_command

    options = {name for p in get_command(cli.app).commands["size"].params for name in p.opts}
    text = (Path(__file__).parents[2] / "docs" / "commands.md").read_text(encoding="utf-8")
    for kind, (needed, may) in NEEDED.items():
        assert f"`{kind}`" in text
        for name in needed | may:
            assert wording.size_option(name) in options
            assert f"`{wording.size_option(name)}" in text


def test_a_picture_is_written_or_its_ending_refused(tmp_path):
    found = size_next("share", {"share": 2.0, "within": 1.0})
    with pytest.raises(HingelineError, match="cannot be written as"):
        found.draw(tmp_path / "size.doc")
    if "size" in KINDS and "size" in DRAWERS:
        assert b"<svg" in found.draw(tmp_path / "size.svg").read_bytes()
    else:
        with pytest.raises(HingelineError):
            found.draw(tmp_path / "size.svg")
