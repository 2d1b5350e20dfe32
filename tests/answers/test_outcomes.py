"""What is told of outcomes: the numbers by hand, what stays at home without consent, and that nothing stops a run."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator

import numpy as np
import pyarrow as pa
import pytest

from hingeline import wording
from hingeline.answers.answer import answer_study
from hingeline.answers.findings import Answer, Grid, Part
from hingeline.answers.leaving import leaving_tallies
from hingeline.answers.outcomes import OutcomeTallies, outcome_parts
from hingeline.answers.recurrence import recurrence_part
from hingeline.answers.views_outcomes import FollowUpView, OutcomesView
from hingeline.errors import HingelineError

from .outcome_cases import groins, patterns_of, protocol_of, repair, tallies_of

BOTH = pytest.mark.parametrize("consent", [True, False])
FIVE_YEARS = round(5 * 365.25)


def _grid(part: Part, title: str) -> Grid:
    return next(grid for grid in part.grids if grid.title.startswith(title))


def _texts(part: Part) -> Iterator[str]:
    yield part.sentence
    yield from part.cannot
    for figure in part.figures:
        yield from (figure.title, figure.alt, figure.caption)
    for grid in part.grids:
        yield from (grid.title, grid.note, *grid.heads)
        for row in grid.rows:
            yield from row


def _cases() -> list[dict[str, object]]:
    """Three repairs in two hospitals; tissue has few recurrences in the first year, mesh few in one hospital."""
    return [
        *repair("high_ligation", 400, 30, approach="open", age_years=8.0),
        *repair("tissue", 200, 12, hospital="Brackwater", age_years=16.0),
        *repair("mesh", 300, 3, hospital="Aldmoor", age_years=40.0),
        *repair("mesh", 500, 20, hospital="Brackwater", approach="laparoscopic", age_years=40.0),
        *groins(25, None, repair="mesh"),
    ]


def test_a_risk_is_that_of_a_hand_computation():
    # everybody followed for five years but those with a recurrence: the risk is a plain share
    tallies = tallies_of([*repair("mesh", 200, 8), *repair("tissue", 100, 10)])
    part, findings = recurrence_part(tallies, protocol_of())
    told = {one.id: one for one in findings}
    assert told["recurrence.mesh.5y"].estimate == pytest.approx(8 / 200)
    assert told["recurrence.tissue.5y"].estimate == pytest.approx(10 / 100)
    assert told["recurrence.mesh.5y"].headline
    assert not told["recurrence.mesh.1y"].headline
    assert told["recurrence.mesh.5y"].sentence in part.sentence, "the report points from it to its cells"
    assert "18 recurrences by 5 years in 300 groins followed" in part.sentence


def test_groins_without_follow_up_are_counted_and_never_free_of_recurrence():
    rows = repair("mesh", 100, 10)
    more = [*rows, *groins(900, None, repair="mesh")]
    alone, _ = recurrence_part(tallies_of(rows), protocol_of())
    part, findings = recurrence_part(tallies_of(more), protocol_of())
    told = {one.id: one for one in findings}
    assert told["recurrence.mesh.5y"].estimate == pytest.approx(0.1)
    assert told["recurrence.without-follow-up"].estimate == 900
    assert "900 of 1,000 groins (90%) have no follow-up" in part.sentence
    assert "no follow-up" not in alone.sentence


def test_death_competes_and_its_row_stands_apart():
    dead = groins(50, 300, repair="mesh", died_on=dt.date(2012, 1, 1) + dt.timedelta(300))
    rows = [*groins(50, 600, True, repair="mesh"), *dead, *groins(100, 2500, repair="mesh")]
    part, findings = recurrence_part(tallies_of(rows), protocol_of())
    risk = next(one for one in findings if one.id == "recurrence.mesh.5y")
    assert risk.estimate == pytest.approx(50 / 200), "of all, not of those alive"
    ways = {row[0]: row[1] for row in _grid(part, "Recurrence within 5 years, reckoned").rows}
    assert ways[wording.way("censored")].startswith("33.3%"), "50 of the 150 alive by then, by hand"
    died = next(row for row in _grid(part, "Told apart").rows if row[0] == wording.death_row())
    assert died[3] == "50"
    assert died[4].startswith("25.0%")


def test_what_assuming_the_best_does_is_told_as_no_limit():
    rows = [
        *groins(20, 800, True, repair="mesh"),
        *groins(80, 2500, repair="mesh"),
        *groins(300, None, repair="mesh"),
    ]
    part, _ = recurrence_part(tallies_of(rows), protocol_of())
    assert "it is 5.0% after mesh repair" in part.sentence, "20 of all 400"
    assert "Neither is a confidence limit" in part.sentence
    assert "most likely" not in part.sentence


def test_two_groins_of_a_patient_make_limits_wider():
    def pairs(shared: bool) -> list[dict[str, object]]:
        rows = []
        for place in range(120):
            event = place < 12
            for side in ("left", "right"):
                rows += groins(
                    1,
                    700 if event else 2500,
                    event,
                    repair="mesh",
                    side=side,
                    patient=place if shared else len(rows),
                )
        return rows

    def width(shared: bool) -> float:
        _, findings = recurrence_part(tallies_of(pairs(shared)), protocol_of())
        one = next(one for one in findings if one.id == "recurrence.mesh.5y")
        return one.high - one.low

    # two groins that always fare alike are worth one: √2 on the scale of the standard error
    assert width(True) / width(False) == pytest.approx(np.sqrt(2), rel=0.08)


def test_hydroceles_and_a_processus_closed_in_passing_are_no_part_of_it():
    rows = [*repair("mesh", 200, 8), *repair("mesh", 60, 30, reason="hydrocele")]
    part, findings = recurrence_part(tallies_of(rows), protocol_of())
    assert next(one for one in findings if one.id == "recurrence.mesh.5y").n == 200
    apart = next(row for row in _grid(part, "Told apart").rows if row[0] == wording.reason_row("hydrocele"))
    assert apart[3] == "30"


def test_the_type_found_again_stands_by_first_repair_and_type():
    again = groins(7, 900, True, repair="high_ligation", type="indirect", reoperation_type="direct")
    part, _ = recurrence_part(tallies_of([*repair("high_ligation", 200, 0), *again]), protocol_of())
    grid = _grid(part, "Type found")
    assert grid.rows == (("High ligation", "indirect", "7"),)
    assert grid.heads[2] == "Found direct"


def test_without_consent_no_small_count_stands_in_any_table_or_finding():
    part, findings = recurrence_part(tallies_of(_cases()), protocol_of(("Aldmoor", "Brackwater"), False))
    for grid in part.grids:
        for row in grid.rows:
            for cell in row[1:]:
                assert not re.fullmatch(r"[1-4]", cell), row
                assert not re.search(r"; [1-4]\sof\s", cell), row
    for finding in findings:
        assert finding.events is None or finding.events == 0 or finding.events >= 5
    hospitals = [
        row
        for row in _grid(part, "Recurrence within 5 years, by repair").rows
        if row[1] in ("Aldmoor", "Brackwater")
    ]
    assert [row[-1] for row in hospitals] == [wording.kept_back()] * 2, (
        "3 of mesh would be the sum less the other"
    )


def test_with_consent_the_same_counts_are_told():
    part, _ = recurrence_part(tallies_of(_cases()), protocol_of(("Aldmoor", "Brackwater"), True))
    told = [cell for row in _grid(part, "Recurrence within 5 years, by repair").rows for cell in row]
    assert any(cell.endswith("; 3\u00a0of\u00a0300") for cell in told)
    assert wording.kept_back() not in told


@BOTH
def test_a_repair_of_unknown_name_gives_nothing_away(consent):
    """Recurrences after an unknown repair are in no sum, so that none less the repairs told leaves them."""
    rows = [*repair("mesh", 200, 8), *repair("tissue", 100, 10), *repair("unknown", 60, 2)]
    part, _ = recurrence_part(tallies_of(rows), protocol_of(consent=consent))
    assert "18 recurrences" in part.sentence
    known = sum(int(row[1]) for row in _grid(part, "How recurrences").rows)
    assert known == 18
    assert not any(re.search(r"\b20 (recurrences|events)", text) for text in _texts(part))


def test_horizons_with_few_recurrences_between_are_kept_back():
    early = groins(7, 100, True, repair="mesh")
    late = groins(2, 500, True, repair="mesh")
    rows = [*early, *late, *groins(6, 1200, True, repair="mesh"), *groins(300, 2500, repair="mesh")]
    _, told = recurrence_part(tallies_of(rows), protocol_of())
    _, home = recurrence_part(tallies_of(rows), protocol_of(consent=False))
    names = [f"recurrence.mesh.{years}y" for years in (1, 2, 5)]
    assert [name in {one.id for one in told} for name in names] == [True, True, True]
    # 7 by the first year and 9 by the second are two apart; the later is told, since it is asked first
    assert [name in {one.id for one in home} for name in names] == [False, True, True]


@BOTH
def test_the_table_that_leaves_tells_what_may_be_told(consent):
    rows = _cases()
    protocol = protocol_of(("Aldmoor", "Brackwater"), consent)
    tables = leaving_tallies(patterns_of(rows), protocol, tallies_of(rows))
    lines = [line.split(",") for line in tables["recurrence.csv"].splitlines()]
    assert lines[0] == ["repair", "year", "groins", "followed", "at_risk", "events"]
    mesh = {int(line[1]): line for line in lines[1:] if line[0] == "mesh"}
    assert mesh[5][2:4] == ["825", "800"]
    assert mesh[5][5] == "23"
    events = [int(line[5]) for line in mesh.values() if line[5]]
    steps = np.diff([0, *events])
    assert consent or all(step == 0 or step >= 5 for step in steps)
    assert "recurrence.csv" in tables["withheld.csv"]
    assert (len(events) == 6) or not consent


HARD = {
    "no follow-up at all": groins(40) + groins(40, repair="high_ligation", type="direct"),
    "one repair": repair("mesh", 200, 8),
    "no event": [*repair("mesh", 200, 0), *repair("high_ligation", 200, 0), *repair("tissue", 90, 0)],
    "one groin": groins(1, 400, True),
    "everything under the least": [*repair("mesh", 3, 1), *repair("high_ligation", 4, 2)],
    "followed for no day": groins(30, 0) + groins(30, 0, repair="tissue"),
    "horizon beyond follow-up": [
        *repair("mesh", 50, 0, days=300),
        *groins(5, 200, True),
        *groins(20, 250, repair="tissue"),
    ],
    "everybody has a recurrence": groins(20, 300, True) + groins(20, 400, True, repair="high_ligation"),
    "nobody of the headline": groins(30, 800, True, sex="female"),
    "repairs unknown": groins(60, 900, repair="unknown") + groins(6, 500, True, repair="unknown"),
    "repair with few, others well": [*repair("mesh", 300, 12), *repair("tissue", 3, 1)],
}


@BOTH
@pytest.mark.parametrize("name", HARD)
def test_no_made_case_stops_the_parts_on_outcomes(name, consent):
    tallies = tallies_of(HARD[name])
    parts, findings = outcome_parts(tallies, protocol_of(consent=consent))
    first = parts[0]
    assert first.id == "recurrence"
    for part in parts:
        assert part.sentence
        for text in _texts(part):
            assert "nan" not in re.findall(r"[a-z]+", text), (part.id, text)
            assert "inf" not in re.findall(r"[a-z]+", text), (part.id, text)
    assert len({finding.id for finding in findings}) == len(findings)


def test_without_any_follow_up_it_says_so():
    part, findings = recurrence_part(tallies_of(HARD["no follow-up at all"]), protocol_of())
    assert part.sentence.startswith("Recurrence cannot be told: none of 80 groins")
    assert [one.id for one in findings] == ["recurrence.without-follow-up"]
    assert not part.figures


def test_a_horizon_beyond_follow_up_is_marked():
    part, _ = recurrence_part(tallies_of(HARD["horizon beyond follow-up"]), protocol_of())
    assert "nobody was followed for 5 years" in part.sentence
    assert "†" in _grid(part, "Recurrence by repair").rows[-1][6]


def _flow(groins: int) -> pa.Table:
    steps = ("rows read", "groins read", "cases")
    return pa.Table.from_pylist(
        [
            {"hospital": "Aldmoor", "step": step, "reason": "", "rows": groins, "groins": groins}
            for step in steps
        ]
    )


@pytest.mark.parametrize(("name", "consent"), [("no follow-up at all", True), ("one repair", False)])
def test_the_whole_answer_is_given_though_outcomes_cannot_be_told(name, consent):
    rows = HARD[name] + [
        row
        for age in range(2, 80, 3)
        for row in groins(4, type="direct" if age > 30 else "indirect", age_years=float(age))
    ]
    answer: Answer = answer_study(
        patterns_of(rows),
        flow=_flow(len(rows)),
        protocol=protocol_of(consent=consent),
        population=None,
        rates_tally=None,
        marks={},
        outcomes=tallies_of(rows),
    )
    assert "recurrence" in [part.id for part in answer.parts]
    assert next(part.sentence for part in answer.parts if part.id == "recurrence") in answer.sentences


def _view() -> FollowUpView:
    return FollowUpView(tallies_of(_cases()), protocol_of(("Aldmoor", "Brackwater"), False))


def test_the_notebook_gives_what_the_report_tells():
    view = _view()
    _, findings = recurrence_part(tallies_of(_cases()), protocol_of(("Aldmoor", "Brackwater")))
    told = {one.id: one for one in findings}
    for name in ("high_ligation", "tissue", "mesh"):
        risk = view.recurrence(name, years=5)
        finding = told[f"recurrence.{name}.5y"]
        assert (risk.risk, risk.low, risk.high) == (finding.estimate, finding.low, finding.high)
    assert set(view.curve("mesh", by="hospital")) == {"Aldmoor", "Brackwater"}
    assert set(view.curve("mesh", by="age_band")) == {"30 to 49"}
    assert view.rates()["mesh"].events == 23
    assert view.without().to_pylist()[1] == {"repair": "mesh", "n": 25, "of": 825}
    assert view.at_reoperation().num_rows == 0
    assert view.if_well().recurrence("mesh").risk < view.recurrence("mesh").risk
    assert view.other_groin().risk == 0


def test_the_notebook_says_which_repairs_there_are():
    with pytest.raises(HingelineError, match="followed after 'suture'"):
        _view().recurrence("suture")
    with pytest.raises(HingelineError):
        _view().if_well("for ever")


def test_the_notebook_compares_pools_and_sizes():
    rows = [
        *repair("high_ligation", 300, 18),
        *repair("mesh", 300, 9),
        *repair("mesh", 300, 12, hospital="Brackwater"),
    ]
    tallies: OutcomeTallies = tallies_of(rows)
    view = OutcomesView(tallies, protocol_of(("Aldmoor", "Brackwater")))
    assert view.pooled("mesh").hospitals == 2
    assert {pair.arm for pair in view.contrast().pairs} == {"mesh"}
    assert view.size().total > 100
    assert view.fragility().rows
    with pytest.raises(HingelineError):
        view.pooled("tissue")
    with pytest.raises(HingelineError):
        OutcomesView(tallies_of(HARD["one repair"]), protocol_of()).contrast()


def test_few_who_are_still_followed_are_not_counted_out():
    rows = [*groins(8, 300, True), *groins(60, 700), *groins(3, 2500)]
    part, _ = recurrence_part(tallies_of(rows), protocol_of())
    assert "fewer than 10 are still followed there" in part.sentence
    assert not any(re.search(r"\b[1-4] still followed", text) for text in _texts(part))
    left = part.figures[0].frames["at_risk"].to_pylist()
    assert [row["n"] for row in left if row["years"] == 5] == ["fewer than 5"]
