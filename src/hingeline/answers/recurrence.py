"""What happened after each kind of repair: follow-up tallies come in, the part of the answer goes out.

Each number is reckoned in `recurrence_rows`; here sentence, picture, tables and findings are put together. What
follow-up cannot tell stands with it: who was never seen again, how a recurrence came to be known, what assuming
the best does.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa

from .. import wording
from ..estimates.followup import RiskAt
from ..protocol import Protocol
from .findings import Figure, Finding, Grid, Part
from .outcome_cells import leaving_of
from .recurrence_rows import (
    REPAIRS,
    THIN,
    Followed,
    everybody,
    grouped,
    headline_of,
    steps_of,
)
from .recurrence_tables import (
    by_repair,
    found_again,
    known_how,
    other_groin,
    other_ways,
    split,
    told_apart,
)

if TYPE_CHECKING:
    from .outcomes import OutcomeTallies


def recurrence_part(tallies: OutcomeTallies, protocol: Protocol) -> tuple[Part, tuple[Finding, ...]]:
    """Tell recurrence after each repair on the headline's cases.

    Parameters
    ----------
    tallies : OutcomeTallies
    protocol : Protocol

    Returns
    -------
    Part, tuple of Finding
        Without any follow-up the part says so and has no findings but the number without.
    """
    counting, plan, years = protocol.counting, protocol.outcomes, protocol.outcomes.headline_years
    head = headline_of(tallies.recurrence, protocol)
    repairs = tuple(one for one in grouped(head, protocol, "repair", REPAIRS) if one.groins)
    told = tuple(one for one in repairs if one.standing == "told" and one.followed)
    # sums are over the repairs that are told, so that none that is not follows from them
    whole = everybody(head.where(repair=tuple(one.name for one in told or repairs)), protocol)
    leaving = leaving_of(protocol)
    risks = [(one.name, one.risk(years)) for one in told]
    sentence = wording.recurrence_sentence(
        counting.sex,
        counting.occurrence,
        years,
        [_had(name, risk, protocol) for name, risk in risks],
        [one.name for one in repairs if one.standing != "told"],
        [one.name for one in repairs if one.standing == "told" and not one.followed],
        whole.rows.n_groins if whole.followed else 0,
        wording.events_told(whole.events, leaving.least, leaving.consent),
        whole.groins,
        whole.without,
    )
    best = _if_well(tallies, protocol)
    bounds = wording.recurrence_bounds(
        years, [(name, risk.risk, best[name]) for name, risk in risks if name in best]
    )
    grids: list[Grid] = []
    if whole.followed:
        grids = [
            by_repair(repairs, head, protocol),
            *split(head, protocol, told),
            *other_ways(tallies, protocol, told),
            *found_again(tallies, protocol),
            told_apart(tallies, protocol, whole),
            *known_how(tallies, protocol, told),
        ]
    part = Part(
        id="recurrence",
        heading=wording.recurrence_heading(),
        sentence=f"{sentence} {bounds}".strip(),
        figures=(_figure(told, protocol),) if told else (),
        grids=tuple(grids),
        method=wording.recurrence_method_told() if whole.followed else "",
        cannot=wording.recurrence_cannot(),
    )
    return part, (*_findings(told, whole, protocol, plan.horizons_years), *_other_groin(tallies, protocol))


def _figure(told: Sequence[Followed], protocol: Protocol) -> Figure:
    plan, leaving = protocol.outcomes, leaving_of(protocol)
    until = max(plan.horizons_years)
    horizons = plan.horizons_years
    steps = [row for one in told for row in steps_of(one, leaving, until, one.told_years(leaving, horizons))]
    left = np.arange(int(until) + 1)
    at_risk = [
        {
            "group": one.name,
            "years": float(year),
            "n": wording.few(round(n), leaving.least),
        }
        for one in told
        for year, n in zip(left, one.curve.at_risk_at(left), strict=True)
    ]
    marks = [
        {
            "group": one.name,
            "years": risk.told_at_years,
            "risk": risk.risk,
            "label": wording.capital(_had(one.name, risk, protocol)),
        }
        for one in told
        for risk in (one.risk(plan.headline_years),)
    ]
    return Figure(
        name="recurrence",
        kind="recurrence_curves",
        title=wording.recurrence_title(until),
        alt=wording.recurrence_alt(
            [(one.name, one.risk(plan.headline_years).risk) for one in told], plan.headline_years
        ),
        caption=wording.recurrence_caption(
            plan.least_at_risk, THIN * plan.least_at_risk, leaving.consent, leaving.least
        ),
        frames={
            "steps": pa.Table.from_pylist(steps),
            "at_risk": pa.Table.from_pylist(at_risk),
            "marks": pa.Table.from_pylist(marks),
        },
    )


def _had(repair: str, risk: RiskAt, protocol: Protocol) -> str:
    """Write a finding as it stands in the sentence, so that the report can point from there to its cells."""
    care = _care(risk, protocol)
    return wording.recurrence_had(repair, risk.risk, risk.low, risk.high, risk.years, care)


def _care(risk: RiskAt, protocol: Protocol) -> str:
    """Warn where few or nobody is left, without counting the few out."""
    if not risk.warning:
        return ""
    if risk.told_at_years < risk.years:
        return wording.followup_beyond(risk.years, risk.told_at_years)
    return wording.few_followed(protocol.outcomes.least_at_risk)


def _if_well(tallies: OutcomeTallies, protocol: Protocol) -> dict[str, float]:
    """Risk of each repair by the headline's horizon had all others been well until the data cut-off."""
    years = protocol.outcomes.headline_years
    groups = grouped(headline_of(tallies.cutoff, protocol), protocol, "repair", REPAIRS)
    return {one.name: one.risk(years).risk for one in groups if one.followed and one.standing == "told"}


