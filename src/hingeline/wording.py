"""Every number and sentence that a person reads is formatted here and nowhere else.

Numbers come in plain and go out as text: one place decides the digits, the minus sign, the dash of an
interval and the word for a share. Other parts add their sentences here rather than write f-strings of their
own.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

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


def bootstrap(replicates: int, patients: float, audited: int, mismatches: int, undecided: int = 0) -> str:
    """Write how many replicates there were, and how many of those audited missed the global maximum."""
    drawn = f"{count(replicates, 'bootstrap replicate')} over {count(round(patients), 'patient')}"
    if audited == 0:
        return f"{drawn}, none audited"
    left = f", {undecided:,} undecided" if undecided else ""
    return (
        f"{drawn}; {audited:,} audited for the global maximum, "
        f"{count(mismatches, 'mismatch', 'mismatches')} ({percent(mismatches / audited)}){left}"
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


def few(n: int, least: int) -> str:
    """Write a count that may leave: exact from the minimum up (and nought), else ``fewer than 5``."""
    return f"fewer than {least}" if 0 < n < least else count(n)


def who(sex: str) -> str:
    """Name the people of a sex: ``boys and men``."""
    return {"male": "boys and men", "female": "girls and women"}[sex]


def type_word(kind: str) -> str:
    """Name a hernia's type in a list."""
    return "type unknown" if kind == "unknown" else kind


def reason_word(reason: str) -> str:
    """Name why a groin was operated, in a list."""
    return {"hydrocele": "hydrocele alone"}.get(reason, reason)


def occurrence_word(occurrence: str) -> str:
    """Name an occurrence in a list."""
    return f"{occurrence} hernia"


def flow_heading() -> str:
    """Head the part on records."""
    return "Where every groin went"


def flow_title() -> str:
    """Title the flow diagram."""
    return "From exports to the headline cases"


def flow_rows() -> str:
    """Label the first box of the flow."""
    return "Rows in the exports"


def flow_read() -> str:
    """Label the groins read."""
    return "Groins read"


def flow_cases() -> str:
    """Label the cases."""
    return "Cases: groins operated once"


def flow_aside(reasons: dict[str, int], most: int, least: int) -> str:
    """Label what was set aside, the commonest reasons first."""
    ordered = sorted(reasons.items(), key=lambda item: -item[1])
    told = [f"{name} {few(n, least)}" for name, n in ordered[:most]]
    rest = sum(n for _, n in ordered[most:])
    if rest:
        told.append(f"other reasons {few(rest, least)}")
    return f"Set aside: {'; '.join(told)}" if told else "Set aside"


def flow_outside(reasons: dict[str, int], least: int) -> str:
    """Label the cases that the headline leaves out."""
    return f"Outside the headline: {'; '.join(f'{name} {few(n, least)}' for name, n in reasons.items())}"


def flow_headline(people: str) -> str:
    """Label the headline cases."""
    return f"Headline: primary hernias of known type, {people}"


def flow_alt(rows: int, read: int, aside: int, cases: int, headline: int) -> str:
    """Describe the flow diagram for those who cannot see it."""
    return (
        f"Flow diagram. {count(rows, 'row')} in the exports hold {count(read, 'groin')}; {count(aside)} were set "
        f"aside and {count(cases)} became cases, of which the headline rests on {count(headline)}."
    )


def flow_caption() -> str:
    """Caption the flow diagram."""
    return "Groins read = cases + set aside; each groin stands under the first reason that holds."


def flow_method() -> str:
    """Say how the records were counted."""
    return (
        "A case is one groin, operated once; a bilateral operation is two cases of one patient. Each count is "
        "taken where it arises and the balance is checked at every run. What was set aside stands, row by row, "
        "in a list that never leaves the hospital."
    )


def flow_grid_title() -> str:
    """Title the table of records by hospital."""
    return "Records by hospital"


