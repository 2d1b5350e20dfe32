"""The part on hospitals pooled, in words: its sentence, tables, pictures, and what it cannot say."""

from __future__ import annotations

import math
from collections.abc import Sequence

from .followup import followup_years
from .numbers import capital, count, listed, number, p_value, percent, share_limits
from .outcomes import repair_word, repairs_word

Limits = tuple[float, float, float]


def pooling_heading() -> str:
    """Head the part on pooling."""
    return "Recurrence in one hospital and in another"


def pooling_together(hospitals: Sequence[str]) -> str:
    """Name hospitals that are told together because each alone is too small to be told."""
    return f"{count(len(hospitals))} smaller hospitals together"


def pooling_risk(told: Limits, one_sided: bool) -> str:
    """Write a pooled risk in a table or a sentence."""
    estimate, low, high = told
    if one_sided:
        return f"{percent(estimate)} (upper limit {percent(high)})"
    return f"{percent(estimate)} ({share_limits(low, high)})"


def pooling_sentence(
    years: float, told: Sequence[tuple[str, Limits, bool, int]], small: Sequence[str], least: int
) -> str:
    """Answer how often a recurrence follows each repair in a hospital like these."""
    kept = listed([repair_word(name) for name in small])
    if not told:
        return (
            "Hospitals cannot be pooled: no repair has two hospitals, or groups of them, that were followed and that may be "
            f"told apart ({least} people or more, and without consent as many recurrences or none)."
        )
    risks = listed(
        [
            f"{pooling_risk(risk, one_sided)} of {repairs_word(name)} ({count(hospitals, 'hospital')})"
            for name, risk, one_sided, hospitals in told
        ]
    )
    rest = f" Hospitals cannot be pooled for {kept}." if kept else ""
    return f"In a hospital in the middle of those like these, a recurrence follows {risks} within {followup_years(years)}.{rest}"


def pooling_spread(repair: str, p: float, prediction: tuple[float, float]) -> str:
    """Say how much hospitals differ after one repair, and where a further one would lie."""
    if math.isnan(prediction[0]):
        return "How much hospitals differ cannot be estimated."
    differ = (
        "Hospitals differ by more than chance" if p < 0.05 else "No difference between hospitals is shown"
    )
    return (
        f"{differ} ({p_value(p)}); a further one would most likely lie between {number(100 * prediction[0])} and "
        f"{percent(prediction[1])}."
    )


def pooling_differences(differ: Sequence[tuple[str, float]], alike: Sequence[tuple[str, float]]) -> str:
    """Say after which repairs hospitals differ."""

    def after(told: Sequence[tuple[str, float]]) -> str:
        return listed([f"{repair_word(name)} ({p_value(p)})" for name, p in told])

    parts = []
    if differ:
        parts.append(f"hospitals differ by more than chance after {after(differ)}")
    if alike:
        parts.append(
            f"no difference between hospitals is shown after {after(alike)}, which is not the same as none"
        )
    return f"{capital('; '.join(parts))}." if parts else ""


def pooling_grid_title(years: float) -> str:
    """Head the table of pools."""
    return f"Recurrence within {followup_years(years)}, pooled over hospitals"


def pooling_heads() -> tuple[str, ...]:
    """Head the table of pools."""
    return (
        "Repair",
        "Hospitals",
        "Recurrences",
        "Years followed",
        "Pooled (95% CI)",
        "A further hospital (95%)",
        "τ² (95% CI)",
        "I²",
    )


def pooling_between(tau2: float, low: float, high: float) -> str:
    """Write the variance between hospitals in a table."""
    if math.isnan(tau2):
        return "not known"
    top = "∞" if math.isinf(high) else number(high, 2)
    return f"{number(tau2, 2)} ({number(low, 2)}–{top})"


def pooling_ahead(low: float, high: float) -> str:
    """Write a prediction in a table."""
    return "not known" if math.isnan(low) else share_limits(low, high)


def pooling_share(value: float) -> str:
    """Write I² in a table."""
    return "not known" if math.isnan(value) else percent(value, 0)


def pooling_note(years: float, warnings: Sequence[str], joined: Sequence[str]) -> str:
    """Stand under the table of pools."""
    words = [
        f"Recurrences and years followed are those within {followup_years(years)} of operation.",
        *(f"{capital(text)}." for text in (*joined, *warnings)),
    ]
    return " ".join(words)


def pooling_warned(repair: str, warning: str) -> str:
    """Name the repair that a warning is about."""
    return f"{repair_word(repair)}: {warning}"


def pooling_joined(repair: str, hospitals: Sequence[str]) -> str:
    """Say which hospitals stand together."""
    return f"after {repair_word(repair)}, {listed(hospitals)} stand together, each being too small to be told alone"