def _findings(
    told: Sequence[Followed], whole: Followed, protocol: Protocol, horizons: Sequence[float]
) -> list[Finding]:
    """One finding a repair and horizon, and how many were not followed at all."""
    counting, headline = protocol.counting, protocol.outcomes.headline_years
    findings = []
    for one in told:
        kept = one.told_years(leaving_of(protocol), horizons)
        for years in (horizon for horizon in horizons if horizon in kept):
            risk = one.risk(years)
            findings.append(
                Finding(
                    id=f"recurrence.{one.name}.{years:g}y",
                    estimand=wording.recurrence_estimand(one.name, years),
                    estimate=risk.risk,
                    unit="share",
                    low=risk.low,
                    high=risk.high,
                    method=wording.recurrence_method(),
                    n=one.rows.n_groins,
                    events=round(risk.events),
                    cells=wording.recurrence_cells(
                        counting.sex, counting.occurrence, counting.reasons, (one.name,)
                    ),
                    sentence=_had(one.name, risk, protocol),
                    headline=years == headline,
                )
            )
    nan = float("nan")
    mine = tuple(one.name for one in told) or REPAIRS
    findings.append(
        Finding(
            id="recurrence.without-follow-up",
            estimand=wording.without_estimand(),
            estimate=float(whole.without),
            unit="cases",
            low=nan,
            high=nan,
            method="count",
            n=whole.groins,
            events=None,
            cells=wording.recurrence_cells(counting.sex, counting.occurrence, counting.reasons, mine),
            sentence=wording.without_told(whole.without, whole.groins),
        )
    )
    if whole.followed:
        length = whole.length
        findings.append(
            Finding(
                id="follow-up.median",
                estimand=wording.length_estimand(),
                estimate=length.median,
                unit="years",
                low=length.low,
                high=length.high,
                method="reverse Kaplan–Meier",
                n=whole.rows.n_groins,
                events=None,
                cells=wording.recurrence_cells(counting.sex, counting.occurrence, counting.reasons, mine),
                sentence=f"{length}.",
            )
        )
    return findings


def _other_groin(tallies: OutcomeTallies, protocol: Protocol) -> list[Finding]:
    counting, years = protocol.counting, protocol.outcomes.headline_years
    one = other_groin(tallies, protocol)
    if one.standing != "told" or not one.followed:
        return []
    risk = one.risk(years)
    return [
        Finding(
            id=f"other-groin.{years:g}y",
            estimand=wording.other_groin_estimand(years),
            estimate=risk.risk,
            unit="share",
            low=risk.low,
            high=risk.high,
            method=wording.recurrence_method(),
            n=one.rows.n_groins,
            events=round(risk.events),
            cells=wording.recurrence_cells(counting.sex, counting.occurrence, counting.reasons, ()),
            sentence=wording.other_groin_told(
                counting.sex, risk.risk, risk.low, risk.high, years, _care(risk, protocol)
            ),
        )
    ]
