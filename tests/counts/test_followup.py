"""The follow-up tally against follow-up reckoned case by case, and what a groin without follow-up is not."""

from __future__ import annotations

import datetime as dt
import random
from collections import Counter

import duckdb
import narwhals as nw
import numpy as np
import pyarrow as pa
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hingeline.counts import (
    FollowUp,
    FollowUpTally,
    count_followup,
    pool_followup,
    reoperations,
)
from hingeline.counts.followup_fields import day_number
from hingeline.errors import HingelineError

from .follow import CUTOFF, LIMITS, plain_outcome, plain_tally, rows_with_outcomes, table

few = settings(max_examples=20, deadline=None)
fewer = settings(max_examples=8, deadline=None)
BY = ("hospital", "repair", "emergency", "well_days", "found_again")
HOWS = st.tuples(
    st.sampled_from(["recurrence", "other groin"]),
    st.sampled_from(["last visit", "age limit", "cut-off"]),
    st.sampled_from(["seen", "known"]),
)
START = dt.date(2010, 1, 1)


def counted(rows, how=("recurrence", "last visit", "seen"), by=BY, **more):
    endpoint, until, deaths = how
    return count_followup(
        rows if not isinstance(rows, list) else table(rows),
        by=by,
        cutoff=CUTOFF,
        endpoint=endpoint,
        until=until,
        deaths=deaths,
        age_limits=LIMITS,
        **more,
    )


def opened_up(tally: FollowUpTally) -> Counter:
    names = ["hospital", "repair", "emergency", "found_again", "outcome", "followed_days", "well_days"]
    found: Counter = Counter()
    for row in tally.tally.cells.select([*names, "n"]).to_pylist():
        found[tuple(row[name] for name in names)] += row["n"]
    return found


def on(days: int) -> dt.date:
    return START + dt.timedelta(days)


@few
@given(rows_with_outcomes(), HOWS)
def test_the_tally_is_what_reckoning_case_by_case_gives(rows, how):
    tally = counted(rows, how)
    assert opened_up(tally) == plain_tally(
        rows, ("hospital", "repair", "emergency", "reoperation_type"), *how
    )
    outcomes = [plain_outcome(row, rows, *how) for row in rows]
    assert tally.n_without == sum(outcome == "without" for outcome, _, _ in outcomes)
    assert tally.n_not_at_risk == sum(outcome == "not at risk" for outcome, _, _ in outcomes)
    followed = [(outcome, days) for outcome, days, _ in outcomes if days is not None]
    assert tally.n_followed == len(followed)
    arrays = tally.rows()
    assert arrays.days_followed == sum(days for _, days in followed)
    assert arrays.n_events == sum(outcome == "event" for outcome, _ in followed)
    assert arrays.n_deaths == sum(outcome == "death" for outcome, _ in followed)


@fewer
@given(rows_with_outcomes(12), HOWS)
def test_order_of_rows_and_passes_change_nothing(rows, how):
    whole = counted(rows, how)
    mixed = rows[:]
    random.Random(len(rows)).shuffle(mixed)
    assert counted(mixed, how).tally == whole.tally
    assert counted(rows, how, rows_a_pass=3).tally == whole.tally


def test_days_are_numbered_as_the_calendar_does_in_an_engine_that_subtracts_dates_otherwise():
    days = [dt.date(1896, 1, 1) + dt.timedelta(day) for day in range(80_000)]
    connection = duckdb.connect()
    frame = nw.from_native(connection.from_arrow(pa.table({"day": days}))).lazy()
    numbers = frame.select("day", number=day_number(nw.col("day"))).collect(backend="pyarrow").to_native()
    connection.close()
    assert numbers["number"].to_pylist() == [day.toordinal() for day in numbers["day"].to_pylist()]