def flow_heads() -> tuple[str, ...]:
    """Head the table of records by hospital."""
    return ("Hospital", "Rows read", "Groins read", "Set aside", "Cases")


def aside_grid_title() -> str:
    """Title the table of reasons."""
    return "Why groins were set aside"


def aside_heads() -> tuple[str, ...]:
    """Head the table of reasons."""
    return ("Reason", "Groins")


def aside_note() -> str:
    """Note under the table of reasons."""
    return "Each groin is counted once, under the first rule that it breaks."


def found_turn(sign: int, at: float, stretches: Sequence[tuple[float, float]], level: float) -> str:
    """Write one turn alone: ``Turn up at 14.6 years (95% CI 13.1–16.0)``."""
    told = f"Turn {'up' if sign > 0 else 'down'} at {age(at)} years"
    if not stretches:
        return told
    spans = " or ".join(interval(low, high) for low, high in stretches)
    return f"{told} ({level:.0%} CI {spans})"


def unidentified_turn(sign: int, at: float) -> str:
    """Write a turn that cannot be told from none."""
    return f"Turn {'up' if sign > 0 else 'down'} best at {age(at)} years, but not identified"


def hinge_fit(turns: Sequence[str], climbs: Sequence[str], directs: int, total: float, rates: bool) -> str:
    """Write a hinge fit: what it rests on, its turns, and the slope of each stretch."""
    seen = (
        f"{count(directs, 'event')} in {number(total, 0)} person-years"
        if rates
        else f"{count(directs, 'direct hernia')} of {count(round(total), 'groin')}"
    )
    head = listed([*turns[:1], *(turn[0].lower() + turn[1:] for turn in turns[1:])]) or "No turn"
    return " ".join([f"{head}; {seen}.", *climbs])


def chosen_turns(by_bic: int, by_test: int, tested: bool) -> str:
    """Say how many turns were chosen, and whether the bootstrap test says the same."""
    told = f"The criterion chooses {count(by_bic, 'turn')}"
    if not tested:
        return f"{told}."
    if by_bic == by_test:
        return f"{told}, and so does the bootstrap test."
    return f"{told}, the bootstrap test {by_test}: they disagree."


def setting(name: str) -> str:
    """Name a hospital's setting."""
    return {"children": "children's hospital", "general": "general hospital", "all ages": "all ages"}[name]


def cells_of(conditions: dict[str, Sequence[str]]) -> str:
    """Name the cells of the tally that a number came from."""
    return "; ".join(f"{name} = {' or '.join(values)}" for name, values in conditions.items())


def ages_heading() -> str:
    """Head the part on the ages at repair."""
    return "Ages at repair"


def ages_method(dip_told: str, silverman_told: str, bandwidth: float) -> str:
    """Say how the humps were found and tested."""
    return (
        f"Kernel density of the ages (Gaussian, standard deviation {number(bandwidth)} years, reflected at the ends "
        "of the ages taken; Silverman 1986), the humps' limits by resampling the cases; a hump counts when it rises "
        f"by three standard errors above its troughs. {dip_told} (Hartigan & Hartigan 1985). {silverman_told} "
        "(Silverman 1981)."
    )


def ages_cannot(rates: bool) -> tuple[str, ...]:
    """List what the ages at repair cannot say."""
    told = [
        "Operated is not diseased: these are ages at repair, not ages at which hernias arise.",
        "A cross-section is not a life course: nobody here was followed from one hump to the other.",
    ]
    if not rates:
        told.append(
            "Two humps in pooled counts may only mean that a children's and a general hospital were pooled; "
            "population denominators would settle it."
        )
    return tuple(told)


def hump_estimand(kind: str) -> str:
    """Say what a hump's age is."""
    return f"age of a {kind} of the ages at repair"


def hump_method() -> str:
    """Say how a hump's age and its limits were found."""
    return "kernel density reflected at the ends, multinomial resampling of the cases (Silverman 1986)"