def pooling_ways_title(years: float) -> str:
    """Head the table of other ways to pool."""
    return f"Recurrence within {followup_years(years)}, pooled in other ways"


def pooling_ways_heads(repairs: Sequence[str]) -> tuple[str, ...]:
    """Head the table of other ways to pool."""
    return ("Way", *(capital(repair_word(name)) for name in repairs))


def pooling_way(name: str, years: float) -> str:
    """Name a way to pool."""
    return {
        "rates": "Poisson–normal on recurrences and years followed (told above)",
        "worth": "Binomial–normal on groins' worth of follow-up",
        "reml": "Inverse variance, REML, Hartung–Knapp, on groins' worth of follow-up",
        "well": "Poisson–normal, everybody else taken as well until the data cut-off",
        "known": f"Binomial–normal, only groins with a recurrence or followed for all {followup_years(years)}",
    }[name]


def pooling_ways_note(years: float, halved: bool, known: bool) -> str:
    """Stand under the table of other ways to pool."""
    half = (
        " For inverse variance ½ was added where a hospital had no recurrence: the models on the counts need no such correction."
        if halved
        else ""
    )
    selects = (
        f" The last way leaves out who was not followed for all {followup_years(years)} unless something went wrong: it selects "
        "the recurrences, and is shown to say by how much that misleads."
        if known
        else ""
    )
    return (
        f"Groins' worth of follow-up: as many groins followed for all {followup_years(years)} as would give the same recurrences "
        f"at the same rate.{half}{selects}"
    )


def pooling_left_title() -> str:
    """Head the table with each hospital left out."""
    return "The pool with each hospital left out"


def pooling_left_heads(repairs: Sequence[str]) -> tuple[str, ...]:
    """Head the table with each hospital left out."""
    return ("Without", *(capital(repair_word(name)) for name in repairs))


def pooling_left_note(most: Sequence[tuple[str, str, float, float]]) -> str:
    """Say which hospital matters most to each pool."""
    return " ".join(
        f"{capital(repair_word(repair))}: {hospital} matters most, without it {percent(without)} instead of {percent(whole)}."
        for repair, hospital, without, whole in most
    )


def pooling_picture_title(repair: str, years: float) -> str:
    """Head the picture of hospitals and their pool."""
    return f"Recurrence within {followup_years(years)} of {repair_word(repair)}, by hospital"


def pooling_picture_alt(repair: str, hospitals: int, told: Limits) -> str:
    """Describe the picture of hospitals to those who cannot see it."""
    return (
        f"{count(hospitals, 'hospital')} with limits, one under the other, and their pool after {repair_word(repair)}: "
        f"{pooling_risk(told, False)}."
    )


def pooling_picture_caption(years: float, others: Sequence[str]) -> str:
    """Say what the picture of hospitals shows."""
    more = f" {capital(listed([repair_word(name) for name in others]))} stand in the table." if others else ""
    return (
        f"Exact 95% limits of each hospital. Events are recurrences within {followup_years(years)}, groins all that were followed "
        "at all; the share allows for how long they were, so it is not the one over the other. Weight: 1/(τ² + v) in the "
        f"Poisson–normal model.{more}"
    )


def pooling_followed(years: float) -> str:
    """Write follow-up beside a hospital."""
    return f"{number(years, 0)} groin-years"


def funnel_title(repair: str, years: float) -> str:
    """Head the picture of hospitals against their size."""
    return f"Hospitals against their size: recurrence within {followup_years(years)} of {repair_word(repair)}"


def funnel_alt(outside: Sequence[str]) -> str:
    """Describe the picture of hospitals against their size."""
    where = f"{listed(outside)} outside" if outside else "all inside"
    return (
        f"Hospitals as points by groins' worth of follow-up and recurrence, {where} the 95% control limits."
    )


def funnel_caption(centre: float, hospitals: int, outside: Sequence[str], left_out: Sequence[str]) -> str:
    """Say what the picture of hospitals against their size shows, and what it does not."""
    about = f"the 95% control limits about the common {percent(centre)}"
    lie = "lies" if len(outside) == 1 else "lie"
    told = (
        f"{listed(outside)} {lie} outside {about}; of {count(hospitals, 'hospital')} about {number(0.05 * hospitals)} would by "
        "chance alone"
        if outside
        else f"All {count(hospitals, 'hospital')} shown lie within {about}"
    )
    careful = (
        " Case mix, who is followed and how a recurrence is looked for may do that: it says nothing about skill."
        if outside
        else " Hospitals within the limits are not thereby alike: small ones could hide much."
    )
    few = (
        f" {listed(left_out)} {'is' if len(left_out) == 1 else 'are'} left out: with so little follow-up a single recurrence would "
        "lie outside."
        if left_out
        else ""
    )
    return f"{told}.{careful}{few}"


