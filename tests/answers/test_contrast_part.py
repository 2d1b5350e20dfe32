"""Repairs compared, as told: what the sentence says, what stays at home without consent, that no run stops."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Sequence
from typing import Any

import numpy as np
import pyarrow as pa
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom

from hingeline import wording
from hingeline.answers.contrast import contrast_part
from hingeline.answers.figures import KINDS
from hingeline.answers.outcomes import OUTCOMES_BY, OutcomeTallies
from hingeline.counts import count_followup
from hingeline.estimates.contrast_verdict import VERDICTS
from hingeline.wording.compared import points_apart

from .followed import CUTOFF, protocol_of

NAMES = ("Aldmoor", "Brackwater")
OPERATED = dt.date(2010, 1, 1)
Groin = dict[str, Any]


def groins(repair: str, days: Sequence[tuple[int | None, bool]], **other: Any) -> list[Groin]:
    """Groins of one repair: days followed (None: never seen again) and whether a recurrence ended them."""
    return [{"repair": repair, "days": each, "event": event} | other for each, event in days]


def arm(repair: str, n: int, events: int, day: int = 600, until: int = 2000, **other: Any) -> list[Groin]:
    return groins(repair, [(day, True)] * events + [(until, False)] * (n - events), **other)


def tallies(rows: Sequence[Groin]) -> OutcomeTallies:
    """Count groins, each of a patient of its own, to the last visit and to the data cut-off."""
    usual = {
        "hospital": "Aldmoor",
        "age_years": 15.0,
        "emergency": False,
        "approach": "open",
        "type": "indirect",
        "side": "left",
        "sex": "male",
        "occurrence": "primary",
        "reason": "hernia",
    }
    told = [usual | row for row in rows]
    seen = [None if row["days"] is None else OPERATED + dt.timedelta(row["days"]) for row in told]
    table = {
        "patient": pa.array(range(len(told)), pa.int64()),
        "age_days": pa.array([round(row["age_years"] * 365.25) for row in told], pa.int32()),
        "operated_on": pa.array([OPERATED] * len(told), pa.date32()),
        "followed_until": pa.array(seen, pa.date32()),
        "recurred_on": pa.array(
            [day if row["event"] else None for row, day in zip(told, seen, strict=True)], pa.date32()
        ),
        "last_well_on": pa.nulls(len(told), pa.date32()),
        "died_on": pa.nulls(len(told), pa.date32()),
        "emergency": pa.array([row["emergency"] for row in told], pa.bool_()),
    }
    for name in ("hospital", "sex", "occurrence", "reason", "type", "repair", "approach", "side"):
        table[name] = pa.array([row[name] for row in told], pa.string())
    made = {
        until: count_followup(pa.table(table), by=OUTCOMES_BY, cutoff=CUTOFF, until=until)
        for until in ("last visit", "cut-off")
    }
    return OutcomeTallies(
        recurrence=made["last visit"],
        age_limit=made["last visit"],
        cutoff=made["cut-off"],
        other_groin=made["last visit"],
        known=made["last visit"],
    )


def protocol(consent: bool = True, replicates: int = 99, **contrast: Any) -> Any:
    made = protocol_of(NAMES, consent=consent, **contrast)
    few = made.resampling.model_copy(update={"replicates": replicates})
    return made.model_copy(update={"resampling": few})


def words(part: Any) -> list[str]:
    texts = [part.sentence, part.method, *part.cannot]
    for figure in part.figures:
        texts += [figure.alt, figure.caption]
        for frame in figure.frames.values():
            values = [value for row in frame.to_pylist() for value in row.values()]
            texts += [value for value in values if isinstance(value, str)]
    for grid in part.grids:
        texts += [grid.note, *grid.heads, *(cell for row in grid.rows for cell in row)]
    return texts


def grid(part: Any, title: str) -> Any:
    return next(each for each in part.grids if each.title == title)


def test_the_sentence_tells_both_risks_the_side_of_the_difference_and_that_it_is_no_trial() -> None:
    rows = arm("high_ligation", 300, 12) + arm("mesh", 400, 6)
    part, findings = contrast_part(tallies(rows), protocol())
    # by hand: 6 of 400 are 1.5%, 12 of 300 are 4.0%
    assert (
        "recurrence was 2.5 points lower after mesh repair than after high ligation (1.5 v 4.0%;"
        in part.sentence
    )
    assert "Within 5 years" in part.sentence
    assert "primary indirect hernias in boys and men operated at 12–30 years" in part.sentence
    assert part.sentence.endswith("this is no trial; and recurrence is not the only outcome.")
    assert "Tissue repair cannot be compared" in part.sentence
    main = next(one for one in findings if one.id == "difference.mesh-high_ligation.5y")
    assert main.headline
    assert main.estimate == pytest.approx(-0.025)
    assert (main.n, main.events) == (700, 18)
    sides = re.search(r"95% CI of the difference ([\d.]+) (\w+) to ([\d.]+) (\w+)\)", part.sentence)
    assert sides is not None
    assert sides[2] == "lower"
    assert float(sides[1]) == pytest.approx(-100 * main.low, abs=0.06)
    assert sides[4] == ("lower" if main.high < 0 else "higher")


@pytest.mark.parametrize(
    ("share", "told"), [(-0.1, "10.0 lower"), (0.004, "0.4 higher"), (0.0, "0.0"), (-0.0004, "0.0")]
)
def test_a_limit_is_told_by_its_side(share: float, told: str) -> None:
    assert points_apart(share) == told


def test_a_picture_claims_no_more_than_its_sentence() -> None:
    for verdict in VERDICTS:
        mark = wording.verdict_word(verdict)
        sentence = wording.contrast_verdict(verdict, "mesh", "tissue", 0.02, "why")
        assert ("fewer" in mark) == ("fewer" in sentence) == (verdict == "better")
        assert ("more recurrences shown" in mark) == ("more recurrences" in sentence) == ("worse" in verdict)
        assert ("not settled" in mark) == ("not settled" in sentence)
        assert "shown to be as good" not in mark
        assert "as good is shown" not in mark or "it is not shown to be as good" in sentence


def test_of_two_repairs_of_which_neither_is_the_reference_the_one_named_first_has_to_show_it() -> None:
    rows = arm("high_ligation", 300, 12) + arm("tissue", 300, 9) + arm("mesh", 300, 60)
    part, findings = contrast_part(tallies(rows), protocol())
    rows_told = grid(part, wording.compared_pairs_title()).rows
    last = [
        row[-1] for row in rows_told if row[0] == "Mesh repair less tissue repair" and row[1] == "5 years"
    ]
    assert last == [
        "More recurrences after mesh repair than after tissue repair are shown, by more than 2 points"
    ]
    assert not any("tissue" in one.id and "mesh" in one.id for one in findings)
    # three pairs at three horizons, of which two answer
    assert any(
        "9 differences are looked at" in each and "the 2 within 5 years" in each for each in part.cannot
    )
    assert any("Who is troubled comes back" in each for each in part.cannot)


def test_taken_as_well_to_the_cut_off_risks_are_shares_of_all() -> None:
    """Half are last seen early; taken as well to the cut-off, later than 5 years, risks are events of groins."""
    rows = []
    for repair, n, events in (("high_ligation", 300, 12), ("mesh", 400, 6)):
        rows += arm(repair, n // 2, events) + arm(repair, n // 2, 0, until=200)
        rows += groins(repair, [(None, False)] * 4)
    part, findings = contrast_part(tallies(rows), protocol())
    until = grid(part, wording.compared_until_title(5))
    assert len(until.rows) == 1
    assert until.rows[0][2].startswith(wording.number(100 * (6 / 404 - 12 / 304)))
    assert next(one for one in findings if one.headline).estimate == pytest.approx(6 / 200 - 12 / 150)


def test_nobody_alike_is_refused_in_words_and_says_what_could_be_compared() -> None:
    rows = arm("high_ligation", 90, 7) + arm("mesh", 80, 8) + arm("tissue", 70, 9, hospital="Brackwater")
    part, findings = contrast_part(tallies(rows), protocol())
    assert findings == ()
    assert "there are no patients alike of whom each repair was done" in part.sentence
    assert "nobody had tissue repair with hospital Aldmoor (170 groins of others)" in part.sentence
    assert "By themselves high ligation with mesh repair could be compared" in part.sentence
    alone, told = contrast_part(tallies(rows), protocol(arms=["high_ligation", "mesh"]))
    assert told
    assert "than after high ligation" in alone.sentence


@pytest.mark.parametrize("consent", [True, False])
def test_a_gap_with_few_groins_has_neither_place_nor_number(consent: bool) -> None:
    rows = arm("high_ligation", 90, 7) + arm("mesh", 80, 8) + arm("mesh", 3, 0, hospital="Brackwater")
    rows += arm("mesh", 7, 0, age_years=22.3)
    part, _ = contrast_part(tallies(rows), protocol(consent=consent, arms=["high_ligation", "mesh"]))
    texts = words(part)
    assert not any("nobody" in each and "Brackwater" in each for each in texts)
    of_seven = "(7 groins of others)" if consent else "(about 10 groins of others)"
    assert any(f"nobody had high ligation at about 22.0–22.5 years {of_seven}" in each for each in texts)
    assert not any("22.3" in each for each in texts)
    assert any("and smaller gaps" in each for each in texts)


def test_without_consent_a_repair_with_few_recurrences_is_not_told() -> None:
    rows = arm("high_ligation", 300, 12) + arm("tissue", 300, 9) + arm("mesh", 407, 3)
    part, findings = contrast_part(tallies(rows), protocol(consent=False))
    assert "Mesh repair cannot be compared" in part.sentence
    assert [one.id for one in findings if one.headline] == ["difference.tissue-high_ligation.5y"]
    assert not any("407" in each or "410" in each for each in words(part))
    exact, told = contrast_part(tallies(rows), protocol())
    assert len([one for one in told if one.headline]) == 2
    assert any("407" in each for each in words(exact))
    none, nothing = contrast_part(
        tallies(arm("high_ligation", 300, 2) + arm("mesh", 300, 3)), protocol(consent=False)
    )
    assert nothing == ()
    assert "without the data officers' consent" in none.sentence


DAYS = st.lists(st.sampled_from([100, 300, 400, 700, 900, 1500, 2500]), max_size=14)


@settings(max_examples=25, deadline=None)
@given(ligated=DAYS, meshed=DAYS)
def test_no_few_recurrences_follow_from_the_horizons_that_are_told(
    ligated: list[int], meshed: list[int]
) -> None:
    came = {"high_ligation": ligated, "mesh": meshed}
    rows = []
    for repair, days in came.items():
        rows += groins(repair, [(day, True) for day in days] + [(2600, False)] * (63 - len(days)))
    counted = tallies(rows)
    by = {
        repair: [sum(day <= 365.25 * y for day in days) for y in (1, 2, 5)] for repair, days in came.items()
    }

    exact, findings = contrast_part(counted, protocol(replicates=20, arms=["high_ligation", "mesh"]))
    told = grid(exact, wording.compared_arms_title())
    assert [int(row[3]) for row in told.rows] == by["high_ligation"] + by["mesh"]
    assert [one.events for one in findings] == [a + b for a, b in zip(*by.values(), strict=True)]

    part, findings = contrast_part(counted, protocol(False, 20, arms=["high_ligation", "mesh"]))
    assert all(one.events is None and one.n % 10 == 0 for one in findings)
    if not part.grids:
        assert any(0 < len(days) < 5 for days in came.values())
        return
    told = grid(part, wording.compared_arms_title())
    shown: dict[str, list[int]] = {}
    for at, row in enumerate(told.rows):
        repair, place = ("high_ligation", "mesh")[at // 3], at % 3
        if row[-1] != wording.few_recurrences_cell():
            shown.setdefault(repair, [0]).append(by[repair][place])
    for events in shown.values():
        assert all(gap == 0 or gap >= 5 for gap in np.diff(events))
    both = {
        y
        for place, y in enumerate((1, 2, 5))
        if all(told.rows[3 * at + place][-1] != wording.few_recurrences_cell() for at in (0, 1))
    }
    assert {int(one.id.rsplit(".", 1)[1][:-1]) for one in findings} == both
    for row in part.figures[0].frames["rows"].to_pylist():
        assert (row["difference"] is None) == (row["years"] not in both)


MANY = arm("high_ligation", 80, 9) + arm("tissue", 70, 6) + arm("mesh", 90, 8)
SPREAD = [
    *arm("high_ligation", 60, 9, age_years=14.0),
    *arm("high_ligation", 30, 5, age_years=24.0, hospital="Brackwater"),
    *arm("mesh", 40, 6, age_years=15.0, hospital="Brackwater"),
    *arm("mesh", 50, 9, age_years=23.0),
]


@pytest.mark.parametrize("consent", [True, False])
@pytest.mark.parametrize(
    ("rows", "contrast"),
    [
        ([], {}),
        (groins("mesh", [(None, False)] * 30) + groins("tissue", [(None, False)] * 30), {}),
        (arm("mesh", 80, 6), {}),
        (arm("high_ligation", 80, 0) + arm("mesh", 90, 0), {}),
        (arm("high_ligation", 80, 80) + arm("mesh", 90, 90), {}),
        (arm("high_ligation", 80, 0) + arm("mesh", 90, 9), {}),
        (arm("high_ligation", 80, 9, until=400, day=100) + arm("mesh", 90, 9, until=400, day=90), {}),
        (arm("high_ligation", 60, 7, day=0, until=0) + arm("mesh", 60, 9, day=0, until=0), {}),
        (arm("tissue", 80, 6) + arm("mesh", 80, 6), {}),
        (arm("high_ligation", 3, 1) + arm("mesh", 4, 0), {}),
        ([row | {"emergency": None} for row in MANY], {}),
        ([row | {"emergency": None if at % 3 else at % 2 == 0} for at, row in enumerate(MANY)], {}),
        (MANY, {"adjust": []}),
        (MANY, {"adjust": ["specialty", "age", "preterm"]}),
        (MANY, {"estimand": "all"}),
        (SPREAD, {}),
        (SPREAD, {"estimand": "all"}),
        (SPREAD + arm("high_ligation", 40, 6, hospital="Coldharbour"), {}),
        (arm("high_ligation", 60, 9, age_years=13.0) + arm("mesh", 60, 9, age_years=28.0), {}),
    ],
)
def test_nothing_stops_a_run(rows: list[Groin], contrast: dict[str, Any], consent: bool) -> None:
    part, findings = contrast_part(tallies(rows), protocol(consent, 20, **contrast))
    assert part.sentence.endswith(".")
    assert ": ." not in part.sentence
    for figure in part.figures:
        for frame, columns in KINDS[figure.kind].items():
            assert set(columns) <= set(figure.frames[frame].column_names)
    assert not any("nan" in re.split(r"\W+", each) or "inf" in re.split(r"\W+", each) for each in words(part))
    assert all(math.isnan(one.estimate) == (one.status != "told") for one in findings)


def test_what_is_not_counted_with_follow_up_is_said_not_to_be_made_alike() -> None:
    part, _ = contrast_part(tallies(MANY), protocol(adjust=["specialty", "age"]))
    assert any(
        "Surgeon's specialty is not counted with follow-up and so not made alike." in e for e in part.cannot
    )


def test_a_horizon_beyond_the_follow_up_is_not_told() -> None:
    rows = arm("high_ligation", 80, 9, until=800) + arm("mesh", 90, 9)
    part, findings = contrast_part(tallies(rows), protocol())
    assert "high ligation: no verdict: nobody was followed for 5 years after high ligation" in part.sentence
    assert next(one for one in findings if one.headline).status == "not identified"


def simulated(generator: np.random.Generator) -> tuple[list[Groin], float]:
    """Boys of 14 and 22: the older, the more often mesh and the more recurrences; lost at any time, whatever befalls.

    The truth is of overlap weights: with shares e of mesh among those of an age, e(1 − e) is their weight (Li, Morgan
    & Zaslavsky 2018).
    """
    rows, weights, apart = [], [], []
    for age, n, share, hazard in ((14.0, 500, 0.25, 0.02), (22.0, 500, 0.75, 0.08)):
        meshed = generator.random(n) < share
        for repair, own, rate in (("mesh", meshed, hazard / 2), ("high_ligation", ~meshed, hazard)):
            came = generator.exponential(1 / rate, own.sum())
            lost = generator.uniform(0.5, 12, own.sum())
            last = np.floor(365.25 * np.minimum(came, lost)).astype(int)
            ended = [(int(day), bool(event)) for day, event in zip(last, came <= lost, strict=True)]
            rows += groins(repair, ended, age_years=age)
        weights.append(n * share * (1 - share))
        apart.append(math.exp(-5 * hazard) - math.exp(-5 * hazard / 2))
    return rows, float(np.average(apart, weights=weights))


def test_limits_hold_the_true_difference_among_patients_alike() -> None:
    seed = int(np.random.SeedSequence().entropy) % 2**32  # type: ignore[arg-type]
    print("seed", seed)
    generator, held, tried = np.random.default_rng(seed), 0, 24
    crude, truth = [], 0.0
    for _ in range(tried):
        rows, truth = simulated(generator)
        part, findings = contrast_part(tallies(rows), protocol(arms=["high_ligation", "mesh"]))
        main = next(one for one in findings if one.headline)
        held += main.low <= truth <= main.high
        cell = next(r for r in grid(part, wording.compared_pairs_title()).rows if r[1] == "5 years")[2]
        crude.append(float(cell.split(" ")[0].replace("−", "-")) / 100)
    assert binom.cdf(held, tried, 0.93) > 1e-6  # percentile limits of 99 sets hold a little less than 95%
    # without weights mesh's older patients make it look worse than it is: the truth is far from the mean
    apart = (np.mean(crude) - truth) / (np.std(crude, ddof=1) / math.sqrt(tried))
    assert apart > 5