def hump_sentence(kind: str, at: float, low: float, high: float) -> str:
    """Write one hump or trough."""
    return f"A {kind} of the ages at repair lies at {age(at)} years{_bracketed(low, high)}."


def hump_label(kind: str, at: float, low: float, high: float) -> str:
    """Label a hump or trough in a picture."""
    return f"{kind} {age(at)} years"


def _bracketed(low: float, high: float) -> str:
    return "" if math.isnan(low) or math.isnan(high) else f" (95% CI {interval(low, high)})"


def repairs_title() -> str:
    """Title the picture of repairs by age."""
    return "Groin hernia repairs by age and type"


def repairs_alt(n: int, humps_told: str) -> str:
    """Describe the picture of repairs by age."""
    return f"Repairs a year of age, stacked by type, {count(n, 'groin')}. {humps_told}."


def repairs_caption(least: int) -> str:
    """Caption the picture of repairs by age."""
    return (
        "Groins operated for a hernia, per year of age, both sexes, all hospitals. Neighbouring ages are merged until "
        f"at least {least} people stand in each stretch of each type."
    )


def hospitals_title() -> str:
    """Title the small pictures of repairs by hospital."""
    return "The same in each hospital"


def hospitals_alt(names: Sequence[str]) -> str:
    """Describe the small pictures of repairs by hospital."""
    return f"Repairs a year of age, one small picture for each of {listed(list(names))}."


def hospitals_caption(least: int) -> str:
    """Caption the small pictures of repairs by hospital."""
    return (
        "Shaded: ages that the hospital does not take. A trough at the age of handing on is made by hospitals, not by "
        f"the disease. At least {least} people in each stretch."
    )


def all_hospitals() -> str:
    """Name the pool."""
    return "All hospitals"


def humps_grid_title() -> str:
    """Title the table of humps."""
    return "Humps and troughs"


def humps_heads() -> tuple[str, ...]:
    """Head the table of humps."""
    return ("Hospital", "Groins", "Humps (years)", "Troughs (years)")


def ages_listed(ages: Sequence[tuple[float, float, float]]) -> str:
    """List ages with limits in a cell: ``0.7 (0.6–0.9); 71.2 (70.1–72.4)``."""
    told = [age(at) if math.isnan(low) else f"{age(at)} ({interval(low, high)})" for at, low, high in ages]
    return "; ".join(told) or "none"


# The part on the direct share.


def share_heading() -> str:
    """Head the part on the direct share."""
    return "The share of direct hernias by age"


def headline_who(occurrence: str, sex: str) -> str:
    """Name the headline's cases."""
    return f"{occurrence} groin hernias of known type in {who(sex)}"


def overall_estimand() -> str:
    """Say what the overall share is."""
    return "share of direct hernias among the headline cases of all ages"


def wilson_method() -> str:
    """Name Wilson's limits."""
    return "Wilson score limits (Wilson 1927; Newcombe 1998)"


def turn_estimand(sign: int) -> str:
    """Say what a turn is."""
    return f"age at which the slope of the logit of the direct share turns {'up' if sign > 0 else 'down'}"


def turn_method() -> str:
    """Say how a turn and its interval were found."""
    return (
        "global maximum of the unpenalised profile likelihood with one intercept a hospital; likelihood-ratio "
        "inversion with a cut-off calibrated by parametric bootstrap"
    )


def turn_label(
    place: int, sign: int, at: float, stretches: Sequence[tuple[float, float]], identified: bool
) -> str:
    """Label a turn in a picture: ``Turn 1, up: 14.2 years (12.9–15.6)``."""
    spans = " or ".join(interval(low, high) for low, high in stretches)
    doubt = "" if identified else ", not identified"
    return f"Turn {place}, {'up' if sign > 0 else 'down'}: {age(at)} years ({spans}){doubt}"


