"""Tallies against counts made by other people's programs, and by definitions that are not ours."""

from __future__ import annotations

from collections import Counter

import duckdb
import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq
import pytest

from hingeline.counts import DEFAULT_DIMENSIONS, count_patterns, edges_days, edges_years


@pytest.fixture(scope="module")
def cases() -> pa.Table:
    """Twenty thousand invented groins, one patient in six with more than one; a fresh seed each run."""
    seed = int(np.random.SeedSequence().entropy % 2**32)
    print(f"seed {seed}")
    draw = np.random.default_rng(seed)
    size = 20_000
    columns: dict[str, object] = {
        "patient": pa.array(draw.integers(-(2**62), 2**62, 16_000)[draw.integers(0, 16_000, size)]),
        "age_days": pa.array(
            np.where(draw.random(size) < 0.4, 1, 20) * draw.integers(0, 1900, size), pa.int32()
        ),
    }
    for name, values in {
        "hospital": ["Aldmoor", "Brackwater", "Crale"],
        "sex": ["male"] * 8 + ["female"],
        "occurrence": ["primary"] * 9 + ["recurrent"],
        "reason": ["hernia"] * 4 + ["hydrocele"],
        "type": ["indirect"] * 5 + ["direct", "direct", "combined", "femoral", "unknown"],
        "approach": ["open", "laparoscopic"],
        "known_by": ["floor examined", "not examined"],
    }.items():
        columns[name] = pa.array(draw.choice(values, size))
    return pa.table(columns)


def test_cells_equal_arrows_own_group_by(cases):
    # Apache Arrow's C++ hash aggregation; the bins by NumPy's digitize on the Julian year of 365.25 days
    # (International Astronomical Union Style Manual 1989, section 5.15; memory)
    edges = np.concatenate([np.arange(0, 30, 0.5), np.arange(30, 111)]) * 365.25
    bins = np.digitize(cases["age_days"].to_numpy(), edges) - 1
    days = pc.cast(cases["age_days"], pa.int64())
    table = cases.append_column("age_bin", pa.array(bins, pa.int16())).append_column("days", days)
    table = table.append_column("days2", pc.multiply(days, days))
    keys = [*DEFAULT_DIMENSIONS, "age_bin"]
    grouped = table.group_by(keys).aggregate([("days", "count"), ("days", "sum"), ("days2", "sum")])
    expected = grouped.rename_columns([*keys, "n", "days", "days2"]).sort_by(
        [(key, "ascending") for key in keys]
    )
    assert count_patterns(cases).cells.drop_columns(["cell"]).to_pylist() == expected.to_pylist()


def test_patterns_equal_lists_made_by_sql(cases, tmp_path):
    # DuckDB's own list aggregate, a way that the tally does not go
    path = tmp_path / "cases.parquet"
    pq.write_table(cases, path)
    tally = count_patterns(path, by=("hospital", "type"), half_years_to=0)
    whole_year = "least(floor(age_days / 365.25), 110)::INT"
    rows = duckdb.sql(f"""
        SELECT list_sort(list(hospital || '|' || type || '|' || {whole_year})) AS cells FROM read_parquet('{path}')
        GROUP BY patient""").fetchall()
    expected = Counter(tuple(cells) for (cells,) in rows)
    name = [f"{c['hospital']}|{c['type']}|{c['age_bin']}" for c in tally.cells.to_pylist()]
    held: dict[int, list[str]] = {}
    for row in tally.patterns.to_pylist():
        held.setdefault(row["pattern"], []).extend([name[row["cell"]]] * row["groins"])
    told = {tuple(sorted(cells)): int(tally.patients()[pattern]) for pattern, cells in held.items()}
    assert told == dict(expected)


def test_mean_and_variance_of_age_from_the_sums_equal_numpys(cases):
    # what makes a bin sit at its mean: Σ and Σ² give back the moments of the rows
    tally = count_patterns(cases)
    for row in tally.margin(["hospital", "sex"]).to_pylist():
        inside = pc.and_(pc.equal(cases["hospital"], row["hospital"]), pc.equal(cases["sex"], row["sex"]))
        ages = cases["age_days"].filter(inside).to_numpy()
        assert row["days"] / row["n"] == pytest.approx(ages.mean(), rel=1e-12)
        assert row["days2"] / row["n"] - (row["days"] / row["n"]) ** 2 == pytest.approx(ages.var(), rel=1e-9)


def test_likelihood_of_the_tally_is_that_of_the_rows_at_its_resolution(cases):
    # a binomial log-likelihood depends on the rows only through counts (sufficiency; Cox & Hinkley 1974, ch. 2;
    # memory): with every row at its cell's mean age, statsmodels fits rows and tally alike
    import statsmodels.api as sm

    kept = cases.filter(pc.is_in(cases["type"], pa.array(["indirect", "direct", "combined"])))
    made = count_patterns(cases).age_rows().collapse()
    shape = np.column_stack([np.ones(made.age_years.size), made.age_years])
    by_tally = sm.GLM(
        np.column_stack([made.direct, made.total - made.direct]), shape, sm.families.Binomial()
    ).fit(tol=1e-12)
    bins = np.digitize(kept["age_days"].to_numpy(), edges_years() * 365.25) - 1
    keys = list(zip(kept["hospital"].to_pylist(), bins.tolist(), strict=True))
    sums: dict[tuple[str, int], list[float]] = {}
    for key, days in zip(keys, kept["age_days"].to_pylist(), strict=True):
        sums.setdefault(key, []).append(days / 365.25)
    age = np.array([np.mean(sums[key]) for key in keys])
    direct = np.array([kind != "indirect" for kind in kept["type"].to_pylist()], dtype=float)
    by_rows = sm.GLM(direct, np.column_stack([np.ones(age.size), age]), sm.families.Binomial()).fit(tol=1e-12)
    np.testing.assert_allclose(by_tally.params, by_rows.params, rtol=1e-8)
    np.testing.assert_allclose(by_tally.bse, by_rows.bse, rtol=1e-8)


def test_first_days_of_bins_follow_the_julian_year():
    # 365.25 days a year (International Astronomical Union Style Manual 1989; memory): birthdays of 1, 18, 30, 65
    edges = dict(zip(edges_years().tolist(), edges_days().tolist(), strict=True))
    assert [edges[years] for years in (1.0, 18.0, 30.0, 65.0)] == [366, 6575, 10958, 23742]
