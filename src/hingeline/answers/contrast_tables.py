"""Tables and pictures of repairs compared: what may be told of a comparison comes in, figures and grids go out."""

from __future__ import annotations

import itertools
from typing import Any, Final

import pyarrow as pa

from .. import wording
from ..estimates.contrast_result import ArmRisk, PairRisk
from .contrast_leaving import Shown
from .findings import Figure, Grid

_COLUMNS: Final[dict[str, Any]] = {
    "pair": pa.string(),
    "years": pa.float64(),
    "difference": pa.float64(),
    "low": pa.float64(),
    "high": pa.float64(),
    "verdict": pa.string(),
}
RISKS: Final = pa.schema(_COLUMNS)
"""Columns of the picture's rows, for where all of one are hidden."""


def compared_figures(shown: Shown) -> tuple[Figure, ...]:
    """Draw differences by pair and horizon, and how alike patients are before and after weighting."""
    found = shown.found
    risks = [_risk_row(pair, shown.pair(pair)) for pair in found.pairs]
    worst: dict[tuple[str, str], float] = {}
    for one in found.balance:
        for when, value in (("before", one.before), ("after", one.after)):
            key = (wording.covariate_level(one.covariate), when)
            worst[key] = max(worst.get(key, 0.0), abs(value))
    balance = [
        {"covariate": covariate, "when": when, "difference": value}
        for (covariate, when), value in worst.items()
    ]
    differences = Figure(
        name="repairs-compared",
        kind="contrast_risks",
        title=wording.compared_title(),
        alt=wording.compared_alt(),
        caption=wording.compared_caption(found.margin, found.whom),
        frames={
            "rows": pa.Table.from_pylist(risks, RISKS),
            "margin": pa.table({"margin": [found.margin]}),
        },
    )
    if not balance:  # nothing to be made alike by
        return (differences,)
    return (
        differences,
        Figure(
            name="repairs-balance",
            kind="balance",
            title=wording.balance_title(),
            alt=wording.balance_alt(),
            caption=wording.balance_caption(),
            frames={"rows": pa.Table.from_pylist(balance)},
        ),
    )


def _risk_row(pair: PairRisk, told: bool) -> dict[str, object]:
    row: dict[str, object] = {
        "pair": wording.pair_name(pair.arm, pair.against),
        "years": pair.years,
        "difference": None,
        "low": None,
        "high": None,
        "verdict": wording.verdict_hidden(),
    }
    if told:
        row |= {"difference": pair.difference, "low": pair.low, "high": pair.high}
        row["verdict"] = wording.verdict_word(pair.verdict)
    return row


def compared_grids(shown: Shown) -> tuple[Grid, ...]:
    """Make the tables: risks, differences, what weighting costs, hazard ratios."""
    return (_arms_grid(shown), _pairs_grid(shown), _weights_grid(shown), *_cox_grid(shown))


def _arms_grid(shown: Shown) -> Grid:
    exact = shown.leaving.consent
    rows, warned = [], False
    for name, told in itertools.groupby(shown.found.arms, key=lambda one: one.arm):
        for place, one in enumerate(told):
            warned = warned or bool(one.warning)
            first = wording.repair_cell(name) if place == 0 else ""
            rows.append((first, wording.followup_years(one.years), *_arm_cells(one, shown)))
    note = wording.compared_arms_note(shown.found.reference, warned, exact)
    heads = wording.compared_arms_heads() if exact else wording.compared_arms_heads_few()
    return Grid(wording.compared_arms_title(), heads, tuple(rows), note, tuple(range(2, len(heads))))


def _arm_cells(one: ArmRisk, shown: Shown) -> tuple[str, ...]:
    told = shown.arm(one.arm, one.years)
    weighted = (
        wording.risk_or_dash(one.risk, one.low, one.high, bool(one.warning))
        if told
        else wording.few_recurrences_cell()
    )
    if not shown.leaving.consent:
        return wording.count(shown.groins(one.n)), weighted
    return (
        wording.count(one.n),
        wording.count(one.events),
        wording.count(one.at_risk),
        wording.risk_or_dash(one.crude, one.crude_low, one.crude_high),
        weighted,
    )


def _pairs_grid(shown: Shown) -> Grid:
    exact = shown.leaving.consent
    heads = wording.compared_pairs_heads() if exact else wording.compared_pairs_heads_few()
    rows = []
    for pair in shown.found.pairs:
        cells = [
            wording.difference_cell(pair.difference, pair.low, pair.high),
            wording.ratio_cell(pair.ratio, pair.ratio_low, pair.ratio_high),
            wording.e_value_cell(pair.e_value.estimate, pair.e_value.limit),
            wording.capital(pair.sentence),
        ]
        if exact:
            cells.insert(0, wording.difference_cell(pair.crude, pair.crude_low, pair.crude_high))
        if not shown.pair(pair):
            cells = ["–"] * (len(cells) - 1) + [wording.capital(wording.few_recurrences_cell())]
        rows.append((wording.pair_name(pair.arm, pair.against), wording.followup_years(pair.years), *cells))
    return Grid(
        wording.compared_pairs_title(),
        heads,
        tuple(rows),
        wording.compared_pairs_note(),
        tuple(range(2, len(heads) - 1)),
    )


def _weights_grid(shown: Shown) -> Grid:
    rows = tuple(
        (
            wording.repair_cell(one.arm),
            wording.count(shown.groins(one.n)),
            wording.count(shown.groins(round(one.effective_n))),
            wording.number(one.largest, 1),
        )
        for one in shown.found.weights
    )
    return Grid(
        wording.compared_weights_title(),
        wording.compared_weights_heads(),
        rows,
        f"{shown.overlap()}.",
        (1, 2, 3),
    )


def _cox_grid(shown: Shown) -> list[Grid]:
    rows = tuple(
        (
            wording.pair_name(one.arm, one.against),
            wording.ratio_cell(one.ratio, one.low, one.high),
            wording.proportional_cell(one.proportional_p),
        )
        for one in shown.found.cox
        if shown.hazard(one)
    )
    if not rows:
        return []
    return [
        Grid(
            wording.compared_cox_title(),
            wording.compared_cox_heads(),
            rows,
            wording.compared_cox_note(),
            (1, 2),
        )
    ]


def until_grid(shown: Shown, until: Shown | None) -> list[Grid]:
    """Set the answer beside the same comparison were all taken as well until the data cut-off."""
    if until is None:
        return []
    others = {(pair.arm, pair.against): pair for pair in until.main() if until.pair(pair)}
    rows = []
    for pair in shown.main():
        other = others.get((pair.arm, pair.against))
        if other is None or not shown.pair(pair):
            continue
        rows.append(
            (
                wording.pair_name(pair.arm, pair.against),
                wording.difference_cell(pair.difference, pair.low, pair.high),
                wording.difference_cell(other.difference, other.low, other.high),
                wording.capital(other.sentence),
            )
        )
    if not rows:
        return []
    return [
        Grid(
            wording.compared_until_title(shown.headline_years),
            wording.compared_until_heads(),
            tuple(rows),
            wording.compared_until_note(),
            (1, 2),
        )
    ]
