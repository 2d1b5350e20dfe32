"""Sentences on the comparison of repairs: risks, differences, verdicts, balance and where there is no comparing."""

from __future__ import annotations

import math
from collections.abc import Sequence

from .numbers import capital, count, interval, listed, number, p_value, percent


def contrast_years(years: float) -> str:
    """Write a horizon: ``1 year``, ``5 years``, ``2.5 years``."""
    return f"{number(years, 0 if years == round(years) else 1)} year{'' if years == 1 else 's'}"


def contrast_points(share: float) -> str:
    """Write a margin in points: ``2 points``, ``0.5 points``, ``1 point``."""
    points = 100 * share
    whole = abs(points - round(points)) < 1e-9
    return f"{number(points, 0 if whole else 1)} point{'' if whole and round(points) == 1 else 's'}"


def contrast_repair(name: str) -> str:
    """Write an arm's name, or a covariate's with its level, within a sentence."""
    return name.replace("operated_year", "year of operation").replace("_", " ").replace("=", " ")


def contrast_operation(name: str) -> str:
    """Write a repair within a sentence: ``tissue repair``, ``high ligation``; any other name as it is."""
    return {"tissue": "tissue repair", "mesh": "mesh repair"}.get(name, contrast_repair(name))


def contrast_arm(
    arm: str,
    years: float,
    risk: float,
    low: float,
    high: float,
    events: int,
    n: int,
    level: float,
    warning: str,
) -> str:
    """Write the risk after one repair."""
    counted = f"{count(events, 'recurrence')} in {count(n, 'groin')}"
    if math.isnan(risk):
        return f"{capital(contrast_repair(arm))}: not told by {contrast_years(years)} ({counted}; {warning})"
    told = (
        f"{capital(contrast_repair(arm))}: {percent(risk, 2)} recurred by {contrast_years(years)} "
        f"({level:.0%} CI {number(100 * low, 2)}–{percent(high, 2)}; {counted}, weighted)"
    )
    return f"{told}; {warning}" if warning else told


def contrast_pair(
    arm: str,
    against: str,
    years: float,
    difference: float,
    low: float,
    high: float,
    level: float,
    sentence: str,
) -> str:
    """Write a difference with its verdict."""
    compared = (
        f"{capital(contrast_operation(arm))} less {contrast_operation(against)} by {contrast_years(years)}"
    )
    if math.isnan(difference):
        return f"{compared}: {sentence}"
    limits = f"{level:.0%} CI {number(100 * low, 2)} to {number(100 * high, 2)}"
    return f"{compared}: {number(100 * difference, 2)} points ({limits}): {sentence}"


def contrast_verdict(verdict: str, shown_by: str, other: str, margin: float, reason: str) -> str:
    """Say what an interval shows of the side that has to show it, so that it cannot be misread."""
    side, against, within = contrast_operation(shown_by), contrast_operation(other), contrast_points(margin)
    told = {
        "better": f"fewer recurrences after {side} than after {against} are shown",
        "as good": (
            f"{side} is shown to be not worse than {against} by more than {within}; "
            "neither is shown to be better"
        ),
        "worse within the margin": (
            f"more recurrences after {side} than after {against} are shown, but by less than {within}"
        ),
        "worse": (
            f"more recurrences after {side} than after {against} are shown; "
            f"whether by more than {within} is not settled"
        ),
        "worse by more than the margin": (
            f"more recurrences after {side} than after {against} are shown, by more than {within}"
        ),
        "not settled": (
            f"not settled: {side} is not shown to be worse than {against} by more than {within}, "
            "and it is not shown to be as good"
        ),
    }
    return told.get(verdict, f"no verdict: {reason}")


def contrast_reason_beyond(arms: Sequence[str], years: float) -> str:
    """Say why nothing is compared at a horizon."""
    return f"nobody was followed for {contrast_years(years)} after {listed([contrast_operation(a) for a in arms])}"


def contrast_reason_explodes(arms: Sequence[str]) -> str:
    """Say that a few groins would decide a comparison."""
    return (
        f"after weighting a few groins decide the risk after {listed([contrast_operation(a) for a in arms])}"
    )


def contrast_reason_rare(least: int) -> str:
    """Say that the weighted and the unweighted interval differ where events are few."""
    return f"fewer than {least} recurrences in an arm, and without weights the limits say otherwise"


def contrast_warning_beyond(longest_years: float) -> str:
    """Say that a horizon lies beyond the follow-up."""
    return f"the longest follow-up is {contrast_years(round(longest_years, 1))}"


def contrast_warning_few(at_risk: int) -> str:
    """Say that few were followed so long."""
    return f"only {count(at_risk, 'groin')} followed so long"


def contrast_whom(estimand: str) -> str:
    """Say of whom a comparison speaks."""
    if estimand == "all":
        return "all groins that lie where every repair was done"
    return "groins of which any of the repairs might have been done, those in most doubt counting most"


def contrast_method(
    estimand: str, covariates: Sequence[str], replicates: int, level: float, ridge: float
) -> str:
    """Write how repairs were compared, for a methods section."""
    weights = {
        "all": "Inverse-probability weights, stabilised,",
        "overlap": "Generalised overlap weights",
    }[estimand]
    how = f"with a ridge of {number(ridge, 3)}" if ridge else "by maximum likelihood"
    on = f" on {listed([contrast_repair(name) for name in covariates])}" if covariates else ""
    return (
        f"{weights} from a multinomial logistic propensity{on}, fitted {how}, made the patients of the repairs alike; "
        "groins outside the common support of the repairs were left out and counted. Risks are Aalen–Johansen's, death "
        f"competing; {level:.0%} limits are percentiles of {count(replicates, 'bootstrap sample')} of patients, the "
        "propensity fitted again in each. Under 5 recurrences after a repair score limits on the effective number stand "
        "instead (Wilson, Miettinen–Nurminen, Koopman), with no verdict where the unweighted limits say otherwise."
    )


