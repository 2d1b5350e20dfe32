"""Stretches that may leave: enough people in each, nobody lost, and no small count without consent."""

from __future__ import annotations

import numpy as np
import pyarrow as pa
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hingeline import wording
from hingeline.answers.leaving import leaving_tallies
from hingeline.answers.spans import (
    RateBand,
    Stretches,
    bars_by_type,
    rate_stretches,
    share_points,
    withheld_of,
    without_small,
)
from hingeline.counts import count_patterns
from hingeline.desk.new import PROTOCOL
from hingeline.protocol import parse_protocol
from hingeline.vocabulary import CASE_SCHEMA


def case(patient, age_days, kind, **more):
    row = {
        "hospital": "A",
        "patient": patient,
        "age_days": age_days,
        "age_precision": "day",
        "sex": "male",
        "side": "left",
        "type": kind,
        "known_by": "floor examined",
        "reason": "hernia",
        "occurrence": "primary",
        "repair": "tissue",
        "approach": "open",
        "specialty": "general surgery",
    }
    return {**row, **more}


def tally_of(rows):
    return count_patterns(pa.Table.from_pylist(rows, schema=CASE_SCHEMA))


counts = st.lists(st.tuples(st.integers(1, 40), st.integers(0, 40)), min_size=0, max_size=30)


@given(counts, st.integers(2, 8))
@settings(max_examples=200, deadline=None)
def test_without_consent_no_stretch_holds_a_small_count_and_no_groin_is_lost(pairs, least):
    n = np.array([max(a, b) for a, b in pairs], dtype=np.int64)
    direct = np.array([min(a, b) for a, b in pairs], dtype=np.int64)
    edges = np.arange(n.size + 1, dtype=float)
    joined = without_small(Stretches(edges[:-1], edges[1:], n, n * 365, direct), least)
    for total, seen in zip(joined.n, joined.direct, strict=True):
        assert seen == 0 or seen >= least
        assert total - seen == 0 or total - seen >= least
    if joined.n.size:
        assert joined.n.sum() == n.sum()
        assert joined.direct.sum() == direct.sum()
        assert joined.age_from[0] == 0
        assert joined.age_to[-1] == n.size
        assert np.array_equal(joined.age_from[1:], joined.age_to[:-1])
    else:
        total, seen = int(n.sum()), int(direct.sum())
        assert total == 0 or 0 < seen < least or 0 < total - seen < least, "withheld without need"


def test_points_stand_at_the_mean_age_and_add_up_to_what_was_counted():
    rng = np.random.default_rng(3)
    rows = [
        case(i, int(age), "direct" if rng.random() < 0.3 else "indirect")
        for i, age in enumerate(rng.integers(0, 80 * 365, 900))
    ]
    points = share_points(tally_of(rows), ("direct",), ("indirect", "direct"), 5, consent=True)
    assert sum(points["n"].to_pylist()) == 900
    days = (
        sum(n * age for n, age in zip(points["n"].to_pylist(), points["age"].to_pylist(), strict=True))
        * 365.25
    )
    assert days == pytest.approx(sum(row["age_days"] for row in rows), rel=1e-9)
    seen = sum(
        round(n * share)
        for n, share in zip(points["n"].to_pylist(), points["share"].to_pylist(), strict=True)
    )
    assert seen == sum(row["type"] == "direct" for row in rows)
    assert min(points["n"].to_pylist()) >= 5


