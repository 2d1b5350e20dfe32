"""Agreement of readers: what is told beside a kappa, what cannot be read, and what is refused."""

from __future__ import annotations

import math
import tomllib

import numpy as np
import pytest

from hingeline.errors import HingelineError
from hingeline.estimates.agreement import (
    cohen_kappa,
    fleiss_kappa,
    read_twice,
    typing_rates,
    typing_rates_between,
)
from hingeline.estimates.two_by_two import two_by_two


def test_the_sentence_tells_observed_agreement_beside_kappa() -> None:
    assert str(cohen_kappa([[40, 9], [6, 45]])).startswith("Kappa 0.70 (95% CI ")
    assert "85.0% of 100 groins read alike, 50.0% expected by chance" in str(cohen_kappa([[40, 10], [5, 45]]))


def test_perfect_agreement_is_one_and_reversed_answers_are_below_nought() -> None:
    assert cohen_kappa([[30, 0], [0, 20]]).kappa == pytest.approx(1)
    assert cohen_kappa([[0, 25], [25, 0]]).kappa == pytest.approx(-1)


def test_one_answer_throughout_leaves_kappa_undefined_and_says_so() -> None:
    found = cohen_kappa([[50, 0], [0, 0]])
    assert math.isnan(found.kappa)
    assert "not defined" in str(found)
    assert found.observed == 1
    many = fleiss_kappa([[3, 0], [3, 0]])
    assert math.isnan(many.kappa)
    assert "not defined" in str(many)


def test_agreement_on_an_answer_is_twice_the_same_over_all_readings_of_it() -> None:
    found = cohen_kappa([[12, 3], [5, 80]], labels=["direct", "indirect"])
    assert found.by_answer == pytest.approx([24 / 32, 160 / 168])
    assert (found.by_answer_low < found.by_answer).all()
    assert (found.by_answer < found.by_answer_high).all()
    assert found.to_frame()["what"].to_pylist()[2] == "agreement on direct"


def test_the_order_of_answers_and_of_readers_changes_nothing() -> None:
    table = np.array([[20, 3, 1], [4, 30, 2], [0, 6, 25]])
    one = cohen_kappa(table)
    assert cohen_kappa(table.T).kappa == pytest.approx(one.kappa)
    assert cohen_kappa(table[[2, 0, 1]][:, [2, 0, 1]]).se == pytest.approx(one.se)


def test_weights_of_two_answers_are_no_weights() -> None:
    table = [[12, 3], [5, 80]]
    assert cohen_kappa(table, weights="quadratic").kappa == pytest.approx(cohen_kappa(table).kappa)


def test_limits_over_patients_widen_when_each_patient_has_two_alike_groins() -> None:
    one = np.zeros((4, 2, 2))
    one[[0, 1, 2, 3], [0, 0, 1, 1], [0, 1, 0, 1]] = 1
    table = np.array([[40, 9], [6, 45]])
    alone = cohen_kappa(table, patients=one, patient_weights=table.ravel(), replicates=400, seed=5)
    pairs = cohen_kappa(table * 2, patients=one * 2, patient_weights=table.ravel(), replicates=400, seed=5)
    assert pairs.kappa == pytest.approx(alone.kappa)
    assert (pairs.low, pairs.high) == pytest.approx((alone.low, alone.high))
    plain = cohen_kappa(table * 2)
    assert pairs.high - pairs.low > 1.2 * (plain.high - plain.low)
    assert pairs.method == "bootstrap over patients"


def test_what_a_reader_could_not_read_is_counted_apart_and_as_an_answer() -> None:
    twice = read_twice(
        ["direct", "direct", "unknown", "indirect", "unknown", "indirect"],
        ["direct", "indirect", "direct", "unreadable", "", "indirect"],
    )
    assert (twice.first_unknown, twice.second_unknown, twice.both_unknown) == (1, 1, 1)
    assert twice.known.sum() == 3
    assert twice.all.sum() == 6
    assert twice.labels == ("direct", "indirect")
    assert "6 groins read twice: 3 typed by both readers" in str(twice)
    assert twice.to_frame()["n"].to_pylist() == [1, 1, 0, 0, 1, 1, 1, 0, 1]


def test_fleiss_errors_follow_patients_and_their_numbers() -> None:
    counts = np.array([[3, 0], [2, 1], [0, 3], [1, 2], [3, 0], [0, 3]])
    alone = fleiss_kappa(counts)
    doubled = fleiss_kappa(np.repeat(counts, 2, axis=0), clusters=np.repeat(np.arange(6), 2))
    weighted = fleiss_kappa(counts, weights=np.full(6, 2))
    assert doubled.kappa == pytest.approx(alone.kappa)
    assert doubled.se == pytest.approx(alone.se)
    assert weighted.se == pytest.approx(fleiss_kappa(np.repeat(counts, 2, axis=0)).se)


