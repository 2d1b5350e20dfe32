"""Recurrence pooled over hospitals: what is told, what is kept back, and that nothing stops a run."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hingeline.answers.figures import KINDS
from hingeline.answers.pooling import pool_hospitals, pooling_part
from hingeline.answers.pooling_rows import hospital_rows, risk_of_rate, worth
from hingeline.counts.series import example_series, series_of
from hingeline.estimates.proportion import clopper_pearson

from .followed import Group, exponential, protocol_of, tallies_of

HOSPITALS = ("Aldmoor", "Brackwater", "Corriedale", "Dunmere")


def _several(events=(8, 12, 6, 20), followed=(300, 400, 350, 500)):
    return [Group(name, "mesh", n, x) for name, n, x in zip(HOSPITALS, followed, events, strict=True)]


def _words(part):
    """Every text that a reader could see."""
    texts = [part.sentence, part.heading, *part.cannot]
    for figure in part.figures:
        texts += [figure.title, figure.alt, figure.caption]
        for frame in figure.frames.values():
            texts += [str(value) for row in frame.to_pylist() for value in row.values()]
    for grid in part.grids:
        texts += [grid.title, grid.note, *grid.heads, *(cell for row in grid.rows for cell in row)]
    return texts


def test_the_pool_recovers_the_risk_of_groins_lost_at_any_time():
    seed = int(np.random.default_rng().integers(2**32))
    generator = np.random.default_rng(seed)
    hazard = 0.02
    groups = [Group(name, "mesh", 0) for name in HOSPITALS]
    tallies = tallies_of(groups, [exponential(generator, 1500, hazard) for _ in groups])
    protocol = protocol_of(HOSPITALS)
    (pool,), small = pool_hospitals(tallies.recurrence, protocol)
    true = 1 - math.exp(-5 * hazard)
    events = sum(row.events for row in pool.rows)
    # the log of a Poisson count has a standard error of 1/√events; six of them are missed once in 10⁹
    assert abs(math.log(pool.risk[0] / true)) < 6 / math.sqrt(events), seed
    assert small == []
    # those followed to the end alone are far above it: the part shows that, and does not tell it
    assert pool.known.estimate > 1.5 * true, seed


@given(events=st.integers(0, 50), years=st.floats(1, 5000), horizon=st.floats(0.5, 20))
def test_follow_up_is_worth_as_many_groins_as_give_the_same_risk(events, years, horizon):
    groins = worth(events, years, horizon)
    assert groins >= max(events, 1)
    risk = risk_of_rate(events / years, horizon)
    assert 0 <= risk <= 1
    if groins > events + 1:
        assert events == pytest.approx(groins * risk, abs=0.5 * risk + 1e-9)


def test_a_hospital_without_a_recurrence_stays_in_the_pool_as_it_is():
    protocol = protocol_of(HOSPITALS)
    with_none, _ = pooling_part(tallies_of(_several(events=(8, 12, 0, 20))), protocol)
    finding = pooling_part(tallies_of(_several(events=(8, 12, 0, 20))), protocol)[1][0]
    assert finding.id == "pooled.mesh"
    assert finding.events == 40
    assert finding.n == 1550
    assert finding.low < finding.estimate < finding.high
    series = with_none.figures[0].frames["series"].to_pylist()
    assert [row["label"] for row in series if row["kind"] == "series"] == list(HOSPITALS)
    assert series[2]["share"] == 0
    assert series[2]["high"] > 0
    assert not finding.headline


def test_exact_limits_of_one_hospital_are_as_wide_as_clopper_and_pearsons():
    # rare events: Poisson limits of the rate and binomial ones of the share agree to a few per cent of their width
    part, _ = pooling_part(tallies_of(_several()), protocol_of(HOSPITALS))
    row = part.figures[0].frames["series"].to_pylist()[0]
    groins = worth(8, (8 * 600 + 292 * 1826.25) / 365.25, 5)
    exact = clopper_pearson(8, groins)
    assert row["low"] == pytest.approx(exact.low, rel=0.03)
    assert row["high"] == pytest.approx(exact.high, rel=0.03)


counts = st.lists(
    st.tuples(st.integers(1, 60), st.integers(0, 12)).map(lambda one: (max(one), min(one))),
    min_size=1,
    max_size=5,
)


@settings(max_examples=40, deadline=None)
@given(counts=counts, consent=st.booleans())
def test_no_row_of_a_pool_is_too_small_to_be_told(counts, consent):
    names = [f"Hospital {letter}" for letter in "ABCDE"[: len(counts)]]
    groups = [Group(name, "mesh", n, x) for name, (n, x) in zip(names, counts, strict=True)]
    protocol = protocol_of(names, consent=consent)
    rows = hospital_rows(tallies_of(groups).recurrence, protocol, 5.0)
    for row in rows:
        assert row.people >= 5
        assert consent or row.events == 0 or row.events >= 5
    if rows:  # nobody is lost and nobody counts twice
        assert sum(row.events for row in rows) == sum(x for _, x in counts)
        assert sum(row.groins for row in rows) == sum(n for n, _ in counts)
        assert sorted(name for row in rows for name in row.hospitals) == sorted(names)


def test_without_consent_no_small_count_is_told_and_with_it_all_are():
    groups = _several(events=(2, 12, 3, 20))
    told, findings = pooling_part(tallies_of(groups), protocol_of(HOSPITALS, consent=False))
    shown = [row for row in told.figures[0].frames["series"].to_pylist() if row["kind"] == "series"]
    assert [row["events"] for row in shown] == ["12", "20", "5"]
    assert shown[2]["label"] == "2 smaller hospitals together"
    assert findings[0].events == 37
    assert not any("only groins with a recurrence" in text for text in _words(told))
    open_part, _ = pooling_part(tallies_of(groups), protocol_of(HOSPITALS))
    shown = open_part.figures[0].frames["series"].to_pylist()
    assert [row["events"] for row in shown if row["kind"] == "series"] == ["2", "12", "3", "20"]


@pytest.mark.parametrize("consent", [True, False])
@pytest.mark.parametrize(
    "groups",
    [
        [],
        [Group("Aldmoor", "mesh", 0, without=40)],
        [Group("Aldmoor", "mesh", 80, 6)],
        [Group("Aldmoor", "mesh", 80), Group("Brackwater", "mesh", 90)],
        [Group("Aldmoor", "mesh", 80, 80), Group("Brackwater", "mesh", 90, 90)],
        [Group("Aldmoor", "mesh", 3, 1), Group("Brackwater", "tissue", 2, 2)],
        [Group("Aldmoor", "mesh", 60, 9, days=0, event_day=0), Group("Brackwater", "mesh", 60, 9)],
        [Group("Aldmoor", "unknown", 60, 9), Group("Brackwater", "unknown", 60, 9)],
    ],
)
def test_nothing_stops_a_run(groups, consent):
    part, findings = pooling_part(
        tallies_of(groups),
        protocol_of(HOSPITALS, consent=consent),
        [("Adolescents", series_of(example_series(), "example"))],
    )
    assert part.sentence.endswith(".")
    assert not part.leads
    for figure in part.figures:
        for frame, columns in KINDS[figure.kind].items():
            assert set(columns) <= set(figure.frames[frame].column_names)
    for finding in findings:
        assert 0 <= finding.low <= finding.estimate <= finding.high <= 1
    assert not any("nan" in text.split() for text in _words(part))


def test_no_event_at_all_has_a_one_sided_limit_and_no_spread():
    groups = [Group("Aldmoor", "mesh", 80), Group("Brackwater", "mesh", 90)]
    part, (finding,) = pooling_part(tallies_of(groups), protocol_of(HOSPITALS))
    # 1 − 0.05^(1/n), Hanley & Lippman-Hand 1983 (JAMA 249:1743), with person-years over five as n
    years = (80 + 90) * 1826.25 / 365.25
    assert finding.high == pytest.approx(-math.expm1(5 * math.log(0.05) / years), rel=1e-9)
    assert "upper limit" in part.sentence
    assert all(figure.kind != "funnel" for figure in part.figures)


def test_published_summaries_stand_beside_this_studys_number_and_are_not_pooled():
    part, findings = pooling_part(
        tallies_of(_several()),
        protocol_of(HOSPITALS),
        [("Adolescents", series_of(example_series(), "example"))],
    )
    rows = part.figures[-1].frames["series"].to_pylist()
    assert [row["kind"] for row in rows] == ["summary"] * 4 + ["pooled"]
    assert rows[0]["share"] == 0.016
    assert rows[-1]["label"].startswith("This study")
    assert [finding.id for finding in findings] == ["pooled.mesh"]


def test_published_series_are_pooled_beside():
    text = "label,events,n,follow_up_years\nOne,3,120,2\nTwo,0,80,\nThree,7,240,4.5\n"
    part, findings = pooling_part(
        tallies_of(_several()), protocol_of(HOSPITALS), [("Typed by hand", series_of(text, "typed"))]
    )
    assert [finding.id for finding in findings] == ["pooled.mesh", "published.1"]
    assert findings[1].events == 10
    rows = part.figures[-1].frames["series"].to_pylist()
    assert [row["follow_up"] for row in rows[:3]] == ["2 years", "", "4.5 years"]


def test_a_hospital_so_small_that_one_recurrence_would_be_outside_is_not_placed():
    groups = [*_several(), Group("Eskholm", "mesh", 6, 1, 200, 100)]
    part, _ = pooling_part(tallies_of(groups), protocol_of((*HOSPITALS, "Eskholm")))
    figure = next(one for one in part.figures if one.kind == "funnel")
    assert "Eskholm" not in figure.frames["points"]["label"].to_pylist()
    assert "Eskholm is left out" in figure.caption


def test_a_hospital_far_from_the_others_is_named_with_care():
    part, _ = pooling_part(tallies_of(_several(events=(8, 12, 6, 120))), protocol_of(HOSPITALS))
    figure = next(one for one in part.figures if one.kind == "funnel")
    assert "Dunmere" in figure.caption.split(";")[0]
    assert "nothing about skill" in figure.caption


def test_a_pool_names_the_cells_of_its_repair():
    _, findings = pooling_part(tallies_of(_several()), protocol_of(HOSPITALS))
    cells = [finding.cells for finding in findings if finding.id.startswith("pooled.")]
    assert cells
    assert all(re.search(r"repair = (high_ligation|tissue|mesh)\b(?! or)", one) for one in cells), cells