def turn_cell(
    place: int, sign: int, at: float, stretches: Sequence[tuple[float, float]], identified: bool
) -> str:
    """Write a turn in a table."""
    return turn_label(place, sign, at, stretches, identified)


def youngest(at: float) -> str:
    """Name the start of the first stretch."""
    return "from the youngest age"


def turn_grid_title() -> str:
    """Title the table of turns and slopes."""
    return "Turns, and how fast the share grows after each"


def turn_heads() -> tuple[str, ...]:
    """Head the table of turns."""
    return ("From", "Stretch (years)", "Odds multiply each year by", "Points a year")


def turn_note() -> str:
    """Note under the table of turns."""
    return (
        "Odds with 95% limits from redrawn patients, who move the turns too; "
        "points a year in the middle of the stretch."
    )


def odds_cell(odds: float, low: float, high: float) -> str:
    """Write odds with limits."""
    return f"{number(odds, 2)} ({interval(low, high, 2)})"


def points_cell(points: float) -> str:
    """Write points a year with a sign."""
    return f"{'+' if points >= 0 else ''}{number(points, 2)}"


def slope_estimand(low: float, high: float) -> str:
    """Say what a slope is."""
    return f"factor by which the odds of a direct hernia multiply each year, from {age(low)} to {age(high)} years"


def slope_method() -> str:
    """Say how a slope was estimated."""
    return (
        "log-F(1,1)-penalised logistic slope given the turns (Greenland & Mansournia 2015); percentile limits over "
        "redrawn patients, turns included"
    )


def threshold_cell(threshold: float) -> str:
    """Write a threshold."""
    return percent(threshold, 0 if abs(100 * threshold - round(100 * threshold)) < 1e-9 else 1)


def crossing_cell(at: float, low: float, high: float, highest: float) -> str:
    """Write a crossing in a table."""
    if at == math.inf:
        told = f"not reached by {age(highest, 0)}"
    elif at == -math.inf:
        told = "already at the youngest age"
    else:
        told = age(at)
    if low == high or math.isnan(low) or math.isnan(high):
        return told
    if math.isinf(high) and math.isinf(low):
        return f"{told} (open on both sides)"
    if math.isinf(high):
        return f"{told} ({age(low)} or later)"
    if math.isinf(low):
        return f"{told} ({age(high)} or earlier)"
    return f"{told} ({interval(low, high)})"


def crossing_label(threshold: float, at: float, low: float, high: float, highest: float) -> str:
    """Label a crossing in a picture: ``10% at 17.8 years (17.2–18.4)``."""
    if not math.isfinite(at):
        return f"{threshold_cell(threshold)} {crossing_cell(at, low, high, highest)}"
    told = crossing_cell(at, low, high, highest)
    return f"{threshold_cell(threshold)} at {told.replace(' (', ' years (', 1) if ' (' in told else told + ' years'}"


def crossing_grid_title() -> str:
    """Title the table of crossings."""
    return "Ages at which the share first reaches a threshold"


def crossing_heads() -> tuple[str, ...]:
    """Head the table of crossings."""
    return ("Threshold", "By the hinges (years)", "By the smooth curve (years)")


def crossing_note() -> str:
    """Note under the table of crossings."""
    return (
        "Share standardised to the mix of the hospitals with cases within 3 years of the crossing; 95% limits from "
        "the same redrawn patients."
    )


def crossing_estimand(threshold: float) -> str:
    """Say what a crossing is."""
    return f"first age at which the standardised direct share reaches {threshold_cell(threshold)}"


def crossing_method(by: str, limits: str) -> str:
    """Say how a crossing was found."""
    shape_ = "hinge fit" if by == "hinge" else "penalised B-spline on the logit, REML"
    return f"{shape_}, standardised to a fixed hospital mix; {limits}"


def number_grid_title() -> str:
    """Title the table of the number of turns."""
    return "How many turns"


