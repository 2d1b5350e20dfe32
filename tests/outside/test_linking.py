"""Linking against references that are not ours: an as-of join of pandas, and rules written out pair by pair."""

from __future__ import annotations

import hashlib
import hmac
import random
from datetime import date, timedelta

import pandas
import pytest

from hingeline.records.intake import read_hospital
from hingeline.records.legend import legend_from_text

KEY = b"\xaa" * 20
CUTOFF = date(2020, 12, 31)
FIRST = date(2010, 1, 1)

LEGEND = """
hospital = "Alder Vale"
form = "operations"
[fields]
patient = { column = "P" }
born_on = { column = "Born" }
operated_on = { column = "Day" }
sex = { column = "Sex" }
side = { column = "Side" }
type = { value = "indirect" }
[follow_up]
files = ["seen.csv"]
[follow_up.fields]
"""
BY_KEY = 'patient = { column = "P" }\n'
BY_THREE = 'born_on = { column = "Born" }\noperated_on = { column = "Day" }\nsex = { column = "Sex" }\n'
SEEN = 'seen_on = { column = "Seen" }\nside = { column = "Side" }\nrecurred = { column = "Rec" }\n'


def _write(path, rows):
    path.write_text("\n".join(";".join(map(str, row)) for row in rows) + "\n", encoding="utf-8")
    return path


def _read(tmp_path, how, operations, visits, visit_header):
    ops = _write(tmp_path / "ops.csv", [("P", "Born", "Day", "Sex", "Side"), *operations])
    seen = _write(tmp_path / "seen.csv", [visit_header, *visits])
    return read_hospital([ops, seen], legend_from_text(LEGEND + how), cutoff=CUTOFF, key=KEY)


def _some(dice, people=25, operations=60, visits=150):
    """Operations of distinct groin and day, more than a week apart in one groin; visits with a side."""
    born = date(2001, 2, 3)
    days = {}
    while len(days) < operations:
        one = (f"p{dice.randrange(people)}", dice.choice(["left", "right"]), dice.randrange(0, 3900, 10))
        days[one] = FIRST + timedelta(days=one[2])
    done = [(p, born, day, "male", side) for (p, side, _), day in days.items()]
    seen = {
        (
            f"p{dice.randrange(people)}",
            FIRST + timedelta(days=dice.randrange(3900)),
            dice.choice(["left", "right"]),
        )
        for _ in range(visits)
    }
    return done, sorted(seen, key=lambda _: dice.random())


# pandas.merge_asof, direction="backward": each left row is matched with the last right row at or before it.
def test_visits_belong_to_operations_as_an_as_of_join_has_them(tmp_path):
    seed = random.randrange(10**9)
    print("seed", seed)
    operations, visits = _some(random.Random(seed))
    found = _read(
        tmp_path, BY_KEY + SEEN, operations, [(*one, "no") for one in visits], ("P", "Seen", "Side", "Rec")
    )

    left = pandas.DataFrame(visits, columns=["p", "seen", "side"]).assign(
        on=lambda t: pandas.to_datetime(t.seen)
    )
    right = pandas.DataFrame(operations, columns=["p", "born", "day", "sex", "side"]).assign(
        on=lambda t: pandas.to_datetime(t.day)
    )
    joined = pandas.merge_asof(
        left.sort_values("on"), right.sort_values("on"), on="on", by=["p", "side"], direction="backward"
    )
    matched = joined.dropna(subset=["day"])
    latest = matched.groupby(["p", "side", "day"]).seen.max().to_dict()
    joined_rows = {line["step"]: line["rows"] for line in found.flow.to_pylist() if line["reason"] == ""}
    assert joined_rows["visits joined"] == len(matched)
    assert 0 < len(matched) < len(visits)

    # A re-operation counts as the last day of the earlier operation's follow-up.
    expected = []
    for p, _, day, _, side in operations:
        again = [other for q, _, other, _, s in operations if (q, s) == (p, side) and other > day]
        expected.append(
            max(
                (d for d in [latest.get((p, side, day)), *([min(again)] if again else [])] if d), default=None
            )
        )
    assert found.cases["followed_until"].to_pylist() == expected


