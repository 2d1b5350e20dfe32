from __future__ import annotations

import itertools
from collections import defaultdict

import numpy as np
import pyarrow as pa
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hingeline.counts import count_patterns
from hingeline.counts.attack import Release, breaches, leave_together
from hingeline.counts.disclosure import OTHERS, as_ranges, leavable, merge_ages
from hingeline.errors import HingelineError

from .cases import bin_by_fractions, rows_of_cases, table

few = settings(max_examples=15, deadline=None)
TYPES = ("indirect", "direct", "combined", "femoral", "unknown")


@few
@given(
    rows_of_cases(), st.integers(1, 6), st.sampled_from([(), ("hospital",), ("sex",), ("hospital", "sex")])
)
def test_each_row_that_leaves_stands_for_enough_people_and_no_groin_is_lost(rows, minimum, strata):
    out = leavable(count_patterns(table(rows)), strata, minimum).to_pylist()
    listed = {tuple(row[name] for name in strata) for row in out}
    held = defaultdict(list)
    for case in rows:
        key = tuple(case[name] for name in strata)
        held[key if key in listed else (OTHERS,) * len(strata)].append(case)
    total = len({case["patient"] for case in rows})
    assert sum(row["n"] for row in out) == (len(rows) if total >= minimum else 0)
    for row in out:
        inside = [
            case
            for case in held[tuple(row[name] for name in strata)]
            if row["first_bin"] <= bin_by_fractions(case["age_days"]) <= row["last_bin"]
        ]
        assert row["people"] == len({case["patient"] for case in inside}) >= minimum
        assert (row["n"], row["days"]) == (len(inside), sum(case["age_days"] for case in inside))
        for name in TYPES:
            true = sum(case["type"] == name for case in inside)
            assert row[f"{name}_low"] <= true <= row[f"{name}_high"]
            if 1 <= true < minimum:
                assert row[f"{name}_low"] < row[f"{name}_high"]
    for key in listed:
        mine = [row for row in out if tuple(row[name] for name in strata) == key]
        assert mine[0]["first_bin"] == 0
        assert mine[-1]["last_bin"] == 140
        assert all(b["first_bin"] == a["last_bin"] + 1 for a, b in itertools.pairwise(mine))


@few
@given(st.lists(st.integers(0, 7), min_size=1, max_size=9), st.integers(1, 6))
def test_joined_ages_are_as_many_as_the_minimum_allows(counts, minimum):
    frame = pa.table({"age_bin": range(len(counts)), "people": counts})
    found = merge_ages(frame, minimum=minimum)["people"].to_pylist()

    def most(rest):  # every way to cut the ages into stretches that pass
        return max(
            (1 + most(rest[k:]) for k in range(1, len(rest) + 1) if sum(rest[:k]) >= minimum), default=-99
        ) if rest else 0  # fmt: skip

    assert len(found) == max(most(counts), 0)
    assert sum(found) == (sum(counts) if sum(counts) >= minimum else 0)
    assert all(count >= minimum for count in found)


def test_one_patient_operated_five_times_is_one_person():
    rows = [{"patient": 1, "age_days": 4000 + 200 * k} for k in range(5)]
    rows += [{"patient": 2 + k, "age_days": 9000 + 200 * k} for k in range(5)]
    assert leavable(count_patterns(table(rows)))["people"].to_pylist() == [6]


def test_a_hospital_too_small_to_stand_alone_is_put_with_the_next_smallest():
    rows = [{"patient": k, "age_days": 4000, "hospital": "Aldmoor"} for k in range(50)]
    rows += [{"patient": 100 + k, "age_days": 4000, "hospital": "Brackwater"} for k in range(8)]
    rows += [{"patient": 200 + k, "age_days": 4000, "hospital": "Crale"} for k in range(2)]
    out = leavable(count_patterns(table(rows)), ("hospital",))
    # Crale alone could be had by subtracting the others from a total
    assert dict(zip(out["hospital"].to_pylist(), out["people"].to_pylist(), strict=True)) == {
        "Aldmoor": 50,
        OTHERS: 10,
    }


def test_the_age_of_the_oldest_is_not_drawn():
    rows = [{"patient": k, "age_days": 365 * (20 + k) + 300} for k in range(40)] + [
        {"patient": 99, "age_days": 38_000}
    ]
    out = leavable(count_patterns(table(rows))).to_pylist()
    assert out[-1]["last_bin"] == 140
    # the five oldest are 56.8 to 59.8, and 104
    assert out[-1]["age_to"] == 57


