"""Repairs compared among patients alike, in words: headings, the sentence, cells and notes of that part."""

from __future__ import annotations

import math
from collections.abc import Sequence

from .contrast import contrast_points
from .followup import followup_years
from .numbers import age_span, capital, count, listed, number, p_value, percent
from .outcomes import repair_word, risk_cell
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
    """Name a verdict beside a mark in a picture, about the repair named first; it claims no more than the sentence does."""
    return {
        "better": "fewer recurrences shown",
        "as good": "not worse by the margin; neither shown to be better",
        "worse within the margin": "more recurrences shown, by less than the margin",
        "worse": "more recurrences shown; by how many, not settled",
        "worse by more than the margin": "more recurrences shown, by more than the margin",
        "not settled": "not settled: neither worse nor as good is shown",
    }.get(verdict, "no verdict")


def verdict_hidden() -> str:
    """Stand in place of a verdict where recurrences are too few to be told."""
    return "too few recurrences to be told"


def compared_heading() -> str:
    """Head the part on the comparison."""
    return "Repairs compared among patients alike"


def compared_whom(sex: str, occurrence: str, types: Sequence[str], ages: tuple[float, float]) -> str:
    """Say who is compared."""
    return f"{occurrence} {listed(list(types))} hernias in {who(sex)} operated at {age_span(*ages)}"


def compared_sentence(whom: str, years: float, told: Sequence[str], few: Sequence[str]) -> str:
    """Answer how the repairs compare; ``told`` from `compared_pair`."""
    missing = (
        f" {capital(listed([repair_word(name) for name in few]))} cannot be compared: too few stand behind it."
        if few
        else ""
    )
    return (
        f"Within {followup_years(years)}, among patients made alike in what was recorded ({whom}): {'. '.join([*told[:1], *map(capital, told[1:])])}.{missing} "
        "Surgeons chose the repair: this is no trial; and recurrence is not the only outcome."
    )


def compared_pair(
    arm: str,
    against: str,
    risks: tuple[float, float],
    difference: tuple[float, float, float],
    verdict: str,
) -> str:
    """Write two repairs' risks, their difference with its limits, and what that shows."""
    first, second = repair_word(arm), repair_word(against)
    value, low, high = difference
    if math.isnan(value):
        return f"{first} and {second}: {verdict}"
    of = f"{number(100 * risks[0])} v {percent(risks[1])}"
    limits = f"95% CI of the difference {points_apart(low)} to {points_apart(high)}"
    if round(100 * value, 1) == 0:
        return f"recurrence was the same after {first} as after {second} ({of}; {limits}): {verdict}"
    return f"recurrence was {points_apart(value, noun=True)} after {first} than after {second} ({of}; {limits}): {verdict}"


def compared_pair_hidden(arm: str, against: str) -> str:
    """Say that two repairs are not told beside each other."""
    return (
        f"{repair_word(arm)} and {repair_word(against)} are not told beside each other, for after one of them recurrences "
        "are too few to leave without the data officers' consent"
    )


def points_apart(share: float, noun: bool = False) -> str:
    """Write a difference by its side: ``10.0 lower``, ``0.4 points higher``."""
    points = number(abs(100 * share)) + (" points" if noun else "")
    if round(100 * share, 1) == 0:
        return points
    return f"{points} {'lower' if share < 0 else 'higher'}"


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


def compared_nobody_alike(whom: str, gaps: Sequence[str], could: Sequence[tuple[str, str]]) -> str:
    """Refuse a comparison that no common patients allow; say which two could be compared."""
    where = f": {'; '.join(gaps)}" if gaps else ""
    alone = [f"{repair_word(first)} with {repair_word(second)}" for first, second in could]
    instead = (
        f" By themselves {listed(alone)} could be compared: name them under 'arms' in [contrast] of the protocol."
        if alone
        else ""
    )
    return (
        f"Repairs cannot be compared among {whom}: there are no patients alike of whom each repair was done{where}."
        f"{instead}"
    )


