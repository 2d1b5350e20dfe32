"""The headline: which cases it rests on, and that the protocol's typing errors reach the likelihood."""

from __future__ import annotations

import numpy as np
import pyarrow as pa
import pytest

from hingeline.answers.headline import ShareEstimates, headline_rows
from hingeline.counts import count_patterns
from hingeline.desk.new import PROTOCOL
from hingeline.errors import HingelineError
from hingeline.protocol import parse_protocol
from hingeline.vocabulary import CASE_SCHEMA, DAYS_PER_YEAR


def cases(n=3000, seed=1):
    rng = np.random.default_rng(seed)
    age = rng.uniform(0, 80, n)
    p = 1 / (1 + np.exp(-(-5 + 0.06 * age + 0.1 * np.maximum(age - 20, 0) * 0)))
    return [
        {
            "hospital": ("First hospital", "Other")[int(i % 3 == 0)],
            "patient": int(i),
            "age_days": int(age[i] * DAYS_PER_YEAR),
            "age_precision": "day",
            "sex": "female" if i % 10 == 0 else "male",
            "side": "left",
            "type": "direct" if rng.random() < p[i] else "indirect",
            "known_by": "not examined" if i % 2 else "floor examined",
            "reason": "hydrocele" if i % 17 == 0 else "hernia",
            "occurrence": "recurrent" if i % 13 == 0 else "primary",
            "repair": "tissue",
            "approach": "open",
            "specialty": "general surgery",
        }
        for i in range(n)
    ]


@pytest.fixture(scope="module")
def rows():
    return cases()


@pytest.fixture(scope="module")
def tally(rows):
    return count_patterns(pa.Table.from_pylist(rows, schema=CASE_SCHEMA))


def protocol(extra=""):
    return parse_protocol(PROTOCOL.replace("replicates = 2000", "replicates = 19") + extra)


def test_the_headline_counts_what_the_protocol_says_and_nothing_else(rows, tally):
    data = headline_rows(tally, protocol())
    wanted = [
        row for row in rows if (row["sex"], row["reason"], row["occurrence"]) == ("male", "hernia", "primary")
    ]
    assert data.rows.n_groins == len(wanted)
    assert data.rows.n_direct == sum(row["type"] == "direct" for row in wanted)
    assert data.perfect


def test_every_bin_has_one_age_the_mean_of_its_cases_over_all_hospitals(rows, tally):
    data = headline_rows(tally, protocol())
    assert len(np.unique(data.age_years)) == len(set(data.rows.cells["age_bin"].to_pylist()))
    mean = (data.age_years * data.rows.total * data.rows.weights).sum() / data.rows.n_groins
    wanted = [
        row["age_days"]
        for row in rows
        if (row["sex"], row["reason"], row["occurrence"]) == ("male", "hernia", "primary")
    ]
    assert mean == pytest.approx(np.mean(wanted) / DAYS_PER_YEAR, rel=1e-12)


def test_the_last_typing_entry_that_matches_counts(tally):
    data = headline_rows(
        tally,
        protocol(
            "\n[[typing]]\nspecificity = 0.99\n"
            '[[typing]]\nknown_by = "not examined"\nages = [0, 16]\nsensitivity = 0.5\n'
        ),
    )
    cell = data.rows.cell
    known = np.array(data.rows.cells["known_by"].to_pylist())[cell]
    hit = (known == "not examined") & (data.age_years < 16)
    assert hit.any()
    assert np.all(data.sensitivity[hit] == 0.5)
    assert np.all(data.specificity[hit] == 1.0)
    assert np.all(data.sensitivity[~hit] == 1.0)
    assert np.all(data.specificity[~hit] == 0.99)
    assert not data.perfect


def test_a_headline_without_cases_says_so(tally):
    with pytest.raises(HingelineError, match="No case is left"):
        headline_rows(
            tally,
            parse_protocol(PROTOCOL.replace('reasons = ["hernia"]', 'reasons = ["with orchidopexy"]')),
        )


def test_typing_errors_move_the_share_as_their_formula_says(tally):
    # with one specificity for all, P(seen) = 1 − sp + sp·p: a share seen of nought means p below nought
    plain = ShareEstimates(headline_rows(tally, protocol()), protocol(), workers=1)
    with_errors = protocol("\n[[typing]]\nsensitivity = 0.8\n")
    mended = ShareEstimates(headline_rows(tally, with_errors), with_errors, workers=1)
    ages = np.array([30.0, 50.0, 70.0])
    assert np.allclose(mended.curve.predict(ages) * 0.8, plain.curve.predict(ages), rtol=0.08)
