"""Every number and sentence that a person reads is formatted here and nowhere else.

Numbers come in plain and go out as text: one place decides the digits, the minus sign, the dash of an
interval and the word for a share. Other parts add their sentences here rather than write f-strings of their
own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

CAUTION = (
    "For research and teaching; not a medical device; it does not advise on a patient; "
    "follow local guidance and the judgement of licensed clinicians."
)
"""Stands on every page, paper and slide that says anything on operations (design, section 8)."""


def number(value: float, digits: int = 1) -> str:
    """Write a number with a true minus sign and thin thousands: ``-1234.5`` is ``−1,234.5``."""
    if math.isnan(value):
        return "not known"
    if math.isinf(value):
        return "∞" if value > 0 else "−∞"
    text = f"{abs(value):,.{digits}f}"
    negative = value < 0 and float(text.replace(",", "")) != 0
    return f"−{text}" if negative else text


def count(value: int, one: str = "", many: str = "") -> str:
    """Write a count, with its noun when given: ``count(1, "case")`` is ``1 case``."""
    noun = one if value == 1 else (many or (one + "s" if one else ""))
    return f"{value:,} {noun}".strip()


def percent(share: float, digits: int = 1) -> str:
    """Write a share (0 to 1) in per cent: ``0.1234`` is ``12.3%``."""
    return "not known" if math.isnan(share) else f"{number(100 * share, digits)}%"


def age(years: float, digits: int = 1) -> str:
    """Write an age in years: ``14.62`` is ``14.6``."""
    return number(years, digits)


def interval(low: float, high: float, digits: int = 1, unit: str = "") -> str:
    """Write two limits with an en dash; an open side is told in words."""
    if math.isinf(low) and math.isinf(high):
        return "anywhere"
    if math.isinf(low):
        return f"up to {number(high, digits)}{unit}"
    if math.isinf(high):
        return f"{number(low, digits)}{unit} or more"
    return f"{number(low, digits)}–{number(high, digits)}{unit}"


def listed(items: Sequence[str]) -> str:
    """Join words as a sentence does: ``a, b and c``."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} and {items[-1]}"


def proportion(
    share: float, low: float, high: float, events: float, total: float, level: float, one_sided: bool = False
) -> str:
    """Write a share with its limits and counts: ``6.0% (95% CI 3.7–9.5%; 16 of 267)``."""
    counted = f"{events:,.10g} of {total:,.10g}"
    if one_sided:
        return f"{percent(share)} (one-sided {level:.0%} upper limit {percent(high, 2)}; {counted})"
    return f"{percent(share)} ({level:.0%} CI {number(100 * low)}–{percent(high)}; {counted})"


def share_difference(difference: float, low: float, high: float, level: float) -> str:
    """Write a difference of two shares in points: ``20.0 points (95% CI 5.2 to 33.4)``."""
    return f"{number(100 * difference)} points ({level:.0%} CI {number(100 * low)} to {number(100 * high)})"


def p_value(p: float) -> str:
    """Write a p-value: ``p = 0.034``, and ``p < 0.001`` below that."""
    if math.isnan(p):
        return "p not computed"
    return "p < 0.001" if p < 0.001 else f"p = {p:.3f}"


def dip(statistic: float, p: float, n: int) -> str:
    """Write a dip test: ``Dip 0.0924 of 272 cases (p < 0.001)``."""
    return f"Dip {statistic:.4f} of {count(n, 'case')} ({p_value(p)} against one hump)"


def rate(value: float, low: float, high: float, level: float) -> str:
    """Write a rate: ``56.3 per 100,000 person-years (95% CI 50.9–62.2)``."""
    return f"{number(value)} per 100,000 person-years ({level:.0%} CI {interval(low, high)})"


def standardised_rate(value: float, low: float, high: float, level: float) -> str:
    """Write a directly standardised rate with its limits."""
    return f"{rate(value, low, high, level)}, directly standardised"


def humps(ages: Sequence[float], troughs: Sequence[float], unit: str = "years") -> str:
    """Write where the humps of the ages are: ``Two humps, at 0.4 and 71.2 years, with a trough at 14.8``."""
    if not ages:
        return "No hump"
    where = listed([age(a) for a in ages])
    if len(ages) == 1:
        return f"One hump, at {where} {unit}"
    many = {2: "Two", 3: "Three", 4: "Four", 5: "Five"}.get(len(ages), str(len(ages)))
    trough = "a trough" if len(troughs) == 1 else "troughs"
    return f"{many} humps, at {where} {unit}, with {trough} at {listed([age(a) for a in troughs])}"