def compared_gap(
    arm: str, covariate: str, level: str, low: float, high: float, groins: int, exact: bool
) -> str:
    """Say where nobody had one repair: ``nobody had mesh repair at about 12–14.5 years (82 groins of others)``."""
    if level:
        where = f"with {COVARIATES.get(covariate, covariate.replace('_', ' '))} {level}"
    elif covariate == "age":
        where = f"at about {age_span(low, high)}" if low < high else f"at about {number(low)} years"
    elif low == high:
        where = f"with {COVARIATES.get(covariate, covariate.replace('_', ' '))} {low:g}"
    else:
        where = f"with {COVARIATES.get(covariate, covariate.replace('_', ' '))} {low:g} to {high:g}"
    return f"nobody had {repair_word(arm)} {where} ({'' if exact else 'about '}{count(groins, 'groin')} of others)"


def compared_more_gaps(after_others: bool) -> str:
    """Say that there are smaller gaps than are told."""
    return "and smaller gaps" if after_others else "in gaps too small to be told"


def compared_overlap(inside: int, outside: int, few: bool, gaps: Sequence[str], exact: bool) -> str:
    """Say how many groins can be compared at all."""
    about = "" if exact else "about "
    if not outside:
        return f"All {about}{count(inside, 'groin')} lie where every repair was done"
    left = f"fewer than {count(outside)}" if few else f"{about}{count(outside)}"
    return (
        f"{capital(about)}{count(inside, 'groin')} lie where every repair was done and are compared; {left} do not and are not: "
        f"{'; '.join(gaps)}"
    )


def compared_title() -> str:
    """Head the picture of differences."""
    return "Difference in recurrence between repairs, among patients alike"


def compared_alt() -> str:
    """Describe the picture of differences."""
    return "For each two repairs and each horizon a mark with its interval, beside a line at no difference and one at the margin."


def compared_caption(margin: float, whom: str) -> str:
    """Say what the picture of differences shows."""
    return (
        f"Difference in the share with a recurrence after weighting, with 95% limits over patients; of {whom}. Left of nought the "
        f"repair named first has fewer recurrences, and words beside a mark speak of it. The dashed line is the protocol's margin of {contrast_points(margin)}."
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
        "Greatest absolute standardised difference between any two repairs, of each level but a covariate's commonest. Under 0.1 patients are commonly taken as alike in what "
        "was recorded; of what was not recorded nothing is known."
    )


def compared_arms_title() -> str:
    """Head the table of risks."""
    return "Recurrence after each repair, as seen and among patients alike"


def compared_arms_heads() -> tuple[str, ...]:
    """Head the table of risks."""
    return ("Repair", "By", "Groins", "Recurrences", "Still followed", "As seen", "Among patients alike")


def compared_arms_heads_few() -> tuple[str, ...]:
    """Head the table of risks where few recurrences may not leave."""
    return ("Repair", "By", "Groins, in tens", "Among patients alike")


def compared_arms_note(reference: str, warned: bool, exact: bool) -> str:
    """Stand under the table of risks."""
    dagger = " † few were followed so long: read with care." if warned else ""
    small = (
        ""
        if exact
        else " Without the data officers' consent risks that stand on few recurrences are not told."
    )
    return f"The other repairs are compared with {repair_word(reference)}.{dagger}{small}"


def few_recurrences_cell() -> str:
    """Stand in a table in place of what too few recurrences are behind."""
    return "few recurrences: not told"


def compared_pairs_title() -> str:
    """Head the table of differences."""
    return "Differences and what they show"


def compared_pairs_heads() -> tuple[str, ...]:
    """Head the table of differences."""
    return ("Repairs", "By", "As seen", "Among patients alike", "Ratio", "E-value (limit)", "What is shown")


def compared_pairs_heads_few() -> tuple[str, ...]:
    """Head the table of differences where few recurrences may not leave."""
    return ("Repairs", "By", "Among patients alike", "Ratio", "E-value (limit)", "What is shown")