@fewer
@given(rows_with_outcomes(12), rows_with_outcomes(12), HOWS)
def test_pooling_hospitals_is_exact(some, others, how):
    some = [row | {"hospital": "Aldmoor", "patient": 2 * row["patient"]} for row in some]
    others = [row | {"hospital": "Brackwater", "patient": 2 * row["patient"] + 1} for row in others]
    pooled = pool_followup([counted(others, how), counted(some, how)])
    assert pooled.tally == counted(some + others, how).tally


@fewer
@given(rows_with_outcomes(), HOWS)
def test_cells_alone_hold_the_same_groins(rows, how):
    cells, patterns = counted(rows, how, patients=False), counted(rows, how)
    assert cells.tally.cells == patterns.tally.cells
    one, other = cells.rows(("repair",)), patterns.rows(("repair",))
    assert one.clusters is None
    assert _gathered(one) == _gathered(other)
    assert cells.without(("repair",)) == patterns.without(("repair",))


def _gathered(rows) -> Counter:
    found: Counter = Counter()
    for repair, days, outcome, groins in zip(
        rows.values("repair").to_pylist(), rows.days, rows.outcome, rows.n * rows.weights, strict=True
    ):
        found[(repair, int(days), int(outcome))] += int(groins)
    return found


def test_a_groin_never_heard_of_contributes_no_time_and_is_counted():
    tally = counted(
        [{"patient": 1}, {"patient": 2, "followed_until": on(10)}, {"patient": 3, "repair": "tissue"}]
    )
    assert (tally.n_groins, tally.n_followed, tally.n_without) == (3, 1, 2)
    assert tally.rows().days.tolist() == [10]
    assert tally.without(("repair",)).to_pylist() == [
        {"repair": "mesh", "n": 1, "of": 2},
        {"repair": "tissue", "n": 1, "of": 1},
    ]
    assert "2 groins without follow-up" in str(tally)


def test_a_death_after_the_last_visit_counts_only_where_that_is_asked_for():
    rows = [{"patient": 1, "followed_until": on(100), "died_on": on(900)}]
    seen = counted(rows).rows()
    known = counted(rows, ("recurrence", "last visit", "known")).rows()
    assert (seen.days.tolist(), seen.outcome.tolist()) == ([100], [0])
    assert (known.days.tolist(), known.outcome.tolist()) == ([900], [2])
    # heard of until the death: it was observed
    at_death = counted([rows[0] | {"followed_until": on(900)}]).rows()
    assert (at_death.days.tolist(), at_death.outcome.tolist()) == ([900], [2])


def test_two_groins_of_a_patient_are_one_cluster_and_like_patients_share_a_pattern():
    pair = {"followed_until": on(50), "recurred_on": None}
    rows = [
        row
        for patient in (1, 2, 3)
        for row in (
            pair | {"patient": patient, "side": "left"},
            pair | {"patient": patient, "side": "right", "recurred_on": on(40)},
        )
    ]
    arrays = counted(rows).rows()
    assert len(set(arrays.clusters.tolist())) == 1
    assert arrays.weights.tolist() == [3, 3]
    assert sorted(zip(arrays.days.tolist(), arrays.outcome.tolist(), arrays.n.tolist(), strict=True)) == [
        (40, 1, 1),
        (50, 0, 1),
    ]


def test_an_event_lies_between_the_last_day_well_and_the_day_it_was_found():
    rows = [
        {"patient": 1, "followed_until": on(900), "recurred_on": on(700), "last_well_on": on(300)},
        {"patient": 2, "followed_until": on(900), "recurred_on": on(700)},
        {"patient": 3, "followed_until": on(900)},
        {"patient": 4, "recurred_on": on(0)},
    ]
    arrays = counted(rows).rows()
    assert sorted(zip(arrays.left.tolist(), arrays.right.tolist(), strict=True)) == [
        (0, 1),
        (0, 700),
        (300, 700),
        (900, np.inf),
    ]