def test_fewer_people_than_the_minimum_leave_nothing():
    tally = count_patterns(table([{"patient": k, "age_days": 4000} for k in range(4)]))
    assert leavable(tally).num_rows == 0
    assert leavable(tally, ("hospital", "sex")).num_rows == 0
    assert leavable(count_patterns(table([]))).num_rows == 0
    assert leavable(tally, minimum=4)["n"].to_pylist() == [4]


def test_small_counts_leave_with_consent_only():
    rows = [{"patient": k, "age_days": 4000, "type": "direct" if k < 2 else "indirect"} for k in range(40)]
    tally = count_patterns(table(rows))
    row = leavable(tally).to_pylist()[0]
    assert (row["direct_low"], row["direct_high"]) == (1, 4)
    assert (row["indirect_low"], row["indirect_high"]) == (36, 39)
    row = leavable(tally, consent=True).to_pylist()[0]
    assert (row["direct_low"], row["direct_high"], row["indirect_low"]) == (2, 2, 38)


@pytest.mark.parametrize(
    ("parts", "minimum", "largest"), [(2, 5, 24), (3, 4, 17), (4, 3, 12), (3, 3, 14), (3, 2, 9)]
)
def test_no_small_count_can_be_worked_out_by_someone_who_knows_the_rule(parts, minimum, largest):
    vectors = [v for v in itertools.product(range(largest + 1), repeat=parts) if minimum <= sum(v) <= largest]
    low, high = as_ranges(np.array(vectors), minimum)
    alike = defaultdict(list)
    for vector, a, b in zip(vectors, low.tolist(), high.tolist(), strict=True):
        assert all(x <= value <= y for x, value, y in zip(a, vector, b, strict=True))
        alike[(sum(vector), tuple(a), tuple(b))].append(vector)
    for group in alike.values():
        for place in range(parts):
            values = {vector[place] for vector in group}
            if any(0 < value < minimum for value in values):
                assert len(values) > 1, group


def _release(rows, *edges, strata=(), where=None):
    """A table of one stratum cut at the edges, made without any care."""
    stretches = itertools.pairwise((0, *edges, 141))
    return Release(
        pa.Table.from_pylist([dict(rows) | {"first_bin": a, "last_bin": b - 1} for a, b in stretches]),
        strata,
        where or {},
    )


def _study(extra=()):
    rows = [
        {"patient": k, "age_days": 200 + 180 * (k % 150), "hospital": "Aldmoor" if k % 2 else "Brackwater",
         "sex": "female" if k % 10 == 0 else "male"}
        for k in range(900)
    ]  # fmt: skip
    return count_patterns(table([*rows, *extra]))


def test_attack_finds_the_people_between_two_edges():
    tally = _study()
    assert breaches([_release({}, 20), _release({}, 20, 30)], tally) == []
    rare = [{"patient": 5000 + k, "age_days": 39_900} for k in range(3)]
    found = breaches([_release({}, 130), _release({}, 20)], _study(rare))
    assert next((b.group, b.first_bin, b.people) for b in found) == ({}, 139, 3)
    assert "3 people in age bins 139 to 139" in str(found[0])


def test_attack_subtracts_a_stratum_from_a_total():
    rare = [{"patient": 5000 + k, "age_days": 4000, "hospital": "Crale"} for k in range(2)]
    named = pa.concat_tables(
        [_release({"hospital": name}, strata=("hospital",)).table for name in ("Aldmoor", "Brackwater")]
    )
    assert breaches([Release(named, ("hospital",))], _study(rare)) == []
    found = breaches([Release(named, ("hospital",)), _release({})], _study(rare))
    assert [b.people for b in found if b.group == {"hospital": "Crale"}] == [2]


def test_attack_subtracts_what_was_counted_under_a_condition():
    rare = [{"patient": 5000 + k, "age_days": 4000, "occurrence": "recurrent"} for k in range(4)]
    both = [_release({}), _release({}, where={"occurrence": "primary"})]
    assert [b.people for b in breaches(both, _study(rare))] == [4]
    assert breaches(both, _study(), minimum=5) == []