def silverman(modes: int, bandwidth: float, p: float) -> str:
    """Write Silverman's test: ``More than 1 hump? Critical bandwidth 2.40 (p = 0.080)``."""
    return f"More than {count(modes, 'hump')}? Critical bandwidth {number(bandwidth, 2)} ({p_value(p)})"


def curve(cases: float, direct: float, hospitals: int, edf: float) -> str:
    """Write what a smooth curve rests on."""
    where = count(hospitals, "hospital")
    return (
        f"Smooth curve of the direct share by age with {number(edf)} effective degrees of freedom "
        f"({count(round(direct))} direct of {count(round(cases), 'case')}, {where})"
    )


def band(kind: str, level: float, critical: float) -> str:
    """Write what a band covers: ``95% simultaneous band, 2.91 standard errors either side on the logit``."""
    return f"{level:.0%} {kind} band, {number(critical, 2)} standard errors either side on the logit"


def steepest(
    at: float, limits: tuple[float, float], points: float, points_limits: tuple[float, float], level: float
) -> str:
    """Write the age of the steepest growth, in points a year."""
    return (
        f"Steepest at {age(at)} ({level:.0%} CI {interval(*limits)}): "
        f"+{number(points, 2)} points a year ({number(points_limits[0], 2)} to {number(points_limits[1], 2)})"
        if points >= 0
        else f"Falls least at {age(at)} ({level:.0%} CI {interval(*limits)}): {number(points, 2)} points a year"
    )


def isotonic(youngest: float, oldest: float, steps: int) -> str:
    """Write a share that never falls."""
    return f"Share that never falls, from {percent(youngest)} to {percent(oldest)} in {count(steps, 'level')}"


def crossing(
    threshold: float, at: float, limits: tuple[float, float], level: float, lowest: float, highest: float
) -> str:
    """Write when the direct share first reaches a threshold; not reaching it is an answer."""
    share = percent(threshold, 0 if round(100 * threshold, 6) == round(100 * threshold) else 1)
    if math.isinf(at):
        told = f"The direct share does not reach {share} by {age(highest, 0)}"
        if at < 0:
            told = f"The direct share is {share} or more already at {age(lowest, 0)}"
    else:
        told = f"The direct share reaches {share} at {age(at)}"
    if math.isnan(limits[0]) or math.isnan(limits[1]):
        return told
    low, high = limits
    if low == high:
        span = f"{level:.0%} CI: likewise"
    elif math.isinf(low) and math.isinf(high) and low < high:
        span = f"{level:.0%} CI: any age from {age(lowest, 0)} to {age(highest, 0)}, or none of them"
    elif math.isinf(high):
        span = f"{level:.0%} CI {age(low)} or later, or not by {age(highest, 0)}"
    elif math.isinf(low):
        span = f"{level:.0%} CI {age(high)} or earlier, or already at {age(lowest, 0)}"
    else:
        span = f"{level:.0%} CI {interval(low, high)}"
    return f"{told} ({span})"


def bootstrap(replicates: int, patients: float, audited: int, mismatches: int) -> str:
    """Write how many replicates there were, and how many of those audited missed the global maximum."""
    drawn = f"{count(replicates, 'bootstrap replicate')} over {count(round(patients), 'patient')}"
    if audited == 0:
        return f"{drawn}, none audited"
    return (
        f"{drawn}; {audited:,} audited for the global maximum, "
        f"{count(mismatches, 'mismatch', 'mismatches')} ({percent(mismatches / audited)})"
    )


def shape(turns: Sequence[float], changes: Sequence[float]) -> str:
    """Write a simulated shape's turns: ``Turns up at 14.0, down at 18.5 and up at 40.0 years``."""
    if not turns:
        return "No turn"
    told = [
        f"{'up' if change > 0 else 'down'} at {age(turn)}"
        for turn, change in zip(turns, changes, strict=True)
    ]
    return f"{'Turn' if len(turns) == 1 else 'Turns'} {listed(told)} years"


def simulated(groins: int, direct: int) -> str:
    """Write how many groins were simulated and how many of them are direct."""
    return f"{count(groins, 'simulated groin')}, {direct:,} of them direct"


def tally(groins: int, patients: int, cells: int, patterns: int) -> str:
    """Say what a tally holds."""
    return (
        f"{count(groins, 'groin')} of {count(patients, 'patient')} "
        f"in {count(cells, 'cell')} and {count(patterns, 'pattern')}"
    )


def age_rows(direct: int, groins: int, hospitals: int) -> str:
    """Say what the rows of an age tally hold."""
    share = percent(direct / groins) if groins else "none"
    return (
        f"{count(direct)} direct among {count(groins, 'groin')} ({share}) of {count(hospitals, 'hospital')}"
    )