def test_bands_of_ages_part_the_groins_and_sit_at_their_mean_ages():
    rows = [
        {"patient": i, "age_days": age, "followed_until": on(9)}
        for i, age in enumerate((100, 4383, 6574, 9000))
    ]
    arrays = counted(rows).rows().banded([0, 12, 18])
    groups = {name: sorted(part.age_years * 365.25) for name, part in arrays.groups("age_band")}
    assert {name: [round(age) for age in ages] for name, ages in groups.items()} == {
        "0 to 11": [100],
        "12 to 17": [4383, 6574],
        "18 and over": [9000],
    }
    # 18 years are 6574.5 days
    assert sorted(counted(rows).rows().between(12, 18).age_years * 365.25) == pytest.approx([4383, 6574])
    with pytest.raises(HingelineError, match=r"Ages cannot be parted at 12\.3"):
        counted(rows).rows().banded([12.3])


def test_rows_can_be_parted_and_restricted_and_say_what_they_lack():
    rows = [{"patient": 1, "followed_until": on(5)}, {"patient": 2, "repair": "tissue", "recurred_on": on(7)}]
    arrays = counted(rows).rows()
    assert [(name, part.days.tolist()) for name, part in arrays.groups("repair")] == [
        ("mesh", [5]),
        ("tissue", [7]),
    ]
    assert arrays.where(repair=("tissue",)).n_events == 1
    assert arrays.to_frame().num_rows == 2
    with pytest.raises(HingelineError, match="do not have 'type'"):
        arrays.where(type="direct")


def test_the_type_found_again_is_told_by_the_first_repair():
    rows = [
        {"patient": 1, "recurred_on": on(9), "reoperation_type": "direct"},
        {"patient": 2, "repair": "high_ligation", "recurred_on": on(9), "reoperation_type": "direct"},
        {"patient": 3, "repair": "high_ligation", "recurred_on": on(9)},
    ]
    tally = counted(rows, by=("repair", "found_again"))
    assert reoperations(tally, ("repair",)).to_pylist() == [
        {"repair": "high_ligation", "found_again": "direct", "n": 1},
        {"repair": "mesh", "found_again": "direct", "n": 1},
    ]


def test_a_tally_is_saved_and_read_again(tmp_path):
    for patients in (True, False):
        tally = counted([{"patient": 1, "followed_until": on(5)}, {"patient": 2}], patients=patients)
        tally.save(tmp_path / str(patients))
        again = FollowUpTally.load(tmp_path / str(patients), tally.how)
        assert (again.tally, again.patients) == (tally.tally, patients)


def test_no_cases_and_ways_that_there_are_not():
    assert counted([]).rows().days.size == 0
    assert "0 groins" in str(counted([]))
    with pytest.raises(HingelineError, match="reckoned by until 'ever'"):
        FollowUp(CUTOFF, until="ever")
    with pytest.raises(HingelineError, match="cannot be added"):
        pool_followup([counted([]), counted([], ("recurrence", "cut-off", "seen"))])
    with pytest.raises(HingelineError, match="lack 'last_well_on'"):
        counted(pa.table(table([{"patient": 1}])).drop_columns(["last_well_on"]))


def test_more_possible_cells_than_32_bits_hold_are_numbered():
    rows = [
        {"patient": day % 7, "age_days": 4 * day, "followed_until": on(day), "recurred_on": on(day - day % 5)}
        | {"hospital": ("Aldmoor", "Brackwater")[day % 2], "last_well_on": on(day // 2)}
        for day in range(0, 3600, 37)
    ]
    how = ("recurrence", "last visit", "seen")
    counts = plain_tally(
        rows := [
            one
            | dict.fromkeys(("emergency", "died_on", "reoperation_type"))
            | {"operated_on": START, "side": "left", "repair": "mesh", "other_groin_on": None}
            | one
            for one in rows
        ],
        ("hospital", "repair", "emergency", "reoperation_type"),
        *how,
    )
    tally = counted(rows, how)
    assert opened_up(tally) == counts
    assert tally.rows().n_groins == len(rows)
