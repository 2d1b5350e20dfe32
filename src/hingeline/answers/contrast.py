"""Repairs compared among patients alike: the follow-up tally comes in, the part of the answer with verdicts goes out.

The comparison is `estimates.contrast`'s, on the protocol's types, ages and repairs; here its rows are made, and what
it found is put into words and findings. Where patients are not alike the part says so.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from .. import wording
from ..counts import FollowUpRows, FollowUpTally
from ..errors import HingelineError
from ..estimates.contrast import Contrast, contrast
from ..estimates.contrast_overlap import NoSupport
from ..estimates.contrast_result import PairRisk
from ..protocol import Protocol
from .contrast_leaving import Shown, gaps_told
from .contrast_tables import compared_figures, compared_grids, until_grid
from .findings import Finding, Part
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
    try:
        rows = compared_rows(tallies.recurrence, protocol)
        arms, few = _arms(rows, protocol, leaving)
        if len(arms) < 2:
            return _refused(wording.compared_too_few(whom, plan.arms, few, leaving.least)), ()
        reference = plan.reference if plan.reference in arms else arms[0]
        found = compare(rows.where(repair=arms), protocol, arms, reference)
    except NoSupport as error:
        return _refused(wording.compared_nobody_alike(whom, gaps_told(error.gaps, leaving), error.could)), ()
    except HingelineError as error:
        return _refused(wording.compared_not(whom, error.what)), ()
    shown = Shown(found, leaving, protocol.outcomes.headline_years)
    notes = list(found.notes)
    missing = [name for name in plan.adjust if name != "age" and name not in rows.dimensions]
    if missing:
        notes.append(wording.compared_not_counted(missing))
    main = shown.main()
    looks = sum(not np.isnan(pair.difference) for pair in found.pairs)
    part = Part(
        id="repairs-compared",
        heading=wording.compared_heading(),
        sentence=wording.compared_sentence(
            whom, shown.headline_years, [_told(pair, shown) for pair in main], few
        ),
        figures=compared_figures(shown),
        grids=(*compared_grids(shown), *until_grid(shown, _until_cutoff(tallies, protocol, found, leaving))),
        method=wording.compared_method(found.method),
        cannot=wording.compared_cannot(
            shown.overlap(), found.whom, len(main), looks, shown.headline_years, notes
        ),
    )
    against = [pair for pair in found.pairs if pair.against == reference and shown.pair(pair)]
    return part, tuple(_finding(pair, shown, protocol) for pair in against)


def compared_rows(tally: FollowUpTally, protocol: Protocol) -> FollowUpRows:
    """Take the groins that are compared: the headline's, of the protocol's types, repairs and ages.

    A covariate of the protocol by which the tally was not counted has no column.
    """
    plan = protocol.contrast
    chosen = headline_of(tally, protocol).where(type=tuple(plan.types), repair=tuple(plan.arms))
    by = [name for name in ("repair", "hospital", *plan.adjust) if name in tally.tally.by]
    rows = chosen.rows(tuple(dict.fromkeys(by)))
    return rows.between(*plan.ages)


def compare(rows: FollowUpRows, protocol: Protocol, arms: list[str], reference: str) -> Contrast:
    """Compare the repairs of some rows as the protocol says."""
    plan, resampling = protocol.contrast, protocol.resampling
    covariates: dict[str, Any] = {}
    for name in plan.adjust:
        if name == "age" or name in rows.dimensions:
            covariates |= _covariate(rows, name)
    return contrast(
        [str(name) for name in rows.values("repair").to_pylist()],
        rows.days,
        rows.outcome,
        covariates,
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


def _covariate(rows: FollowUpRows, name: str) -> dict[str, Any]:
    """Give a covariate as the comparison takes it; a number not recorded is the mean, with a mark of its own."""
    if name == "age":
        return {name: rows.age_years}
    values = rows.values(name).to_pylist()
    if name not in NUMBERS:
        return {name: [wording.level_word(value) for value in values]}
    known = np.array([value is not None for value in values])
    if not known.any():
        return {}
    numbers = np.array([np.nan if value is None else float(value) for value in values])
    if known.all():
        return {name: numbers}
    groins = rows.n * rows.weights
    mean = np.average(numbers[known], weights=groins[known])
    return {name: np.where(known, numbers, mean), f"{name}_not_recorded": (~known).astype(np.float64)}


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


def _until_cutoff(
    tallies: OutcomeTallies, protocol: Protocol, found: Contrast, leaving: Leaving
) -> Shown | None:
    """The same comparison were all taken as well until the data cut-off; None where that cannot be made."""
    names = list(dict.fromkeys(one.arm for one in found.arms))
    try:
        rows = compared_rows(tallies.cutoff, protocol).where(repair=names)
        other = compare(rows, protocol, names, found.reference)
    except HingelineError:
        return None
    return Shown(other, leaving, protocol.outcomes.headline_years)


def _refused(sentence: str) -> Part:
    return Part(id="repairs-compared", heading=wording.compared_heading(), sentence=sentence)


def _told(pair: PairRisk, shown: Shown) -> str:
    """Tell one comparison of the sentence."""
    if not shown.pair(pair):
        return wording.compared_pair_hidden(pair.arm, pair.against)
    risks = shown.risk(pair.arm, pair.years).risk, shown.risk(pair.against, pair.years).risk
    return wording.compared_pair(
        pair.arm, pair.against, risks, (pair.difference, pair.low, pair.high), pair.sentence
    )


def _finding(pair: PairRisk, shown: Shown, protocol: Protocol) -> Finding:
    counting, plan, found = protocol.counting, protocol.contrast, shown.found
    arms = [shown.risk(name, pair.years) for name in (pair.arm, pair.against)]
    return Finding(
        id=f"difference.{pair.arm}-{pair.against}.{pair.years:g}y",
        estimand=wording.difference_estimand(pair.arm, pair.against, pair.years),
        estimate=pair.difference,
        unit="difference of shares",
        low=pair.low,
        high=pair.high,
        method=wording.difference_method(found.estimand, pair.method),
        n=shown.groins(sum(one.n for one in arms)),
        events=sum(one.events for one in arms) if shown.leaving.consent else None,
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
        status="not identified" if np.isnan(pair.difference) else "told",
        headline=pair.years == shown.headline_years,
        seed=found.seed,
        replicates=found.replicates,
    )