def test_recurrences_and_later_groins_are_those_that_pairs_written_out_give(tmp_path):
    seed = random.randrange(10**9)
    print("seed", seed)
    dice = random.Random(seed)
    operations, visits = _some(dice)
    told = [(*one, dice.choice(["no", "no", "yes"])) for one in visits]
    found = _read(tmp_path, BY_KEY + SEEN, operations, told, ("P", "Seen", "Side", "Rec"))
    for case, (p, _, day, _, side) in zip(found.cases.to_pylist(), operations, strict=True):
        mine = [other for q, _, other, _, s in operations if (q, s) == (p, side)]
        others = [other for q, _, other, _, s in operations if q == p and s != side]
        again = min((other for other in mine if other > day), default=None)
        recurred = [
            seen
            for q, seen, s, rec in told
            if (q, s, rec) == (p, side, "yes") and seen > day and (again is None or seen <= again)
        ]
        assert case["recurred_on"] == min([*recurred, *([again] if again else [])], default=None)
        assert case["occurrence"] == ("recurrent" if min(mine) < day else "primary")
        first = min(others, default=None)
        assert case["other_groin_on"] == (first if first is not None and first > day else None)


# Record linkage by exact agreement: Fellegi IP, Sunter AB, "A theory for record linkage", Journal of the American
# Statistical Association 1969;64:1183-1210 (memory): pairs are links, non-links or possible links, for a person.
def test_without_a_key_pairs_are_links_possible_links_or_none(tmp_path):
    seed = random.randrange(10**9)
    print("seed", seed)
    dice = random.Random(seed)
    operations, visits = [], []
    for number in range(40):
        born = date(2000, 1, 1) + timedelta(days=dice.randrange(700))
        operations.append(
            (
                f"p{number}",
                born,
                FIRST + timedelta(days=dice.randrange(700)),
                dice.choice(["male", "female"]),
                "left",
            )
        )
    for _, born, day, sex, side in operations:
        off = timedelta(days=dice.choice([0, 0, 1, 7, 8, 30]))
        visits.append((born, day + off, sex, date(2015, 1, 1) + timedelta(days=len(visits)), side, "no"))
    found = _read(
        tmp_path, BY_THREE + SEEN, operations, visits, ("Born", "Day", "Sex", "Seen", "Side", "Rec")
    )

    def close(one: date, other: date) -> bool:
        a, b = one.strftime("%Y%m%d"), other.strftime("%Y%m%d")
        turned = (one.year, one.month, one.day) == (other.year, other.day, other.month)
        return turned or sum(x != y for x, y in zip(a, b, strict=True)) == 1

    links, possible = 0, set()
    for place, (born, day, sex, *_) in enumerate(visits):
        exact = {p for p, b, d, s, _ in operations if (b, d, s) == (born, day, sex)}
        near = {
            p
            for p, b, d, s, _ in operations
            if s == sex and ((b == born and 0 < abs((d - day).days) <= 7) or (d == day and close(b, born)))
        }
        links += len(exact) == 1
        if len(exact) > 1 or (not exact and near):
            possible.add(place + 2)
    rows = {line["step"]: line["rows"] for line in found.flow.to_pylist() if line["reason"] == ""}
    assert rows["visits joined"] == links
    asked = {int(one["shown"].split(";")[0].rsplit(":", 1)[1]) for one in found.questions.to_pylist()}
    assert asked == possible
    assert links
    assert possible


# RFC 2104: HMAC; the standard library's implementation of it gives the same key for a patient of both files.
def test_a_visit_carries_the_key_that_hmac_gives(tmp_path):
    operations = [("a-17", "2001-02-03", "2012-01-01", "male", "left")]
    found = _read(
        tmp_path,
        BY_KEY + SEEN,
        operations,
        [("a-17", "2013-01-01", "left", "no")],
        ("P", "Seen", "Side", "Rec"),
    )
    digest = hmac.new(KEY, b"Alder Vale\x1fpatient\x1fa-17", hashlib.sha256).digest()
    assert found.cases["patient"].to_pylist() == [int.from_bytes(digest[:8], "big", signed=True)]
    assert found.cases["followed_until"].to_pylist() == [date(2013, 1, 1)]


# Chronic post-surgical pain lasts at least three months after surgery; International Classification of Diseases, 11th
# revision, MG30.21 (memory).
@pytest.mark.parametrize(("day", "pain"), [("2012-03-31", None), ("2012-04-01", "severe")])
def test_pain_is_chronic_from_three_months_after_surgery(tmp_path, day, pain):
    how = BY_KEY + SEEN + 'chronic_pain = { column = "Pain" }\n'
    operations = [("a", "2001-02-03", "2012-01-01", "male", "left")]
    found = _read(
        tmp_path, how, operations, [("a", day, "left", "no", "severe")], ("P", "Seen", "Side", "Rec", "Pain")
    )
    assert found.cases["chronic_pain"].to_pylist() == [pain]