def contrast_balance(covariate: str, arm: str, against: str, before: float, after: float) -> str:
    """Write how far two arms differ in one covariate."""
    return (
        f"{capital(contrast_repair(covariate))}, {contrast_repair(arm)} and {contrast_repair(against)}: "
        f"standardised difference {number(before, 3)} before weighting, {number(after, 3)} after"
    )


def contrast_weights(arm: str, n: int, effective_n: float, largest: float, explodes: bool) -> str:
    """Write what weighting costs one arm."""
    told = (
        f"{capital(contrast_repair(arm))}: {count(n, 'groin')} weigh as much as {number(effective_n, 0)}, "
        f"the heaviest {number(largest)} times the mean"
    )
    return f"{told}; too few carry too much for a verdict" if explodes else told


def contrast_gap(covariate: str, arm: str, level: str, low: float, high: float, groins: int) -> str:
    """Say where nobody had one repair: ``nobody had mesh where age is 0.5 to 11.5 (3,204 groins of others)``."""
    others = f"{count(groins, 'groin')} of others"
    name = contrast_repair(covariate)
    if level:
        return f"nobody had {contrast_repair(arm)} where {name} is {level} ({others})"
    span = number(low, 1) if low == high else f"{number(low, 1)} to {number(high, 1)}"
    return f"nobody had {contrast_repair(arm)} where {name} is {span} ({others})"


def contrast_more_gaps(more: int) -> str:
    """Say that there are more gaps than are told."""
    return f"and {count(more, 'smaller gap')}"


def contrast_overlap(inside: int, outside: int, gaps: Sequence[str]) -> str:
    """Say how many groins can be compared at all."""
    if not outside:
        return f"All {count(inside, 'groin')} lie where every repair was done"
    return (
        f"Compared are the {count(inside, 'groin')} that lie where every repair was done; "
        f"{count(outside, 'groin')} do not and are not compared: {'; '.join(gaps)}"
    )


def contrast_no_support(gaps: Sequence[str]) -> str:
    """Refuse a comparison that no common patients allow."""
    told = f": {'; '.join(gaps)}" if gaps else ""
    return f"There are no patients alike of whom each repair was done, so they cannot be compared{told}"


def contrast_propensity(profiles: int, covariates: int, ridge: float) -> str:
    """Say what a propensity is."""
    how = f"with a ridge of {number(ridge, 3)}" if ridge else "by maximum likelihood"
    return (
        f"Multinomial logistic propensity {how}: {count(covariates, 'covariate')}, "
        f"{count(profiles, 'set')} of values"
    )


def contrast_separated(names: Sequence[str]) -> str:
    """Refuse a propensity without a finite maximum."""
    by = f" by {listed([contrast_repair(n) for n in names])}" if names else ""
    return f"Who had which repair is told for certain{by}, so that no finite propensity fits"


def contrast_note_constant(names: Sequence[str]) -> str:
    """Say which covariates tell nothing of their own."""
    says, was = ("says", "was") if len(names) == 1 else ("say", "were")
    return f"{listed([contrast_repair(n) for n in names])} {says} nothing that the others do not, and {was} left out"


def contrast_note_unsettled(number_of: int, replicates: int) -> str:
    """Say in how many redrawn sets the propensity did not settle."""
    return (
        f"in {count(number_of)} of {count(replicates, 'redrawn set')} of patients the propensity had no finite "
        "maximum; they enter with what it had come to"
    )


def contrast_note_empty(number_of: int, replicates: int) -> str:
    """Say how many redrawn sets lacked an arm."""
    return f"{count(number_of)} of {count(replicates, 'redrawn set')} of patients had no one of an arm and were left out"


def contrast_note_no_cox(why: str) -> str:
    """Say why no hazard ratio stands beside the risks."""
    return f"no hazard ratio beside the risks: {why[:1].lower() + why[1:]}"


def contrast_note_no_hazard(arms: Sequence[str], of_reference: bool) -> str:
    """Say which repairs have no hazard ratio, for want of any recurrence."""
    names = listed([contrast_repair(arm) for arm in arms])
    if of_reference:
        return f"no hazard ratios: nobody recurred after {names}, which the others are compared with"
    return f"no hazard ratio of {names}: nobody recurred after it"


def contrast_hazard(
    arm: str, against: str, ratio: float, low: float, high: float, level: float, proportional_p: float
) -> str:
    """Write a hazard ratio and whether it stays the same over time."""
    return (
        f"Hazard ratio of {contrast_repair(arm)} against {contrast_repair(against)} {number(ratio, 2)} "
        f"({level:.0%} CI {interval(low, high, 2)}; proportional over time: {p_value(proportional_p)})"
    )


def e_value(ratio: float, estimate: float, limit: float) -> str:
    """Say what confounding would have to be to explain a ratio away."""
    if math.isnan(estimate):
        return "No risk ratio, so no E-value"
    told = (
        f"To explain a risk ratio of {number(ratio, 2)} away, something unmeasured would have to be tied both to the "
        f"repair and to recurrence by a risk ratio of {number(estimate, 2)}"
    )
    if math.isnan(limit):
        return told
    if limit == 1:
        return f"{told}; the interval holds no difference as it is"
    return f"{told}, and of {number(limit, 2)} to move the limit"