def number_heads() -> tuple[str, ...]:
    """Head the table of the number of turns."""
    return ("Turns", "Log-likelihood", "BIC", "p against one more", "Chosen in samples")


def p_cell(p: float | None) -> str:
    """Write a p-value in a table."""
    if p is None or math.isnan(p):
        return "–"
    return "< 0.001" if p < 0.001 else number(p, 3)


def beside_title() -> str:
    """Title the table of other ways to count."""
    return "Beside the headline: other ways to count, all ages"


def beside_heads() -> tuple[str, ...]:
    """Head the table of other ways to count."""
    return ("Cases", "Groins", "Direct share (95% CI)")


def beside_headline() -> str:
    """Name the headline's way of counting."""
    return "headline"


def beside_all_reasons() -> str:
    """Name the count over all reasons."""
    return "all reasons for operation"


def beside_combined_out() -> str:
    """Name the count without combined hernias."""
    return "combined hernias left out"


def beside_combined_other() -> str:
    """Name the count with combined hernias on the other side."""
    return "combined hernias counted the other way"


def beside_note() -> str:
    """Note under the table of other ways to count."""
    return "Wilson limits. Girls and women have too few direct hernias to be given a turn by assumption."


def share_cell(share: float, low: float, high: float) -> str:
    """Write a share with limits in a table."""
    return f"{percent(share)} ({share_limits(low, high)})"


def not_told() -> str:
    """Stand for a number that may not leave."""
    return "not told"


def share_title(sex: str) -> str:
    """Title the picture of the direct share."""
    return f"Direct share of primary groin hernias by age, {who(sex)}"


def share_alt(n: int, turns: Sequence[str], crossings: Sequence[str]) -> str:
    """Describe the picture of the direct share."""
    told = f"Direct share by age among {count(n, 'groin')}: points seen, smooth curve with band, hinge fit."
    if turns:
        told += f" {'; '.join(turns)}."
    return f"{told} Thresholds: {'; '.join(crossings)}."


def share_caption(hospitals: int, level: float, replicates: int) -> str:
    """Caption the picture of the direct share."""
    return (
        f"Squares: shares seen, sized by groins, with Wilson limits. Curve: penalised spline with pointwise and "
        f"simultaneous {level:.0%} bands. Straight on the logit between turns: the hinge fit. Both standardised to one "
        f"fixed mix of {count(hospitals, 'hospital')}; crossings' limits from "
        f"{count(replicates, 'sample')} of patients."
    )


def share_hospitals_title() -> str:
    """Title the small pictures of the share by hospital."""
    return "Direct share in each hospital"


def share_hospitals_alt(names: Sequence[str]) -> str:
    """Describe the small pictures of the share by hospital."""
    return (
        f"Direct share by age with the shared hinge fit, one small picture for each of {listed(list(names))}."
    )


def share_hospitals_caption(least: int) -> str:
    """Caption the small pictures of the share by hospital."""
    return (
        "One shape for all hospitals, each at its own level; a hospital that does not follow the line speaks "
        f"against the shape. At least {least} people in each point."
    )


def share_sexes_title() -> str:
    """Title the picture of the share by sex."""
    return "Direct share in each sex"


def share_sexes_alt() -> str:
    """Describe the picture of the share by sex."""
    return "Direct share by age, seen in boys and men and in girls and women, side by side."


def share_sexes_caption(least: int) -> str:
    """Caption the picture of the share by sex."""
    return f"Shares seen with Wilson limits; no fit is drawn here. At least {least} people in each point."


def share_method(
    *, patients: int, replicates: int, audit: str, certificate: str, curve: str, perfect: bool
) -> str:
    """Say how the direct share was estimated."""
    typing = (
        "Recorded types are taken as right."
        if perfect
        else "Sensitivity and specificity of the recorded types enter the likelihood, as the protocol gives them."
    )
    return (
        "logit of the direct share = one intercept a hospital + a slope that may change at each turn. Turns, their "
        "intervals and their number come from the unpenalised profile likelihood, at its global maximum "
        f"({certificate}); slopes and shares given the turns carry a log-F(1,1) penalty. BIC counts "
        f"{count(patients, 'patient')} and every turn. Limits of crossings and slopes: {audit}. {curve}. {typing}"
    )


