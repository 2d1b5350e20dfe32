"""The tables on recurrence: groups of groins and what became of them come in, ready text goes out.

Each number is reckoned in `recurrence_rows`; what of it may be told, in `outcome_cells`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from .. import wording
from ..counts import FollowUpTally, reoperations
from ..errors import HingelineError
from ..estimates.followup import RiskAt, log_rank, turnbull
from ..protocol import Protocol
from ..vocabulary import DAYS_PER_YEAR, RECURRENCE_KNOWN_BY
from .findings import Grid
from .outcome_cells import Leaving, leaving_of
from .recurrence_rows import (
    REPAIRS,
    Followed,
    beside_compared,
    everybody,
    grouped,
    headline_of,
)

if TYPE_CHECKING:
    from .outcomes import OutcomeTallies

SPLITS = ("approach", "type", "age_band", "hospital")


def by_repair(repairs: Sequence[Followed], head: FollowUpTally, protocol: Protocol) -> Grid:
    """Tell each repair: groins, followed, recurrences, risks, rate and length of follow-up."""
    horizons, leaving = protocol.outcomes.horizons_years, leaving_of(protocol)
    rows, warned = [], False
    for one in repairs:
        name, blank = wording.repair_cell(one.name), wording.nothing()
        if one.standing != "told" or not one.followed:
            kept = wording.small_cell(one.standing, one.followed)
            rows.append((name, *_groins(one, leaving), kept, *[blank] * (len(horizons) + 2)))
            continue
        years = one.told_years(leaving, horizons)
        risks = [one.risk(horizon) if horizon in years else None for horizon in horizons]
        warned = warned or any(risk.warning for risk in risks if risk)
        rate, length = one.rate(), one.length
        rows.append(
            (
                name,
                *_groins(one, leaving),
                wording.count(one.events),
                *(_risk_cell(risk) if risk else wording.kept_back() for risk in risks),
                wording.rate_of_cell(rate.rate, rate.low, rate.high),
                wording.follow_up_length_told(length.low, length.median, length.high),
            )
        )
    plan = protocol.outcomes
    note = wording.recurrence_grid_note(
        plan.headline_years,
        _log_rank(head, [one.name for one in repairs if one.standing == "told"]),
        leaving.consent,
        leaving.least,
        [wording.dagger_note(plan.least_at_risk)] if warned else [],
    )
    heads = wording.recurrence_heads(horizons, plan.headline_years)
    return Grid(wording.recurrence_grid_title(), heads, tuple(rows), note, tuple(range(1, len(heads))))


def _groins(one: Followed, leaving: Leaving) -> tuple[str, str]:
    """Write the groins and those followed; fewer patients than the least are not counted out."""
    if one.standing == "few people":
        return wording.few(one.groins, leaving.least), wording.few(one.rows.n_groins, leaving.least)
    return wording.count(one.groins), wording.count(one.rows.n_groins)


def _risk_cell(risk: RiskAt) -> str:
    return wording.risk_cell(risk.risk, risk.low, risk.high, bool(risk.warning))


def _log_rank(head: FollowUpTally, names: Sequence[str]) -> str:
    """Compare the curves; nothing where there are not two or nobody had a recurrence."""
    rows = head.rows(("repair",)).where(repair=tuple(names))
    groups = [wording.repair_word(str(name)) for name in rows.values("repair").to_pylist()]
    if len(set(groups)) < 2 or not rows.n_events:
        return ""
    try:
        return str(log_rank(groups=groups, **rows.arrays()))
    except HingelineError:
        return ""


def split(head: FollowUpTally, protocol: Protocol, repairs: Sequence[Followed]) -> list[Grid]:
    """Tell recurrence of each repair by what may matter, one row a group."""
    if not repairs:
        return []
    years, leaving = protocol.outcomes.headline_years, leaving_of(protocol)
    body, warned, kept = [], False, False
    for by in SPLITS:
        cells: dict[str, dict[str, str]] = {}
        for repair in repairs:
            mine = head.where(repair=repair.name)
            gives_away = by in beside_compared(mine, repair.name, protocol)
            for one in grouped(mine, protocol, by):
                text = wording.small_cell("few events" if gives_away else one.standing, one.followed)
                if one.standing == "told" and one.followed and not gives_away:
                    risk = one.risk(years)
                    warned = warned or bool(risk.warning)
                    text = wording.risk_of_cell(
                        risk.risk, risk.low, risk.high, one.events, one.rows.n_groins, bool(risk.warning)
                    )
                kept = kept or text == wording.kept_back()
                cells.setdefault(one.name, {})[repair.name] = text
        for place, (name, told) in enumerate(_in_order(by, cells, protocol)):
            body.append(
                (
                    wording.outcome_dimension(by) if place == 0 else "",
                    wording.outcome_group(by, name),
                    *(told.get(repair.name, wording.nothing()) for repair in repairs),
                )
            )
    heads = wording.split_heads([repair.name for repair in repairs])
    least_at_risk = protocol.outcomes.least_at_risk
    note = wording.split_note(years, leaving.consent, leaving.least, least_at_risk, warned, kept)
    return [Grid(wording.split_title(years), heads, tuple(body), note, tuple(range(2, len(heads))))]


def _in_order(
    by: str, cells: dict[str, dict[str, str]], protocol: Protocol
) -> list[tuple[str, dict[str, str]]]:
    """Bands from young to old, hospitals as the protocol has them, others by name with "unknown" last."""
    if by == "hospital":
        order = [hospital.name for hospital in protocol.hospitals]
    elif by == "age_band":
        order = sorted(cells, key=lambda name: float(name.split()[0]))
    else:
        order = sorted(cells, key=lambda name: (name == "unknown", name))
    return [(name, cells[name]) for name in order if name in cells]


def other_ways(tallies: OutcomeTallies, protocol: Protocol, told: Sequence[Followed]) -> list[Grid]:
    """Tell the headline's risk as other ways of reckoning follow-up have it."""
    if not told:
        return []
    years = protocol.outcomes.headline_years
    body = []
    for way in ("recurrence", "age_limit", "cutoff"):
        groups = {
            one.name: one
            for one in grouped(headline_of(getattr(tallies, way), protocol), protocol, "repair", REPAIRS)
        }
        row = []
        for one in told:
            there = groups.get(one.name)
            risk = there.risk(years) if there is not None and there.followed else None
            row.append(_risk_cell(risk) if risk else wording.nothing())
        body.append((wording.way(way), *row))
    censored = [one.curve.risk(years) for one in told]
    body.append((wording.way("censored"), *(_risk_cell(risk) for risk in censored)))
    cells, differences = [], []
    known = headline_of(tallies.known, protocol)
    for one, exact in zip(told, censored, strict=True):
        rows = known.where(repair=one.name).rows(("well_days",))
        between = turnbull(rows.left, rows.right, rows.n, weights=rows.weights).risk(years)
        cells.append(wording.interval_cell(between.low, between.high))
        differences += [abs(between.low - exact.risk), abs(between.high - exact.risk)]
    body.append((wording.way("interval"), *cells))
    heads = wording.ways_heads([one.name for one in told])
    note = wording.ways_note(max(differences, default=None))
    return [Grid(wording.ways_title(years), heads, tuple(body), note, tuple(range(1, len(heads))))]


