"""Repairs compared among patients alike: the follow-up tally comes in, the part of the answer with verdicts goes out.

The comparison is `estimates.contrast`'s, on the protocol's types, ages and repairs; here its rows are made, and what
it found is put into words, tables, pictures and findings. Where patients are not alike the part says so.
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from .. import wording
from ..counts import FollowUpRows, FollowUpTally
from ..errors import HingelineError
from ..estimates.contrast import Contrast, contrast
from ..estimates.contrast_result import PairRisk
from ..protocol import Protocol
from .findings import Figure, Finding, Grid, Part
from .outcome_cells import Leaving, leaving_of, people_of
from .recurrence_rows import headline_of

if TYPE_CHECKING:
    from .outcomes import OutcomeTallies

NUMBERS = ("age", "operated_year")
"""Covariates that enter as numbers; every other is coded by level."""


def contrast_part(tallies: OutcomeTallies, protocol: Protocol) -> tuple[Part, tuple[Finding, ...]]:
    """Compare the protocol's repairs.

    Parameters
    ----------
    tallies : OutcomeTallies
    protocol : Protocol

    Returns
    -------
    Part, tuple of Finding
        Where nothing can be compared the sentence says why, and there is no finding.
    """
    plan, leaving = protocol.contrast, leaving_of(protocol)
    whom = wording.compared_whom(protocol.counting.sex, protocol.counting.occurrence, plan.types, plan.ages)
    rows = compared_rows(tallies.recurrence, protocol)
    arms, few = _arms(rows, protocol, leaving)
    if len(arms) < 2:
        return _refused(wording.compared_too_few(whom, plan.arms, few, leaving.least)), ()
    reference = plan.reference if plan.reference in arms else arms[0]
    try:
        found = compare(rows.where(repair=arms), protocol, arms, reference)
    except HingelineError as error:
        return _refused(wording.compared_not(whom, error.what)), ()
    years = protocol.outcomes.headline_years
    main = [pair for pair in found.pairs if pair.years == years and pair.against == found.reference]
    part = Part(
        id="repairs-compared",
        heading=wording.compared_heading(),
        sentence=wording.compared_sentence(
            whom,
            years,
            [(pair.arm, pair.against, pair.difference, pair.low, pair.high, pair.sentence) for pair in main],
            few,
        ),
        figures=_figures(found, protocol),
        grids=(
            _arms_grid(found),
            _pairs_grid(found),
            _weights_grid(found),
            *_cox_grid(found),
        ),
        method=wording.compared_method(found.method),
        cannot=wording.compared_cannot(str(found.overlap), found.whom, found.notes),
    )
    return part, tuple(_finding(pair, found, protocol) for pair in found.pairs if pair.against == reference)


def compared_rows(tally: FollowUpTally, protocol: Protocol) -> FollowUpRows:
    """Take the groins that are compared: the headline's, of the protocol's types, repairs and ages."""
    plan = protocol.contrast
    chosen = headline_of(tally, protocol).where(type=tuple(plan.types), repair=tuple(plan.arms))
    by = [name for name in ("hospital", *plan.adjust) if name != "age"]
    rows = chosen.rows(tuple(dict.fromkeys(("repair", *by))))
    return rows.between(*plan.ages)


def compare(rows: FollowUpRows, protocol: Protocol, arms: list[str], reference: str) -> Contrast:
    """Compare the repairs of some rows as the protocol says."""
    plan, resampling = protocol.contrast, protocol.resampling
    return contrast(
        [str(name) for name in rows.values("repair").to_pylist()],
        rows.days,
        rows.outcome,
        {name: _covariate(rows, name) for name in plan.adjust},
        rows.n,
        rows.clusters,
        rows.weights,
        reference=reference,
        arms=arms,
        horizons_years=protocol.outcomes.horizons_years,
        estimand=plan.estimand,
        margin=plan.margin,
        replicates=resampling.replicates,
        seed=protocol.study.seed,
        least_at_risk=protocol.outcomes.least_at_risk,
    )


def _covariate(rows: FollowUpRows, name: str) -> Any:
    """Give a column as the comparison takes it; where a year is not recorded, years are levels."""
    if name == "age":
        return rows.age_years
    values = rows.values(name).to_pylist()
    if name in NUMBERS and None not in values:
        return np.asarray(values, dtype=np.float64)
    return [wording.level_word(value) for value in values]


def _arms(rows: FollowUpRows, protocol: Protocol, leaving: Leaving) -> tuple[list[str], list[str]]:
    """Repairs that may be compared, and those with too few people or events to be told."""
    there: list[str] = []
    few: list[str] = []
    groups = dict(rows.groups("repair")) if rows.days.size else {}
    for name in protocol.contrast.arms:
        part = groups.get(name)
        told = part is not None and leaving.standing(people_of(part), part.n_events) == "told"
        (there if told else few).append(name)
    return there, few


def _refused(sentence: str) -> Part:
    return Part(id="repairs-compared", heading=wording.compared_heading(), sentence=sentence)


def _figures(found: Contrast, protocol: Protocol) -> tuple[Figure, ...]:
    risks = [
        {
            "pair": wording.pair_name(pair.arm, pair.against),
            "years": pair.years,
            "difference": pair.difference,
            "low": pair.low,
            "high": pair.high,
            "verdict": wording.verdict_word(pair.verdict),
        }
        for pair in found.pairs
    ]
    worst: dict[tuple[str, str], float] = {}
    for one in found.balance:
        for when, value in (("before", one.before), ("after", one.after)):
            key = (wording.covariate_level(one.covariate), when)
            worst[key] = max(worst.get(key, 0.0), abs(value))
    balance = [
        {"covariate": covariate, "when": when, "difference": value}
        for (covariate, when), value in worst.items()
    ]
    return (
        Figure(
            name="repairs-compared",
            kind="contrast_risks",
            title=wording.compared_title(),
            alt=wording.compared_alt(),
            caption=wording.compared_caption(found.margin, found.whom),
            frames={
                "rows": pa.Table.from_pylist(risks),
                "margin": pa.table({"margin": [found.margin]}),
            },
        ),
        Figure(
            name="repairs-balance",
            kind="balance",
            title=wording.balance_title(),
            alt=wording.balance_alt(),
            caption=wording.balance_caption(),
            frames={"rows": pa.Table.from_pylist(balance)},
        ),
    )


def _arms_grid(found: Contrast) -> Grid:
    rows, warned = [], False
    for name, told in itertools.groupby(found.arms, key=lambda one: one.arm):
        for place, one in enumerate(told):
            warned = warned or bool(one.warning)
            rows.append(
                (
                    wording.repair_cell(name) if place == 0 else "",
                    wording.followup_years(one.years),
                    wording.count(one.n),
                    wording.count(one.events),
                    wording.count(one.at_risk),
                    wording.risk_cell(one.crude, one.crude_low, one.crude_high),
                    wording.risk_cell(one.risk, one.low, one.high, bool(one.warning)),
                )
            )
    note = wording.compared_arms_note(found.reference, warned)
    return Grid(
        wording.compared_arms_title(), wording.compared_arms_heads(), tuple(rows), note, (2, 3, 4, 5, 6)
    )


def _pairs_grid(found: Contrast) -> Grid:
    rows = tuple(
        (
            wording.pair_name(pair.arm, pair.against),
            wording.followup_years(pair.years),
            wording.difference_cell(pair.crude, pair.crude_low, pair.crude_high),
            wording.difference_cell(pair.difference, pair.low, pair.high),
            wording.ratio_cell(pair.ratio, pair.ratio_low, pair.ratio_high),
            wording.e_value_cell(pair.e_value.estimate, pair.e_value.limit),
            wording.capital(pair.sentence),
        )
        for pair in found.pairs
    )
    return Grid(
        wording.compared_pairs_title(),
        wording.compared_pairs_heads(),
        rows,
        wording.compared_pairs_note(),
        (2, 3, 4, 5),
    )


def _weights_grid(found: Contrast) -> Grid:
    rows = tuple(
        (
            wording.repair_cell(one.arm),
            wording.count(one.n),
            wording.count(round(one.effective_n)),
            wording.number(one.largest, 1),
        )
        for one in found.weights
    )
    return Grid(
        wording.compared_weights_title(),
        wording.compared_weights_heads(),
        rows,
        str(found.overlap),
        (1, 2, 3),
    )


def _cox_grid(found: Contrast) -> list[Grid]:
    if not found.cox:
        return []
    rows = tuple(
        (
            wording.pair_name(one.arm, one.against),
            wording.ratio_cell(one.ratio, one.low, one.high),
            wording.p_value(one.proportional_p),
        )
        for one in found.cox
    )
    return [Grid(wording.compared_cox_title(), wording.compared_cox_heads(), rows, "", (1, 2))]


def _finding(pair: PairRisk, found: Contrast, protocol: Protocol) -> Finding:
    counting, plan = protocol.counting, protocol.contrast
    arms = [one for one in found.arms if one.years == pair.years and one.arm in (pair.arm, pair.against)]
    return Finding(
        id=f"difference.{pair.arm}-{pair.against}.{pair.years:g}y",
        estimand=wording.difference_estimand(pair.arm, pair.against, pair.years),
        estimate=pair.difference,
        unit="difference of shares",
        low=pair.low,
        high=pair.high,
        method=wording.difference_method(found.estimand, pair.method),
        n=sum(one.n for one in arms),
        events=sum(one.events for one in arms),
        cells=wording.cells_of(
            {
                "sex": (counting.sex,),
                "occurrence": (counting.occurrence,),
                "reason": counting.reasons,
                "type": plan.types,
                "repair": (pair.arm, pair.against),
                "age": (wording.age_span(*plan.ages),),
            }
        ),
        sentence=f"{wording.capital(str(pair))}.",
        headline=pair.years == protocol.outcomes.headline_years,
        seed=found.seed,
        replicates=found.replicates,
    )