def share_cannot(rates: bool) -> tuple[str, ...]:
    """List what the direct share cannot say."""
    told = [
        "A share among repairs is not a risk: it moves when indirect hernias become rarer as it does when direct ones "
        "become commoner."
    ]
    if not rates:
        told.append(
            "Without population denominators it cannot be known whether direct hernias rise or indirect ones fall at a "
            "turn."
        )
    told.append(
        "Who was typed, and how, differs by age and hospital; a floor that was not looked at hides direct hernias."
    )
    return tuple(told)


# The part on rates.


def capital(text: str) -> str:
    """Begin a sentence or cell with a capital."""
    return text[:1].upper() + text[1:]


def rates_heading() -> str:
    """Head the part on rates."""
    return "How often: repairs per 100,000 person-years"


def rates_title() -> str:
    """Title the picture of rates."""
    return "Repairs per 100,000 person-years by age, type and sex"


def rates_alt() -> str:
    """Describe the picture of rates."""
    return "Rates by age with limits, one line a type, boys and men beside girls and women."


def rates_caption(years: tuple[int, int], coverage: float, least: int) -> str:
    """Caption the picture of rates."""
    return (
        f"Operations of {years[0]} to {years[1]}; person-years of the catchment times the declared coverage of "
        f"{percent(coverage, 0)}. Exact Poisson limits; ages merged until at least {max(least, 10)} cases stand "
        "in each stretch."
    )


def rate_estimand(sex: str, kind: str, standard: str) -> str:
    """Say what a standardised rate is."""
    return f"directly standardised rate of {kind} repairs in {who(sex)} ({standard_name(standard)})"


def standard_name(standard: str) -> str:
    """Name a standard population."""
    return {
        "european-2013": "European Standard Population 2013",
        "who-world": "WHO World Standard 2000–2025",
    }[standard]


def rate_method() -> str:
    """Say how a rate was standardised."""
    return "direct standardisation with gamma limits (Fay & Feuer 1997)"


def rate_cell(rate_: float, low: float = math.nan, high: float = math.nan) -> str:
    """Write a rate in a table."""
    return number(rate_) if math.isnan(low) else f"{number(rate_)} ({interval(low, high)})"


def rates_grid_title() -> str:
    """Title the table of rates."""
    return "Crude and standardised rates per 100,000 person-years"


def rates_heads() -> tuple[str, ...]:
    """Head the table of rates."""
    return ("Who", "Type", "Cases", "Crude", "Standardised (95% CI)")


def rates_note(standard: str) -> str:
    """Note under the table of rates."""
    return f"Standard: {standard_name(standard)}. Combined hernias count as the protocol says."


def bends_title() -> str:
    """Title the table of the rates' turns."""
    return "Turns of each type's log rate in the headline's sex"


def bends_heads() -> tuple[str, ...]:
    """Head the table of the rates' turns."""
    return ("Type", "Turn")


def bends_note(until: float) -> str:
    """Note under the table of the rates' turns."""
    return (
        f"Ages up to {age(until, 0)} years, as many turns as the criterion (BIC) chooses; likelihood-ratio intervals "
        "with the χ² cut-off, so a little too short."
    )


def no_turn() -> str:
    """Stand where a rate has no turn."""
    return "no turn"


