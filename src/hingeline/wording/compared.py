"""Repairs compared among patients alike, in words: headings, the sentence, cells and notes of that part."""

from __future__ import annotations

import math
from collections.abc import Sequence

from .contrast import contrast_points
from .followup import followup_years
from .numbers import age_span, capital, listed, number
from .outcomes import repair_word
from .trade import who

COVARIATES = {
    "age": "age at operation",
    "hospital": "hospital",
    "approach": "approach",
    "emergency": "emergency",
    "operated_year": "year of operation",
    "sex": "sex",
    "specialty": "surgeon's specialty",
    "known_by": "how the type was known",
    "preterm": "born preterm",
    "connective_tissue_disorder": "connective-tissue disorder",
}


def level_word(value: object) -> str:
    """Name a level of a covariate: what is not recorded is a level of its own."""
    if value is None:
        return "not recorded"
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)


def covariate_level(name: str) -> str:
    """Name a covariate, or a level of one: ``hospital: Ashmarsh``."""
    covariate, _, level = name.partition("=")
    told = COVARIATES.get(covariate, covariate.replace("_", " "))
    return f"{told}: {level}" if level else told


def pair_name(arm: str, against: str) -> str:
    """Name two repairs that are compared."""
    return f"{capital(repair_word(arm))} less {repair_word(against)}"


def verdict_word(verdict: str) -> str:
    """Name a verdict beside a mark in a picture."""
    return {
        "better": "fewer recurrences shown",
        "as good": "shown to be as good",
        "worse within the margin": "more, within the margin",
        "worse": "more recurrences shown",
        "worse by more than the margin": "more than the margin",
        "not settled": "not settled",
    }.get(verdict, "no verdict")


def compared_heading() -> str:
    """Head the part on the comparison."""
    return "Repairs compared among patients alike"


def compared_whom(sex: str, occurrence: str, types: Sequence[str], ages: tuple[float, float]) -> str:
    """Say who is compared."""
    return f"{occurrence} {listed(list(types))} hernias in {who(sex)} operated at {age_span(*ages)}"


def compared_sentence(
    whom: str,
    years: float,
    told: Sequence[tuple[str, str, float, float, float, str]],
    few: Sequence[str],
) -> str:
    """Answer how the repairs compare."""
    parts = []
    for arm, against, difference, low, high, sentence in told:
        if math.isnan(difference):
            parts.append(f"{repair_word(arm)} and {repair_word(against)}: {sentence}")
            continue
        more = "more" if difference >= 0 else "fewer"
        parts.append(
            f"{number(abs(100 * difference))} points {more} recurrences after {repair_word(arm)} than after "
            f"{repair_word(against)} (95% CI {number(100 * low)} to {number(100 * high)} points): {sentence}"
        )
    missing = (
        f" {capital(listed([repair_word(name) for name in few]))} cannot be compared: too few stand behind it."
        if few
        else ""
    )
    return f"Within {followup_years(years)}, among patients alike ({whom}): {'; '.join(parts)}.{missing}"


def compared_too_few(whom: str, arms: Sequence[str], few: Sequence[str], least: int) -> str:
    """Say that there are not two repairs to compare."""
    return (
        f"Repairs cannot be compared among {whom}: of {listed([repair_word(name) for name in arms])}, "
        f"{listed([repair_word(name) for name in few])} {'has' if len(few) == 1 else 'have'} fewer than {least} patients followed, or "
        "too few recurrences to be told without the data officers' consent."
    )


def compared_not(whom: str, why: str) -> str:
    """Say why nothing is compared."""
    return f"Repairs cannot be compared among {whom}. {why.rstrip('.')}."


def compared_title() -> str:
    """Head the picture of differences."""
    return "Difference in recurrence between repairs, among patients alike"


def compared_alt() -> str:
    """Describe the picture of differences."""
    return "For each two repairs and each horizon a mark with its interval, beside a line at no difference and one at the margin."


def compared_caption(margin: float, whom: str) -> str:
    """Say what the picture of differences shows."""
    return (
        f"Weighted difference in the share with a recurrence, with 95% limits over patients; of {whom}. Left of nought the first "
        f"repair has fewer recurrences. The dashed line is the protocol's margin of {contrast_points(margin)}."
    )


def balance_title() -> str:
    """Head the picture of balance."""
    return "How alike the patients of the repairs are"


def balance_alt() -> str:
    """Describe the picture of balance."""
    return "For each covariate its greatest standardised difference between two repairs, before and after weighting."


def balance_caption() -> str:
    """Say what the picture of balance shows."""
    return (
        "Greatest absolute standardised difference between any two repairs. Under 0.1 patients are commonly taken as alike in what "
        "was recorded; of what was not recorded nothing is known."
    )