def age_span(low: float, high: float) -> str:
    """Write the ages of one bin: ``17.5–18.0 years``, or ``45–46 years`` when both are whole."""
    return interval(low, high, 0 if low == round(low) and high == round(high) else 1, " years")


def share_limits(low: float, high: float) -> str:
    """Write the limits of a share in per cent: ``8.9–16.1%``."""
    return f"{number(100 * low)}–{percent(high)}"


_DELIMITERS = {";": "semicolons", ",": "commas", "\t": "tabs", "|": "vertical bars"}


def detected_encoding(file: str, encoding: str, why: str) -> str:
    """Say how a file's text is encoded, and why that was taken."""
    return f"{file}: text in {encoding.removesuffix('-sig')}; {why}"


def detected_delimiter(file: str, delimiter: str, held: int, expected: int) -> str:
    """Say what parts the cells, and what speaks for it."""
    name = _DELIMITERS.get(delimiter, repr(delimiter))
    found = f"with them {count(held)} of {count(expected, 'mapped column')} are found"
    return f"{file}: cells parted by {name}; {found if held else 'steadiest width'}"


def detected_header(file: str, row: int) -> str:
    """Say in which row the column names stand."""
    return f"{file}: column names in row {count(row)}"


def detected_decimal(file: str) -> str:
    """Say that decimals are written with a comma."""
    return f"{file}: decimal comma; numbers such as 3,4 stand in cells of their own"


def detected_nul(file: str) -> str:
    """Say that NUL characters were left out."""
    return f"{file}: holds NUL characters, which were left out"


def detected_sheet(file: str, sheet: str, held: int, expected: int) -> str:
    """Say which sheet was taken and why."""
    found = f"{count(held)} of {count(expected, 'mapped column')} are found there"
    return f"{file}: sheet {sheet}; {found}, more than on any other"


def detected_parquet(file: str) -> str:
    """Say that a file is Parquet."""
    return f"{file}: Parquet, by its first and last bytes"


def detected_date_order(column: str, order: str, count_of: int) -> str:
    """Say in which order dates stand, and how many of them could be read in no other."""
    names = {"d": "day", "m": "month", "y": "year"}
    order_words = ", ".join(names[letter] for letter in order)
    return f"column {column}: dates as {order_words}; {count(count_of, 'date')} can be read in no other order"


def detected_borrowed_order(column: str, order: str) -> str:
    """Say that a column's dates are read as those of the other columns."""
    names = {"d": "day", "m": "month", "y": "year"}
    return (
        f"column {column}: dates as {', '.join(names[letter] for letter in order)}, as in the other columns"
    )


def detected_decimal_ages(file: str) -> str:
    """Say that whole numbers among decimal ages are not whole years."""
    return f"{file}: ages are decimal, so a whole number among them is not the middle of a year"


def records_read(hospital: str, rows: int, groins: int, cases: int, set_aside: int) -> str:
    """Say what intake made of one hospital's files."""
    return (
        f"{hospital}: {count(rows, 'row')}, {count(groins, 'groin')}, of which "
        f"{count(cases, 'case')} and {count(set_aside)} set aside"
    )


# The answer: sentences that a report opens with, built from findings.


def paragraphs(sentences: Sequence[str]) -> str:
    """Set sentences under each other, as a terminal shows them."""
    return "\n".join(sentences)


def headline_cases(direct: int, total: int, who: str, hospitals: int) -> str:
    """Say what the headline rests on."""
    return (
        f"Among {count(total)} {who} from {count(hospitals, 'hospital')}, {count(direct)} "
        f"({percent(direct / total)}) were direct."
        if total
        else f"There are no {who}."
    )


def turn(number_: int, sign: int, at: float, stretches: Sequence[tuple[float, float]], level: float) -> str:
    """Write a turn with its interval: ``turns up at 14.6 years (95% CI 13.1–16.0)``."""
    way = "up" if sign > 0 else "down"
    spans = " or ".join(interval(low, high) for low, high in stretches) or "not known"
    return f"turn {number_}, {way}: {age(at)} years ({level:.0%} CI {spans})"


def first_turn_up(at: float, stretches: Sequence[tuple[float, float]], level: float) -> str:
    """Say where the direct share first begins to grow faster."""
    spans = " or ".join(interval(low, high) for low, high in stretches)
    return f"The direct share begins to climb at {age(at)} years ({level:.0%} CI {spans})."


def no_turn_up() -> str:
    """Say that no upward turn was found."""
    return "The records show no age at which the direct share begins to climb faster."