def test_typing_rates_become_entries_of_the_protocol() -> None:
    from hingeline.protocol.study import Typing

    rates = typing_rates(
        [[[18, 2], [1, 99]], [[9, 1], [0, 50]], [[0, 0], [1, 20]]],
        strata=[
            {"hospital": "A"},
            {"approach": "laparoscopic", "ages": (0.0, 16.0)},
            {"known_by": "code only"},
        ],
        source="second reading of 200 notes",
    )
    entries = [Typing(**entry) for entry in rates.entries()]
    assert [entry.sensitivity for entry in entries] == pytest.approx([0.9, 0.9])
    assert [entry.specificity for entry in entries] == pytest.approx([0.99, 1.0])
    assert entries[1].ages == (0.0, 16.0)
    assert math.isnan(rates.sensitivity[2])
    assert "not known" in str(rates)


def test_entries_written_as_toml_are_read_back() -> None:
    rates = typing_rates([[18, 2], [1, 99]], strata=[{"hospital": 'St "A"', "ages": (0.0, 16.0)}])
    assert tomllib.loads(rates.to_toml())["typing"] == [
        {
            "hospital": 'St "A"',
            "ages": [0.0, 16.0],
            "sensitivity": 0.9,
            "specificity": 0.99,
            "source": "double reading",
        }
    ]


def test_without_a_false_direct_the_sensitivity_is_the_agreement_on_direct() -> None:
    table = [[18, 3], [4, 99]]
    between = typing_rates_between(table)
    agreed = cohen_kappa(table)
    assert between.sensitivity[0] == pytest.approx(agreed.by_answer[0])
    assert between.sensitivity_low[0] == pytest.approx(agreed.by_answer_low[0])
    assert "equally well" in str(between)


@pytest.mark.parametrize(
    "ask",
    [
        lambda: cohen_kappa([[1, 2, 3], [4, 5, 6]]),
        lambda: cohen_kappa([[0, 0], [0, 0]]),
        lambda: cohen_kappa([[1, -2], [3, 4]]),
        lambda: cohen_kappa([[1, float("nan")], [3, 4]]),
        lambda: cohen_kappa([["a", "b"], ["c", "d"]]),
        lambda: cohen_kappa([[1, 2], [3, 4]], weights="cubic"),
        lambda: cohen_kappa([[1, 2], [3, 4]], level=95),
        lambda: cohen_kappa([[1, 2], [3, 4]], labels=["one"]),
        lambda: cohen_kappa([[1, 2], [3, 4]], patients=[[[1, 0], [0, 0]]]),
        lambda: cohen_kappa([[1, 2], [3, 4]], patients=[[1, 0]]),
        lambda: fleiss_kappa([[3, 0], [1, 0]]),
        lambda: fleiss_kappa([3, 0]),
        lambda: fleiss_kappa([[3, 0], [2, 1]], clusters=[1]),
        lambda: read_twice(["direct"], []),
        lambda: read_twice(["unknown"], [""]),
        lambda: read_twice(["direct"], ["femoral"], labels=["direct", "indirect"]),
        lambda: read_twice(["direct"], ["direct"], n=[1, 2]),
        lambda: typing_rates([[1, 2, 3], [4, 5, 6]]),
        lambda: typing_rates([[0, 0], [0, 0]]),
        lambda: typing_rates([[1, 2], [3, 4]], strata=[{}, {}]),
        lambda: typing_rates_between([[18, 3], [4, 99]], specificity=0.5),
        lambda: typing_rates_between([[18, 3], [4, 99]], specificity=0.0),
        lambda: two_by_two(5, 4, 1, 10),
        lambda: two_by_two(0, 0, 1, 10),
        lambda: two_by_two(1.5, 4, 1, 10),  # type: ignore[arg-type]
    ],
)
def test_what_cannot_be_is_refused_in_three_parts(ask: object) -> None:
    with pytest.raises(HingelineError) as refused:
        ask()  # type: ignore[operator]
    assert all((refused.value.what, refused.value.where, refused.value.todo))


def test_a_reader_who_gave_one_answer_throughout_is_told_without_limits_of_no_width():
    told = str(cohen_kappa([[90, 0], [2, 0]], labels=["indirect", "direct"]))
    assert "kappa cannot be told" in told
    assert "0.00 to 0.00" not in told
    assert "cannot be told" not in str(cohen_kappa([[40, 0], [0, 12]], labels=["indirect", "direct"]))