def test_five_people_are_needed_and_five_groins_of_three_people_are_not_enough():
    few = [case(i // 2, 4000, "indirect", side=("left", "right")[i % 2]) for i in range(5)]
    many = [case(100 + i, 20000, "indirect") for i in range(20)]
    points = share_points(tally_of(few + many), ("direct",), ("indirect", "direct"), 5, consent=True)
    assert points["n"].to_pylist() == [25], "the three people were joined to the others"
    assert share_points(tally_of(few), ("direct",), ("indirect", "direct"), 5, consent=True).num_rows == 0


def test_a_type_with_too_few_people_has_no_bar():
    rows = [case(i, 300 * i, "indirect") for i in range(60)] + [
        case(1000 + i, 9000, "femoral") for i in range(4)
    ]
    bars = bars_by_type(tally_of(rows), ("indirect", "femoral"), 5)
    assert set(bars["type"].to_pylist()) == {"indirect"}
    assert sum(bars["n"].to_pylist()) == 60
    for row in bars.to_pylist():
        assert row["per_year"] == pytest.approx(row["n"] / (row["age_to"] - row["age_from"]))


def test_rates_rest_on_at_least_ten_cases_and_lose_no_person_year():
    cases = np.array([3, 4, 5, 0, 40, 2], dtype=np.int64)
    band = RateBand(np.arange(6.0) * 10, np.arange(1, 7.0) * 10, np.full(6, 1000.0), {"direct": cases})
    told = rate_stretches(band, "male", 5)
    assert told["n"].to_pylist() == [12, 42]
    assert told["rate"].to_pylist() == pytest.approx([12 / 3000 * 1e5, 42 / 3000 * 1e5])
    for row in told.to_pylist():
        assert row["low"] < row["rate"] < row["high"]


def test_ages_in_whole_years_and_in_days_make_the_same_bars():
    # a whole year stands at its middle, which is the second half-year bin
    whole = [case(i, int((i % 20 + 0.5) * 365.25), "indirect", age_precision="year") for i in range(400)]
    days = [case(i, int((i % 20) * 365.25) + 2 + i % 360, "indirect") for i in range(400)]
    bars = [bars_by_type(tally_of(rows), ("indirect",), 5).to_pylist() for rows in (whole, days)]
    assert [row["n"] for row in bars[0]] == [row["n"] for row in bars[1]] == [20] * 20


def test_counting_by_whole_years_loses_nobody_and_moves_nobody_to_another_year():
    rng = np.random.default_rng(5)
    drawn = zip(rng.integers(0, 300, 500).tolist(), rng.integers(0, 30000, 500).tolist(), strict=True)
    rows = [case(patient, age, "indirect") for patient, age in drawn]
    tally = tally_of(rows)
    years = tally.whole_years()
    assert years.n_groins == tally.n_groins
    assert years.n_patients == tally.n_patients
    counted = dict(zip(years.cells["age_bin"].to_pylist(), years.cells["n"].to_pylist(), strict=True))
    by_hand: dict[int, int] = {}
    for row in rows:
        year = int(row["age_days"] / 365.25)
        by_hand[year] = by_hand.get(year, 0) + 1
    assert counted == by_hand


def test_what_bars_keep_back_is_counted():
    # twenty at 10, then two at each of 12, 14 and 16 (joined to one stretch of 6), and three femoral ones
    ages = [10] * 20 + [12, 12, 14, 14, 16, 16]
    rows = [case(place, int(365.25 * age + 30), "indirect") for place, age in enumerate(ages)]
    rows += [case(100 + place, int(365.25 * 50), "femoral") for place in range(3)]
    tally = tally_of(rows)
    types = ("indirect", "direct", "femoral")
    bars = bars_by_type(tally, types, 5)
    assert sum(bars["n"].to_pylist()) == 26
    kept_back = withheld_of(tally, types, bars)
    assert (kept_back.types, kept_back.groins) == (("femoral",), 3)
    assert kept_back.joined == 4 - bars.num_rows
    told = wording.withheld("from repairs.csv", kept_back.joined, kept_back.types, kept_back.groins, 5)
    assert "femoral" in told
    assert "3" not in told.replace("stretches", ""), "the small count itself is what is kept back"
    assert wording.withheld("from repairs.csv", 0, (), 0, 5) == "Nothing is withheld from repairs.csv."


@pytest.mark.parametrize("consent", [True, False])
def test_tables_that_leave_say_what_they_keep_back(consent):
    more = '\nevents_may_leave = true\nconsent = "data officer, 3 May 2026"' if consent else ""
    protocol = parse_protocol(PROTOCOL.replace("smallest_cell = 5", f"smallest_cell = 5{more}"))
    assert protocol.privacy.events_may_leave == consent
    at = {"hospital": "First hospital"}
    rows = [
        case(place, 4000 + 40 * place, "direct" if place % 3 else "indirect", **at) for place in range(300)
    ]
    rows += [case(1000 + place, 9000, "femoral", **at) for place in range(2)]
    tables = leaving_tallies(tally_of(rows), protocol)
    told = tables["withheld.csv"]
    assert "repairs.csv" in told
    if consent:
        assert "femoral" in told
    else:
        assert tables["repairs.csv"].splitlines() == ["type,age_from,age_to,groins"]
        assert "consent" in told