def compared_pairs_note() -> str:
    """Stand under the table of differences."""
    return (
        "Differences in points (of 100 groins) with 95% limits; below nought fewer recurred after the repair named first. Of each "
        "two it is the one named first that has to show that it is not worse by the margin. The E-value is a risk ratio: something "
        "not recorded would have to go with the choice of repair and with recurrence, each at least so strongly, to explain the "
        "ratio away by itself (in brackets: to let its interval reach 1; there 1.0 means that the interval holds 1 already). A small "
        "one is soon explained away; a large one proves nothing."
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


def compared_cox_note() -> str:
    """Stand under the table of hazard ratios."""
    return (
        "Over the whole follow-up, beyond the horizons too; the limits take the weights as known. A small p speaks against one "
        "ratio for all times. What is shown rests on the risks above, not on these."
    )


def proportional_cell(p: float) -> str:
    """Write the test that a ratio stays the same."""
    return "not tested" if math.isnan(p) else p_value(p)


def compared_until_title(years: float) -> str:
    """Head the table on how time was reckoned."""
    return f"If those not seen again were well: differences within {followup_years(years)}"


def compared_until_heads() -> tuple[str, ...]:
    """Head the table on how time was reckoned."""
    return (
        "Repairs",
        "Followed to the last visit",
        "Taken as well to the data cut-off",
        "What that would show",
    )


def compared_until_note() -> str:
    """Stand under the table on how time was reckoned."""
    return (
        "Followed to the last visit, risks are too high where those with trouble come back and those without do not; taken "
        "as well to the cut-off they are too low, for a recurrence treated elsewhere is not known. Whether the truth lies between the two these records cannot tell, least of all for a difference. Those never seen after the operation are in the second only."
    )


def compared_method(told: str) -> str:
    """Say how the comparison was made."""
    return (
        f"{told} Overlap weights: Li & Li 2019; score limits of differences: Miettinen & Nurminen 1985. Non-inferiority is worded to "
        "the side that has to show it. Hazard ratios by Cox's model on the same weights, ties by Efron's way, tested for being the "
        "same over time (Grambsch & Therneau 1994). E-values: VanderWeele & Ding 2017."
    )


def compared_cannot(
    overlap: str, whom: str, answers: int, looks: int, years: float, notes: Sequence[str]
) -> tuple[str, ...]:
    """Say what the comparison cannot say."""
    several = (
        f"{capital(count(looks, 'difference'))} are looked at (each two repairs at each horizon), and no interval is widened for "
        f"that: some would exclude nought by chance. The answer is {'the one' if answers == 1 else f'the {answers}'} within "
        f"{followup_years(years)} against the reference; the others stand beside it to be read with it."
    )
    return (
        "Recurrence alone is compared. Pain, the testis, growth and what a mesh means over a lifetime are not weighed here.",
        "The risks of one repair differ from part to part of this report: here they are those of the patients who are compared, weighted "
        "towards those of whom any of the repairs might have been done; elsewhere all ages and types stand together, or each "
        "hospital counts as one.",
        "Nobody was allotted a repair. Surgeons choose by what they see and whom they treat; weights make alike what was "
        "recorded, and nothing else.",
        f"The comparison speaks of {whom}, and of nobody else. {overlap}.",
        "The approach is part of what a repair is and is not made alike unless the protocol names it.",
        "A groin is followed to its last visit. Who is troubled comes back and who is well may not, so that recurrence is told too "
        "high after every repair; and if one repair's patients come back more readily, the difference is theirs and not the repair's.",
        *((several,) if looks > answers > 0 else ()),
        *(f"{capital(note)}." for note in notes),
    )


def compared_not_counted(names: Sequence[str]) -> str:
    """Say what the protocol would have made alike and the tally does not hold."""
    return (
        f"{listed([COVARIATES.get(name, name) for name in names])} {'is' if len(names) == 1 else 'are'} not counted with "
        "follow-up and so not made alike"
    )


def difference_cell(difference: float, low: float, high: float) -> str:
    """Write a difference in points; its limits are not parted at a line's end."""
    if math.isnan(difference):
        return "–"
    return f"{number(100 * difference)} ({number(100 * low)}\u00a0to\u00a0{number(100 * high)})"


def risk_or_dash(risk: float, low: float, high: float, warned: bool = False) -> str:
    """Write a risk in a table, or a dash beyond the follow-up."""
    return "–" if math.isnan(risk) else risk_cell(risk, low, high, warned)


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