def test_attack_needs_three_tables_at_once():
    # hospital × sex is told for all but one pair, whose two margins give it away
    rare = [{"patient": 5000 + k, "age_days": 3800, "hospital": "Crale", "sex": "female"} for k in range(2)]
    rare += [{"patient": 6000 + k, "age_days": 4000, "hospital": "Crale"} for k in range(30)]
    tally = _study(rare)
    women = _release({"sex": "female"}, strata=("sex",))
    pairs = pa.concat_tables(
        [
            _release({"hospital": name, "sex": "female"}, strata=("hospital", "sex")).table
            for name in ("Aldmoor", "Brackwater")
        ]
    )
    assert breaches([women], tally) == []
    found = breaches([women, Release(pairs, ("hospital", "sex"))], tally)
    assert [b.people for b in found] == [2]


def test_a_table_that_was_given_up_tells_nothing():
    # ages as a shrunk example had them: one patient's two groins lie about another's recurrent one
    ages = [0] * 7 + [37_986, 20_455]
    rows = [{"patient": 0, "age_days": age} for age in ages]
    rows += [{"patient": 0, "age_days": 38_716, "occurrence": "recurrent"}]
    rows += [{"patient": 0, "age_days": 39_448, "hospital": "Crale"}]
    rows += [{"patient": 1, "age_days": 5114, "hospital": "Brackwater"}, {"patient": 3, "age_days": 40_360}]
    rows += [
        {"patient": 4, "age_days": 0},
        {"patient": 4, "age_days": 198},
        {"patient": 5, "age_days": 21_649},
    ]
    tally = count_patterns(table(rows))
    made = leave_together(tally, [((), {}), (("hospital",), {})], 2)
    given_up = Release(made[0].table.slice(0, 0), ("sex",), {"occurrence": "primary"})
    assert all(release.table.num_rows for release in made)
    assert breaches(made, tally, 2) == breaches([*made, given_up], tally, 2) == []


@few
@given(rows_of_cases(16), st.integers(2, 5))
def test_one_table_that_may_leave_withstands_the_attack(rows, minimum):
    tally = count_patterns(table(rows))
    for strata in ((), ("hospital",), ("hospital", "sex")):
        assert breaches([Release(leavable(tally, strata, minimum), strata)], tally, minimum) == []


@settings(max_examples=8, deadline=None)
@given(rows_of_cases(16), st.integers(2, 4), st.booleans())
def test_tables_that_leave_together_withstand_the_attack_and_hold_what_they_say(rows, minimum, consent):
    tally = count_patterns(table(rows))
    plans = [((), {}), (("hospital",), {}), ((), {"sex": "male"}), (("sex",), {"occurrence": "primary"})]
    made = leave_together(tally, plans, minimum, consent)
    assert breaches(made, tally, minimum) == []
    later = leave_together(tally, [(("hospital", "sex"), {})], minimum, consent, already=made)
    assert breaches([*made, *later], tally, minimum) == []
    for release in made:
        chosen = [c for c in rows if all(c[name] == value for name, value in release.where.items())]
        listed = {tuple(row[name] for name in release.strata) for row in release.table.to_pylist()}
        for row in release.table.to_pylist():
            key = tuple(row[name] for name in release.strata)
            inside = [
                c
                for c in chosen
                if row["first_bin"] <= bin_by_fractions(c["age_days"]) <= row["last_bin"]
                and (
                    tuple(c[name] for name in release.strata) == key
                    or (OTHERS in key and tuple(c[name] for name in release.strata) not in listed)
                )
            ]
            assert (row["n"], row["people"]) == (len(inside), len({c["patient"] for c in inside}))
            assert row["people"] >= minimum


def test_tables_made_each_for_itself_would_give_somebody_away():
    rows = [
        {"patient": k, "age_days": 300 + 190 * k, "sex": "female" if k % 7 == 3 else "male"}
        for k in range(120)
    ]
    tally = count_patterns(table(rows))
    apart = [Release(leavable(tally)), Release(leavable(tally.where(sex="male")), (), {"sex": "male"})]
    assert breaches(apart, tally), "the example no longer shows why tables must leave together"
    together = leave_together(tally, [((), {}), ((), {"sex": "male"})])
    assert breaches(together, tally) == []
    assert together[0].table.equals(apart[0].table)
    assert 1 <= together[1].table.num_rows < apart[1].table.num_rows


def test_what_cannot_leave_is_refused():
    tally = count_patterns(table([{"patient": k, "age_days": 4000} for k in range(9)]))
    for wrong in (
        lambda: leavable(tally, ("type",)),
        lambda: leavable(tally, ("repair",)),
        lambda: leavable(tally, minimum=0),
        lambda: leavable(tally.coarsen(["hospital"])),
        lambda: merge_ages(tally.cells, people="persons"),
    ):
        with pytest.raises(HingelineError):
            wrong()
