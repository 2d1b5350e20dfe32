"""Small invented cases for the tests of counts, and a count of them that shares nothing with the package."""

from __future__ import annotations

from collections import Counter, defaultdict
from fractions import Fraction

import pyarrow as pa
from hypothesis import strategies as st

from hingeline.counts import DEFAULT_DIMENSIONS

TYPES = ("indirect", "direct", "combined", "femoral", "unknown")
SCHEMA = pa.schema(
    [("patient", pa.int64()), ("age_days", pa.int32()), *((name, pa.string()) for name in DEFAULT_DIMENSIONS)]
)


def table(rows: list[dict]) -> pa.Table:
    """Rows of cases as Arrow; what is not given is as common as it gets."""
    usual = {
        "hospital": "Aldmoor", "sex": "male", "occurrence": "primary", "reason": "hernia", "type": "indirect",
        "approach": "open", "known_by": "floor examined",
    }  # fmt: skip
    return pa.Table.from_pylist([usual | row for row in rows], schema=SCHEMA)


def rows_of_cases(max_size: int = 24) -> st.SearchStrategy[list[dict]]:
    """Any cases: few patients with many groins or many with one, ages on and about the edges of bins."""
    edge = st.integers(0, 230).map(lambda k: (k * 1461) // 8)
    return st.lists(
        st.fixed_dictionaries(
            {
                "patient": st.one_of(st.integers(-3, 12), st.integers(-(2**63), 2**63 - 1)),
                "age_days": st.one_of(st.integers(0, 41_000), edge, edge.map(lambda d: d + 1)),
                "hospital": st.sampled_from(["Aldmoor", "Brackwater", "Ćwikła"]),
                "sex": st.sampled_from(["male", "female"]),
                "occurrence": st.sampled_from(["primary", "recurrent"]),
                "reason": st.sampled_from(["hernia", "hydrocele"]),
                "type": st.sampled_from(TYPES),
                "approach": st.sampled_from(["open", "laparoscopic"]),
                "known_by": st.sampled_from(["floor examined", "code only"]),
            }
        ),
        max_size=max_size,
    )


def bin_by_fractions(days: int, half_years_to: int = 30, highest: int = 110) -> int:
    """Place of an age among half-years and years, by exact fractions."""
    years = Fraction(days) / Fraction(1461, 4)
    edges = [Fraction(k, 2) for k in range(2 * half_years_to)] + [
        Fraction(k) for k in range(half_years_to, highest + 1)
    ]
    return max(place for place, edge in enumerate(edges) if edge <= years)


def plain_count(rows: list[dict], by=DEFAULT_DIMENSIONS) -> tuple[dict, Counter]:
    """Cells with (n, Σ days, Σ days²), and patients by pattern, with dictionaries only."""
    cells: dict[tuple, list[int]] = defaultdict(lambda: [0, 0, 0])
    patients: dict[int, list[tuple]] = defaultdict(list)
    for row in rows:
        key = (*(row[name] for name in by), bin_by_fractions(row["age_days"]))
        for place, amount in enumerate((1, row["age_days"], row["age_days"] ** 2)):
            cells[key][place] += amount
        patients[row["patient"]].append(key)
    return {key: tuple(sums) for key, sums in cells.items()}, Counter(
        tuple(sorted(p)) for p in patients.values()
    )


def opened_up(tally) -> tuple[dict, Counter]:
    """A tally in the form that `plain_count` gives."""
    keys = [tuple(row.values()) for row in tally.cells.select([*tally.by, "age_bin"]).to_pylist()]
    sums = zip(*(tally.cells[name].to_pylist() for name in ("n", "days", "days2")), strict=True)
    patterns: dict[int, list[tuple]] = defaultdict(list)
    for row in tally.patterns.to_pylist():
        patterns[row["pattern"]] += [keys[row["cell"]]] * row["groins"]
    weights = Counter()
    for row in tally.weights.to_pylist():
        weights[tuple(sorted(patterns[row["pattern"]]))] += row["patients"]
    assert len(weights) == tally.weights.num_rows, "a pattern stands twice"
    return dict(zip(keys, sums, strict=True)), weights
