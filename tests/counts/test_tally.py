from __future__ import annotations

import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hingeline.counts import DEFAULT_DIMENSIONS, count_patterns, pool
from hingeline.errors import HingelineError

from .cases import TYPES, bin_by_fractions, opened_up, plain_count, rows_of_cases, table

few = settings(max_examples=15, deadline=None)
some_types = st.sets(st.sampled_from(TYPES), min_size=1)


@few
@given(rows_of_cases(), some_types, st.booleans(), st.integers(0, 140))
def test_restricting_a_tally_equals_counting_the_restricted_cases(rows, types, men, oldest):
    tally = count_patterns(table(rows)).where(
        type=types, sex="male" if men else "female", age_bin=range(oldest)
    )
    kept = [
        row
        for row in rows
        if row["type"] in types
        and row["sex"] == ("male" if men else "female")
        and bin_by_fractions(row["age_days"]) < oldest
    ]
    assert tally == count_patterns(table(kept))


@few
@given(rows_of_cases(), st.lists(st.sampled_from(DEFAULT_DIMENSIONS), unique=True))
def test_forgetting_dimensions_equals_counting_without_them(rows, by):
    assert opened_up(count_patterns(table(rows)).coarsen(by)) == plain_count(rows, by)


@few
@given(rows_of_cases(), st.lists(st.sampled_from([*DEFAULT_DIMENSIONS, "age_bin"]), unique=True, max_size=3))
def test_margins_add_up_and_count_each_patient_once_a_row(rows, by):
    margin = count_patterns(table(rows)).margin(by, patients=True)
    rows = [row | {"age_bin": bin_by_fractions(row["age_days"])} for row in rows]
    expected = {}
    for row in rows:
        n, days, days2, people = expected.get(tuple(row[name] for name in by), (0, 0, 0, frozenset()))
        age = row["age_days"]
        expected[tuple(row[name] for name in by)] = (
            n + 1,
            days + age,
            days2 + age**2,
            people | {row["patient"]},
        )
    told = {tuple(row[name] for name in by): tuple(row.values())[len(by) :] for row in margin.to_pylist()}
    assert told == {key: (*sums[:3], len(sums[3])) for key, sums in expected.items()}
    assert list(told) == sorted(told)


@few
@given(rows_of_cases(), st.sets(st.sampled_from(TYPES[1:]), min_size=1, max_size=2))
def test_age_rows_hold_each_patients_directs_and_groins_by_hospital_and_bin(rows, direct):
    among = ("indirect", *direct)
    tally = count_patterns(table(rows))
    made = tally.age_rows(tuple(direct), among)
    people: dict = {}
    for row in rows:
        if row["type"] in among:
            cell = (row["hospital"], bin_by_fractions(row["age_days"]))
            d, n = people.setdefault(row["patient"], {}).get(cell, (0, 0))
            people[row["patient"]][cell] = (d + (row["type"] in direct), n + 1)
    expected = sorted(sorted((*cell, *counts) for cell, counts in cells.items()) for cells in people.values())
    bins = made.cells["age_bin"].to_numpy()[made.cell] if made.cell.size else []
    told: dict = {}
    for place in range(made.cell.size):
        key = (
            made.hospitals[made.groups[place]],
            int(bins[place]),
            int(made.direct[place]),
            int(made.total[place]),
        )
        told.setdefault(int(made.clusters[place]), [int(made.weights[place])]).append(key)
    assert sorted(sorted(cells) for weight, *cells in told.values() for _ in range(weight)) == expected
    assert len({tuple(cells) for _, *cells in told.values()}) == len(told), "a pattern stands twice"
    assert made.n_patients == len(people)
    assert made.n_groins == sum(row["type"] in among for row in rows)
    assert made.n_direct == sum(row["type"] in direct for row in rows)


@few
@given(rows_of_cases())
def test_collapsed_rows_sit_at_the_mean_age_of_their_cases(rows):
    made = count_patterns(table(rows)).age_rows().collapse()
    cells: dict = {}
    for row in rows:
        if row["type"] in ("indirect", "direct", "combined"):
            key = (row["hospital"], bin_by_fractions(row["age_days"]))
            cells.setdefault(key, []).append((row["age_days"] / 365.25, row["type"] != "indirect"))
    assert made.clusters is None
    for place, key in enumerate(sorted(cells)):
        assert made.hospitals[made.groups[place]] == key[0]
        assert made.age_years[place] == pytest.approx(np.mean([age for age, _ in cells[key]]), rel=1e-12)
        assert (made.direct[place], made.total[place]) == (sum(d for _, d in cells[key]), len(cells[key]))
    assert made.age_years.size == len(cells)


def test_rows_may_keep_how_the_type_was_known_apart():
    rows = [
        {"patient": 1, "age_days": 8000, "known_by": "code only", "type": "direct"},
        {"patient": 1, "age_days": 8000},
    ]
    made = count_patterns(table(rows)).age_rows(by=("hospital", "known_by"))
    assert made.cells["known_by"].to_pylist() == ["code only", "floor examined"]
    assert made.direct.tolist() == [1, 0]
    assert made.clusters.tolist() == [0, 0]


def test_two_groins_of_a_patient_at_one_age_are_one_row():
    rows = [{"patient": 1, "age_days": 8000, "type": t} for t in ("direct", "indirect")]
    made = count_patterns(table(rows)).age_rows()
    assert (made.direct.tolist(), made.total.tolist(), made.weights.tolist()) == ([1], [2], [1])
    assert str(made) == "1 direct among 2 groins (50.0%) of 1 hospital"
    assert made.to_frame().to_pylist()[0]["hospital"] == "Aldmoor"


def test_a_tally_says_what_it_holds():
    tally = count_patterns(table([{"patient": k // 2, "age_days": 8000} for k in range(4)]))
    assert str(tally) == "4 groins of 2 patients in 1 cell and 1 pattern"
    assert tally.to_frame() is tally.cells


def test_what_the_tally_does_not_have_is_refused():
    tally = count_patterns(table([{"patient": 1, "age_days": 8000}]), by=("hospital", "type"))
    for wrong in (
        lambda: tally.where(sex="male"),
        lambda: tally.where(type="medial"),
        lambda: tally.margin(["approach"]),
        lambda: tally.coarsen(["sex"]),
        lambda: tally.age_rows(by=("hospital", "known_by")),
        lambda: tally.age_rows(direct=("direct",), among=("indirect",)),
        lambda: tally.age_rows(direct=(), among=("indirect",)),
        lambda: tally.age_rows(direct=("medial",), among=("medial",)),
        lambda: tally.age_rows(by=("type",)),
        lambda: pool([tally, count_patterns(table([]))]),
        lambda: pool([]),
    ):
        with pytest.raises(HingelineError):
            wrong()


def test_a_hospital_that_is_not_there_gives_nothing_rather_than_an_error():
    tally = count_patterns(table([{"patient": 1, "age_days": 8000}]))
    assert tally.where(hospital="Elsewhere").n_groins == 0


def test_patterns_stand_in_an_order_of_their_own():
    rows = [{"patient": k, "age_days": 300 * (k % 5)} for k in range(40)] + [{"patient": 3, "age_days": 9000}]
    random.Random(5).shuffle(rows)
    tally = count_patterns(table(rows))
    size = np.bincount(tally.patterns["pattern"].to_numpy(), weights=tally.patterns["groins"].to_numpy())
    assert (np.diff(size) >= 0).all()
    assert tally.patients().tolist() == [8, 8, 8, 7, 8, 1]
