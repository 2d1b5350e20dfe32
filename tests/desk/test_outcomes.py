"""Outcomes of a study on disk: the invented truth lies between the two ends, and the notebook's example runs."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from hingeline.answers.recurrence import recurrence_part
from hingeline.desk.study import Study
from hingeline.invented import Truth, write_study

DOCS = Path(__file__).parents[2] / "docs"


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    place = tmp_path_factory.mktemp("outcomes")
    mp = pytest.MonkeyPatch()
    mp.setenv("HINGELINE_KEYS", str(place / "keys"))
    truth = write_study(place / "my-study", seed=23, groins=12_000)
    yield place / "my-study", truth
    mp.undo()


def test_the_true_risks_lie_between_the_two_ends_of_follow_up(made):
    """The generator lets recurrences bring patients back and tells all of them: the ends lie about the truth."""
    root, truth = made
    assert isinstance(truth, Truth)
    view = Study(root).followup
    for repair, risk in truth.outcomes.by_repair.items():
        seen = view.recurrence(repair, years=truth.outcomes.years)
        best = view.if_well().recurrence(repair, years=truth.outcomes.years)
        assert best.low < risk < seen.high, repair
        assert best.risk < seen.risk, "those who come back have something wrong more often"
        assert best.events == seen.events, "the same recurrences, set against more groins"


def test_the_example_of_the_statisticians_page_runs(made, monkeypatch):
    text = (DOCS / "for-statisticians.md").read_text(encoding="utf-8")
    example = next(
        part for part in re.findall(r"```python\n(.*?)```", text, re.S) if "study.followup" in part
    )
    monkeypatch.chdir(made[0].parent)
    names: dict[str, object] = {}
    exec(example, names)
    assert "study" in names


def test_what_is_followed_is_counted_once_and_found_again(made):
    root, _ = made
    study = Study(root)
    assert study.outcome_tallies.recurrence.n_groins == study.tally.n_groins
    assert Study(root).followup.recurrence("mesh") == study.followup.recurrence("mesh")


def test_a_study_without_consent_tells_no_small_number_of_recurrences(made):
    root, _ = made
    study = Study(root)
    text = study.folder.protocol.read_text(encoding="utf-8").replace(
        "events_may_leave = true", "events_may_leave = false"
    )
    from hingeline.protocol import parse_protocol

    part, findings = recurrence_part(study.outcome_tallies, parse_protocol(text, "study.toml"))
    assert all(finding.events in (None, 0) or finding.events >= 5 for finding in findings)
    cells = [cell for grid in part.grids for row in grid.rows for cell in row[1:]]
    assert not [cell for cell in cells if re.fullmatch(r"[1-4]", cell) or re.search(r"; [1-4]\sof\s", cell)]


def test_a_study_whose_legends_know_no_follow_up_runs_and_says_so(tmp_path, monkeypatch):
    monkeypatch.setenv("HINGELINE_KEYS", str(tmp_path / "keys"))
    root = tmp_path / "none"
    (root / "sources").mkdir(parents=True)
    (root / "legends").mkdir()
    lines = ["patient,sex,born,operated,side,type,repair"]
    for place in range(400):
        kind = "direct" if place % 80 > 45 else "indirect"
        born, operated = f"{2019 - place % 80}-01-15", f"2020-03-{1 + place % 28:02d}"
        lines.append(f"p{place},m,{born},{operated},left,{kind},mesh")
    (root / "sources" / "a.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    (root / "legends" / "a.toml").write_text(LEGEND, encoding="utf-8")
    (root / "study.toml").write_text(STUDY, encoding="utf-8")
    outcome = Study(root).run()
    findings = json.loads((outcome.run.path / "findings.json").read_text(encoding="utf-8"))
    assert any("Recurrence cannot be told" in sentence for sentence in findings["sentences"])
    assert [f["estimate"] for f in findings["findings"] if f["id"] == "recurrence.without-follow-up"] == [400]
    assert (outcome.run.path / "tallies" / "recurrence.csv").read_text(encoding="utf-8").count("\n") == 1


STUDY = """\
format = 1
[study]
title = "t"
question = "q"
cutoff = 2024-01-01
invented = true
[turns]
most = 1
[resampling]
replicates = 19
calibration = 19
[[hospitals]]
name = "Aldmoor"
sources = ["sources/a.csv"]
legend = "legends/a.toml"
"""
LEGEND = """\
hospital = "Aldmoor"
form = "operations"
[dates]
order = "ymd"
[fields]
patient = { column = "patient" }
born_on = { column = "born" }
sex = { column = "sex", codes = { m = "male" } }
operated_on = { column = "operated" }
side = { column = "side", codes = { left = "left" } }
type = { column = "type", codes = { direct = "direct", indirect = "indirect" } }
repair = { column = "repair", codes = { mesh = "mesh" } }
"""


def test_follow_up_is_counted_by_what_the_protocol_adjusts_for(made):
    root, _ = made
    study = Study(root)
    assert "specialty" not in study.outcome_tallies.recurrence.strata
    study.protocol = study.protocol.model_copy(
        update={"contrast": study.protocol.contrast.model_copy(update={"adjust": ("age", "specialty")})}
    )
    study.__dict__.pop("outcome_tallies")
    assert "specialty" in study.outcome_tallies.recurrence.strata
    assert study.outcome_tallies.recurrence.n_groins == study.tally.n_groins