def which_bends(at: float, direct: float | None, indirect: float | None) -> str:
    """Say which type's rate bends where the share first turns up.

    Parameters
    ----------
    at : float
        Age of the share's turn.
    direct : float or None
        Age of an upward turn of the direct rate whose interval overlaps the share's.
    indirect : float or None
        Age of a downward turn of the indirect rate whose interval overlaps the share's.
    """
    told = []
    if direct is not None:
        told.append(f"the rate of direct repairs turns up at {age(direct)} years")
    if indirect is not None:
        told.append(f"the rate of indirect repairs turns down at {age(indirect)} years")
    if direct is not None and indirect is not None:
        verdict = "both diseases may bend there"
    elif direct is not None:
        verdict = "it is the direct hernias that bend there"
    elif indirect is not None:
        verdict = "it is the indirect hernias that bend there, not the direct ones"
    else:
        return (
            f"Where the share first turns up ({age(at)} years), neither rate has a turn of its own that could make it: "
            "it cannot be told which disease bends."
        )
    return f"Where the share first turns up ({age(at)} years), {listed(told)}: {verdict}."


def rates_method() -> str:
    """Say how rates were estimated."""
    return (
        "Cases over person-years with exact Poisson limits; log rates with hinges by Poisson likelihood, at the global "
        "maximum. logit share = log rate (direct) − log rate (indirect)."
    )


def rates_cannot(coverage: float) -> tuple[str, ...]:
    """List what the rates cannot say."""
    return (
        f"The rates stand and fall with the declared coverage of {percent(coverage, 0)}: patients operated "
        "elsewhere, more often at some ages than at others, bend them.",
        "A rate of repair is not the incidence of the disease: many adults with a hernia are never operated.",
    )


def dated(day: date) -> str:
    """Say until when the records go: ``records up to 30 June 2026``."""
    return f"records up to {day.day} {MONTHS[day.month - 1]} {day.year}"


MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip


# Checking the records.


def check_report(
    detected: dict[str, tuple[str, ...]], flow: Sequence[dict[str, Any]], counts: Sequence[dict[str, Any]]
) -> str:
    """Write what a check of the records found, hospital by hospital.

    Parameters
    ----------
    detected : dict
        Hospital → sentences on its files.
    flow : sequence of dict
        hospital, step, reason, rows, groins.
    counts : sequence of dict
        hospital, rule, severity, rows.
    """
    lines = []
    for hospital, told in detected.items():
        mine = [line for line in flow if line["hospital"] == hospital]
        groins = {line["step"]: 0 for line in mine}
        for line in mine:
            groins[line["step"]] += line["groins"]
        lines.append(hospital)
        lines += [f"  {sentence}" for sentence in told]
        read, cases = groins.get("groins read", 0), groins.get("cases", 0)
        lines.append(
            f"  {count(read, 'groin')} read = {count(cases, 'case')} + {count(groins.get('set aside', 0))} set aside"
        )
        lines += [
            f"    {line['severity']:<10} {line['rule']:<36} {count(line['rows']):>6}"
            for line in counts
            if line["hospital"] == hospital
        ]
        lines.append("")
    return "\n".join(lines).rstrip()


def breach(group: Mapping[str, object], first_bin: int, last_bin: int, people: int) -> str:
    """Say which few people could be singled out, without saying anything about them."""
    whom = listed([f"{name} {value}" for name, value in group.items()]) or "all cases"
    return f"{count(people, 'person', 'people')} in age bins {first_bin} to {last_bin} of {whom} can be singled out"


def observed_key(groins: int) -> str:
    """Explain a square in a picture's key by the number of groins that its size stands for."""
    return f"observed (this size: {count(groins, 'groin')})"


def type_counted(kind: str, groins: int) -> str:
    """Name a type in a picture's key with its number of groins: ``indirect 7,992``."""
    return f"{type_word(kind)} {count(groins)}"


def counted_within(groins: int, low: float, high: float) -> str:
    """Write a count with the wider ages that it was counted in."""
    return f"{count(groins)} in {age_span(low, high)}"


def sex_heading(sex: str) -> str:
    """Head the plot of one sex: ``Boys and men``; another word is left as it is."""
    return who(sex).capitalize() if sex in ("male", "female") else sex