def found_again(tallies: OutcomeTallies, protocol: Protocol) -> list[Grid]:
    """Tabulate the type found at re-operation by first repair and type."""
    table = reoperations(headline_of(tallies.known, protocol), by=("repair", "type"))
    if not table.num_rows:
        return []
    leaving = leaving_of(protocol)
    lines = table.to_pylist()
    types = [
        name for name in ("indirect", "direct", "combined", "femoral", "unknown")
        if any(line["found_again"] == name for line in lines)
    ]  # fmt: skip
    counts: dict[tuple[str, str], dict[str, int]] = {}
    for line in lines:
        row = counts.setdefault((line["repair"], line["type"]), {})
        row[line["found_again"]] = row.get(line["found_again"], 0) + line["n"]
    order = {name: place for place, name in enumerate((*REPAIRS, "unknown"))}
    body = tuple(
        (wording.repair_cell(repair), wording.outcome_group("type", kind), *_counts(row, types, leaving))
        for (repair, kind), row in sorted(counts.items(), key=lambda one: (order[one[0][0]], one[0][1]))
    )
    heads = wording.found_heads(types)
    note = wording.found_note(leaving.least, leaving.consent)
    return [Grid(wording.found_title(), heads, body, note, tuple(range(2, len(heads))))]


def told_apart(tallies: OutcomeTallies, protocol: Protocol, whole: Followed) -> Grid:
    """Tell the endpoints and the groins that are no part of the headline."""
    counting, years, leaving = protocol.counting, protocol.outcomes.headline_years, leaving_of(protocol)
    body = [_row(wording.other_groin_row(counting.sex), other_groin(tallies, protocol), years, leaving)]
    mine = tallies.recurrence.where(sex=counting.sex, occurrence=counting.occurrence)
    for one in grouped(mine, protocol, "reason"):
        if one.name not in counting.reasons:
            alone = replace(one, standing=leaving.standing(one.people, one.events))
            body.append(_row(wording.reason_row(one.name), alone, years, leaving))
    deaths = whole.events_by(years, 2)
    if deaths and leaving.standing(whole.people, deaths) == "told":
        died = whole.incidence.risk(years, cause=2)
        counts = (wording.count(whole.groins), wording.count(whole.rows.n_groins), wording.count(deaths))
        body.append((wording.death_row(), *counts, _risk_cell(died)))
    note = wording.apart_note(any(wording.kept_back() in row for row in body))
    return Grid(wording.apart_title(years), wording.apart_heads(), tuple(body), note, (1, 2, 3, 4))