def funnel_axes(years: float) -> tuple[str, str]:
    """Title the axes of the picture of hospitals against their size."""
    return (
        f"Follow-up, in groins' worth of {followup_years(years)}",
        f"Share with a recurrence within {followup_years(years)}",
    )


def published_title(title: str) -> str:
    """Head the picture of published series."""
    return f"Published beside this study: {title}"


def published_alt(rows: int, own: int) -> str:
    """Describe the picture of published series."""
    return f"{count(rows, 'published number')} with limits, one under the other, beside {count(own, 'number')} of this study."


def published_caption(told: str, ages: str, years: float, warnings: Sequence[str]) -> str:
    """Say what the picture of published series shows."""
    warned = "".join(f" {capital(text)}." for text in warnings)
    return (
        f"{told}.{warned} This study's numbers are pooled over its hospitals at operation {ages}, recurrence within "
        f"{followup_years(years)}, with 95% limits. Published ones are as printed, with their own patients, length of follow-up "
        "and ways of looking for a recurrence: side by side is no comparison."
    )


def published_own(repair: str) -> str:
    """Label this study's own number beside published ones."""
    return f"This study, {repair_word(repair)}"


def published_pool() -> str:
    """Label the pool of published series."""
    return "Published series pooled"


def published_cannot(title: str, why: str) -> str:
    """Say that a table of series could not be pooled."""
    return f"The series of “{title}” could not be pooled: {why}."


def published_ages(ages: tuple[float, float] | None) -> str:
    """Say at which ages this study's numbers beside published ones were operated."""
    if ages is None:
        return "at any age"
    low, high = (number(age, 0 if age == round(age) else 1) for age in ages)
    return f"from {low} to under {high} years"


def pooling_further() -> str:
    """Label the prediction for a further hospital."""
    return "A further hospital"


def pooling_method(years: float) -> str:
    """Say how hospitals were pooled, for the method note."""
    return (
        f"Recurrences and years of follow-up within {followup_years(years)} of operation are pooled by the Poisson–normal model "
        "(Stijnen, Hamza & Özdemir 2010), adaptive Gauss–Hermite quadrature, profile-likelihood limits, and told as the risk that "
        f"the pooled rate gives by {followup_years(years)}, as if nobody died and the rate were the same in each of these years; "
        "a hospital without a recurrence stays as it is, nothing is added. τ² is the variance of the log rate between hospitals with "
        "profile-likelihood limits, I² its share of all variance, the prediction has k − 1 degrees of freedom (Higgins, Thompson & Spiegelhalter "
        "2009). Beside it stand the binomial–normal model (Hamza, van Houwelingen & Stijnen 2008) and inverse variance by "
        "REML with Hartung–Knapp limits. Control limits are exact binomial ones, interpolated (Spiegelhalter 2005). Hospitals are not redrawn: "
        "with fewer than 20 a bootstrap over hospitals says little. Nothing is adjusted for."
    )


def pooling_cannot() -> tuple[str, ...]:
    """Say what a pool of hospitals cannot say."""
    return (
        "A pool is of hospitals that took part; a hospital that did not may be unlike all of them.",
        "Where those who are well stay away, what was seen overstates the risk in every hospital, and pooling does not mend that; "
        "taking all others as well until the data cut-off understates it.",
        "Hospitals differ in whom they take, how long they follow and how they look for a recurrence: a spread between them is not "
        "a spread in skill.",
    )


def pooling_estimand(repair: str, years: float) -> str:
    """Say what a pooled risk is a risk of."""
    return (
        f"share with a recurrence within {followup_years(years)} of {repair_word(repair)} in a hospital in the middle of those "
        "like these"
    )


def pooling_finding(
    repair: str, years: float, told: Limits, one_sided: bool, hospitals: int, events: str, spread: str
) -> str:
    """Write a finding on a pool as a sentence."""
    return (
        f"{capital(repair_word(repair))}, pooled over {count(hospitals, 'hospital')}: {pooling_risk(told, one_sided)} with a "
        f"recurrence within {followup_years(years)} ({events} recurrences). {spread}"
    )


def published_finding(title: str, text: str) -> str:
    """Write a finding on published series as a sentence."""
    return f"{title}, published series: {text}."


def published_estimand(title: str) -> str:
    """Say what a pooled published share is a share of."""
    return f"share with a recurrence, published series pooled: {title}"


def published_cells(title: str) -> str:
    """Name where published numbers came from."""
    return f"[[series]] {title}"