def turn_not_identified(at: float) -> str:
    """Say that an upward turn cannot be told from none."""
    return (
        f"An upward turn of the direct share fits best at {age(at)} years, but these records cannot tell it from "
        "no turn: it is not identified."
    )


def climb(odds_per_year: float, points_per_year: float, since: float, until: float) -> str:
    """Tell a slope on both scales: odds a year and points a year."""
    rising = "multiply" if odds_per_year >= 1 else "shrink"
    sign = "+" if points_per_year >= 0 else ""
    return (
        f"From {age(since)} to {age(until)} years the odds of a direct hernia {rising} by "
        f"{number(odds_per_year, 2)} each year ({sign}{number(points_per_year)} points a year)."
    )


def further_turns(told: Sequence[str]) -> str:
    """List the turns that follow the headline one."""
    return f"Further along it turns {listed(told)}." if told else ""


def further_turn(sign: int, at: float, stretches: Sequence[tuple[float, float]], identified: bool) -> str:
    """Write one further turn: ``up at 40.1 (36.0–43.9)``."""
    spans = " or ".join(interval(low, high) for low, high in stretches)
    doubt = "" if identified else ", not identified"
    return f"{'up' if sign > 0 else 'down'} at {age(at)} ({spans}{doubt})"


def crossing_headline(
    threshold: float, at: float, low: float, high: float, level: float, highest: float
) -> str:
    """Say when the direct share first reaches the headline threshold."""
    told = crossing(threshold, at, (low, high), level, 0, highest)
    return f"{told.replace(' at ', ' at ', 1)}."


def crossing_by_curve(at: float, low: float, high: float) -> str:
    """Set the smooth curve's crossing beside the hinge's."""
    if not math.isfinite(at):
        return "The smooth curve, which assumes no bend, does not reach it."
    return f"The smooth curve, which assumes no bend, puts that at {age(at)} ({interval(low, high)})."


def two_humps(told: str, with_all: Sequence[str], hospitals: int, rates: bool) -> str:
    """Tell the humps of the ages, and how far pooling alone could have made them."""
    if not told.startswith(("Two", "Three", "Four")):
        return f"{told} in the ages at repair."
    if with_all:
        within = (
            f"{listed(list(with_all))} alone {'shows' if len(with_all) == 1 else 'show'} as many"
            if len(with_all) < hospitals
            else "every hospital alone shows as many"
        )
    else:
        within = "no hospital alone shows as many, so pooling may have made them"
    by_rate = "" if rates else "; without population denominators the pooled counts cannot settle it"
    return f"{told}, in the ages at repair; {within}{by_rate}."


def accounting(read: int, cases: int, aside: int) -> str:
    """Tell that every groin is accounted for."""
    return (
        f"{count(read, 'groin was', 'groins were')} read from the exports: {count(cases, 'case')} and "
        f"{count(aside)} set aside, each with its reason."
    )


def invented_study(groins: int, hospitals: int, planted: int) -> str:
    """Write what an invented study holds."""
    return (
        f"An invented study of {count(groins, 'groin')} at {count(hospitals, 'hospital')}, "
        f"with {count(planted, 'planted error')}"
    )


def estimate(value: float, low: float, high: float, unit: str) -> str:
    """Write an estimate with its interval in its unit: ``14.2 years (12.9–15.6)``; an open side is told in words."""
    if unit == "share":
        told, limits = percent(value), share_limits(low, high)
    else:
        digits = 0 if unit in ("cases", "groins", "patients", "rows") else 2 if "ratio" in unit else 1
        told, limits = f"{number(value, digits)} {unit}", interval(low, high, digits)
    if math.isnan(low) or math.isnan(high):
        return told
    return f"{told} ({limits})"


def method_told(method: str, level: float, replicates: int | None, seed: int | None) -> str:
    """Write how a number was made, with its level, replicates and seed: what a re-run needs."""
    more = [f"{level:.0%} interval"]
    if replicates is not None:
        more.append(count(replicates, "replicate"))
    if seed is not None:
        more.append(f"seed {seed}")
    return f"{method} ({', '.join(more)})"


def standing(planned: bool, headline: bool) -> str:
    """Write whether a number was planned before the outcome was counted, and whether it is a headline."""
    return ("planned" if planned else "exploratory") + (", headline" if headline else "")


def closer(title: str, span: str) -> str:
    """Write the heading of a picture seen closer: ``Direct share by age: 5–30 years``."""
    return f"{title}: {span} seen closer"


def closer_caption(span: str) -> str:
    """Write the note under a picture seen closer."""
    return f"The same data, fit and marks as in the picture before, only {span}."