def other_groin(tallies: OutcomeTallies, protocol: Protocol) -> Followed:
    """Take the headline's groins with a later hernia of the other groin as their endpoint."""
    one = everybody(headline_of(tallies.other_groin, protocol), protocol)
    return replace(one, standing=leaving_of(protocol).standing(one.people, one.events))


def _row(name: str, one: Followed, years: float, leaving: Leaving) -> tuple[str, ...]:
    if one.standing != "told" or not one.followed:
        kept = wording.small_cell(one.standing, one.followed)
        return (name, *_groins(one, leaving), kept, wording.nothing())
    return (name, *_groins(one, leaving), wording.count(one.events), _risk_cell(one.risk(years)))


def known_how(tallies: OutcomeTallies, protocol: Protocol, told: Sequence[Followed]) -> list[Grid]:
    """Tell how recurrences came to be known: those of the repairs told, within the headline's horizon."""
    leaving, years = leaving_of(protocol), protocol.outcomes.headline_years
    chosen = headline_of(tallies.known, protocol).where(repair=tuple(one.name for one in told))
    table = chosen.tally.margin(("outcome", "recurrence_known_by", "followed_days"))
    counts = dict.fromkeys(RECURRENCE_KNOWN_BY, 0)
    for line in table.to_pylist():
        if line["outcome"] == "event" and line["followed_days"] <= years * DAYS_PER_YEAR:
            counts[line["recurrence_known_by"]] += line["n"]
    ways = [how for how, n in counts.items() if n]
    if not ways:
        return []
    cells = _counts(counts, ways, leaving)
    body = tuple(
        (wording.capital(wording.known_row(how)), cell) for how, cell in zip(ways, cells, strict=True)
    )
    note = wording.known_note(years, wording.kept_back() in cells)
    return [Grid(wording.known_title(), wording.known_heads(), body, note, (1,))]


def _counts(counts: Mapping[str, int], names: Sequence[str], leaving: Leaving) -> list[str]:
    """Write counts whose sum may be known: none that is kept back follows from the others."""
    n = [counts.get(name, 0) for name in names]
    standings = leaving.standings([leaving.least] * len(n), n)
    return [
        wording.count(one) if standing == "told" else wording.kept_back()
        for one, standing in zip(n, standings, strict=True)
    ]
