"""Visits of the invented clinic: several a patient, the last on the day until which the groin was followed."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from hingeline.invented.outcomes import Rows, add_outcomes, take
from hingeline.invented.patients import CUTOFF, draw_groins
from hingeline.invented.visits import Visit, draw_visits


@pytest.fixture(scope="module")
def rows() -> Rows:
    generator = np.random.default_rng(77)
    drawn = add_outcomes(draw_groins(6_000, generator), generator)
    return take(drawn, drawn["hospital"] == 2)


@pytest.fixture(scope="module")
def visits(rows: Rows) -> list[Visit]:
    return draw_visits(rows, 5)


def test_visits_come_in_the_order_of_their_days_and_between_operation_and_cut_off(
    rows: Rows, visits: list[Visit]
) -> None:
    days = [visit.seen_on for visit in visits]
    assert days == sorted(days)
    assert max(days) <= CUTOFF.item()
    first: dict[int, object] = {}
    for patient, operated in zip(rows["patient"].tolist(), rows["operated_on"].tolist(), strict=True):
        first[patient] = min(first.get(patient, operated), operated)
    assert all(visit.seen_on >= first[visit.patient] for visit in visits)


def test_only_patients_who_were_followed_have_visits_and_some_have_several(
    rows: Rows, visits: list[Visit]
) -> None:
    followed = set(rows["patient"][~np.isnat(rows["followed_until"])].tolist())
    many = Counter(visit.patient for visit in visits)
    assert set(many) == followed
    assert {1, 2, 3} <= set(many.values())


def test_a_side_is_told_wherever_two_groins_were_operated(rows: Rows, visits: list[Visit]) -> None:
    sides: dict[int, set[str]] = {}
    for patient, side in zip(rows["patient"].tolist(), rows["side"].tolist(), strict=True):
        sides.setdefault(patient, set()).add(side)
    two = [visit for visit in visits if len(sides[visit.patient]) == 2]
    one = [visit for visit in visits if len(sides[visit.patient]) == 1]
    assert {visit.side for visit in two} <= {"left", "right", "both"}
    assert "both" in {visit.side for visit in two}
    assert all(visit.side == "" or visit.side in sides[visit.patient] for visit in one)
    assert any(visit.side == "" for visit in one)


def test_each_recurrence_is_told_once_or_more_and_by_nobody_else(rows: Rows, visits: list[Visit]) -> None:
    recurred = set(rows["patient"][~np.isnat(rows["recurred_on"])].tolist())
    assert {visit.patient for visit in visits if visit.recurred == "yes"} == recurred
    noticed = [visit for visit in visits if visit.recurred_on is not None]
    assert all(visit.recurred == "yes" and visit.recurred_on <= visit.seen_on for visit in noticed)


def test_the_same_seed_draws_the_same_visits_and_another_does_not(rows: Rows, visits: list[Visit]) -> None:
    assert draw_visits(rows, 5) == visits
    assert draw_visits(rows, 6) != visits