def compared_arms_title() -> str:
    """Head the table of risks."""
    return "Recurrence after each repair, as seen and among patients alike"


def compared_arms_heads() -> tuple[str, ...]:
    """Head the table of risks."""
    return ("Repair", "By", "Groins", "Recurrences", "Still followed", "As seen", "Among patients alike")


def compared_arms_note(reference: str, warned: bool) -> str:
    """Stand under the table of risks."""
    dagger = " † few were followed so long: read with care." if warned else ""
    return f"The other repairs are compared with {repair_word(reference)}.{dagger}"


def compared_pairs_title() -> str:
    """Head the table of differences."""
    return "Differences and what they show"


def compared_pairs_heads() -> tuple[str, ...]:
    """Head the table of differences."""
    return ("Repairs", "By", "As seen", "Among patients alike", "Ratio", "E-value (limit)", "What is shown")


def compared_pairs_note() -> str:
    """Stand under the table of differences."""
    return (
        "Differences in points with 95% limits. The E-value is how strongly something not recorded would have to go with both the "
        "choice of repair and recurrence, on the scale of a risk ratio, to explain the ratio away (its limit: to let the interval "
        "reach 1)."
    )


def compared_weights_title() -> str:
    """Head the table of weights."""
    return "What making patients alike costs"


def compared_weights_heads() -> tuple[str, ...]:
    """Head the table of weights."""
    return ("Repair", "Groins compared", "They weigh as much as", "Heaviest, times the mean")


def compared_cox_title() -> str:
    """Head the table of hazard ratios."""
    return "Hazard ratios beside the risks"


def compared_cox_heads() -> tuple[str, ...]:
    """Head the table of hazard ratios."""
    return ("Repairs", "Hazard ratio (95% CI)", "Same over time?")


def compared_method(told: str) -> str:
    """Say how the comparison was made."""
    return (
        f"{told} Overlap weights: Li & Li 2019; bootstrap over patients with the propensity fitted again; under 5 recurrences in an arm, "
        "score limits on the effective number (Miettinen & Nurminen 1985) and no verdict where the unweighted interval disagrees. "
        "Non-inferiority is worded to the side that has to show it. Hazard ratios by Cox's model on the same weights, ties by Efron's way, tested "
        "for being the same over time (Grambsch & Therneau 1994). E-values: VanderWeele & Ding 2017."
    )


def compared_cannot(overlap: str, whom: str, notes: Sequence[str]) -> tuple[str, ...]:
    """Say what the comparison cannot say."""
    return (
        "Nobody was allotted a repair. Surgeons choose by what they see and whom they treat; weights make alike what was "
        "recorded, and nothing else.",
        f"The comparison speaks of {whom}, and of nobody else. {overlap}.",
        "Who comes back because something is wrong is seen, whichever the repair; if one repair's patients come back more readily, its "
        "recurrences are counted more readily.",
        *(f"{capital(note)}." for note in notes),
    )


def difference_cell(difference: float, low: float, high: float) -> str:
    """Write a difference in points."""
    if math.isnan(difference):
        return "–"
    return f"{number(100 * difference)} ({number(100 * low)} to {number(100 * high)})"


def ratio_cell(ratio: float, low: float, high: float) -> str:
    """Write a ratio."""
    if math.isnan(ratio):
        return "–"
    top = "∞" if math.isinf(high) else number(high, 2)
    return f"{number(ratio, 2)} ({number(low, 2)}–{top})"


def e_value_cell(estimate: float, limit: float) -> str:
    """Write an E-value with that of its nearer limit."""
    if math.isnan(estimate):
        return "–"
    return f"{number(estimate, 1)} ({number(limit, 1)})"


def difference_estimand(arm: str, against: str, years: float) -> str:
    """Say what a difference is a difference of."""
    return (
        f"share with a recurrence within {followup_years(years)}, {repair_word(arm)} less {repair_word(against)}, among "
        "patients alike"
    )


def difference_method(estimand: str, limits: str) -> str:
    """Name how a difference was made."""
    weights = {"overlap": "generalised overlap weights", "all": "inverse-probability weights"}[estimand]
    told = {
        "bootstrap": "bootstrap over patients",
        "score": "score limits on the effective number",
    }[limits]
    return f"{weights}, Aalen–Johansen; {told}"


def difference_told(value: float, low: float, high: float) -> str:
    """Write a difference of shares with its limits: ``−4.5 points (−8.6 to −1.0)``."""
    return f"{number(100 * value)} points ({number(100 * low)} to {number(100 * high)})"
