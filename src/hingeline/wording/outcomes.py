"""What became of the groins, in words: headings, sentences, cells and notes of the part on recurrence."""

from __future__ import annotations

from collections.abc import Sequence

from .counts import cells_of
from .followup import followup_years
from .numbers import capital, count, few, interval, listed, number, percent, share_limits
from .trade import who

REPAIR_WORDS = {
    "high_ligation": "high ligation",
    "tissue": "tissue repair",
    "mesh": "mesh repair",
    "unknown": "repair unknown",
}


def repair_word(repair: str) -> str:
    """Name a kind of repair in a sentence."""
    return REPAIR_WORDS.get(repair, repair)


def repairs_word(repair: str) -> str:
    """Name operations of a kind in a sentence."""
    return {"high_ligation": "high ligations", "tissue": "tissue repairs", "mesh": "mesh repairs"}.get(
        repair, f"{repair_word(repair)}s"
    )


def outcome_group(dimension: str, value: str) -> str:
    """Name a group in a table's first column."""
    if dimension == "repair":
        return capital(repair_word(value))
    if dimension == "age_band":
        return f"{value.removesuffix(' and over')} years{' and over' if value.endswith(' and over') else ''}"
    if dimension == "approach":
        return "approach unknown" if value == "unknown" else value
    if dimension == "type":
        return "type unknown" if value == "unknown" else value
    return value


def outcome_dimension(dimension: str) -> str:
    """Name what a table is split by."""
    return {
        "repair": "Repair",
        "approach": "Approach",
        "type": "Type of hernia",
        "age_band": "Age at operation",
        "hospital": "Hospital",
    }[dimension]


def recurrence_heading() -> str:
    """Head the part on recurrence."""
    return "What happened after each kind of repair"


def recurrence_title(years: float) -> str:
    """Head the picture of recurrence."""
    return f"Recurrence in the {followup_years(years)} after each kind of repair"


def recurrence_alt(told: Sequence[tuple[str, float]], years: float) -> str:
    """Describe the picture of recurrence to those who cannot see it."""
    ends = listed([f"{percent(risk)} after {repair_word(name)}" for name, risk in told])
    return f"Curves that rise from nought at operation; by {followup_years(years)}: {ends or 'nothing that can be told'}."


def recurrence_caption(least_at_risk: int, thin: int, consent: bool, least: int) -> str:
    """Say what the picture of recurrence shows."""
    steps = (
        ""
        if consent
        else f" Without the data officers' consent each step covers at least {least} recurrences."
    )
    return (
        "Share of groins with a recurrence by time since operation, death competing (Aalen–Johansen), with 95% limits over "
        f"patients. A curve goes thin where fewer than {thin} groins are still followed and ends where fewer than "
        f"{least_at_risk} are; under it stand the groins still followed.{steps}"
    )


def recurrence_sentence(
    sex: str,
    occurrence: str,
    years: float,
    told: Sequence[str],
    hidden: Sequence[str],
    unseen: Sequence[str],
    followed: int,
    events: str,
    groins: int,
    without: int,
) -> str:
    """Answer what happened after each repair; ``told`` are the findings as `recurrence_had` writes them."""
    if not followed:
        return (
            f"Recurrence cannot be told: none of {count(groins, 'groin')} of {occurrence} hernias in {who(sex)} has any "
            "follow-up, and no recorded recurrence is not the same as followed without recurrence."
        )
    behind = f"{events} by {followup_years(years)} in {count(followed, 'groin')} followed"
    first = (
        f"After operation on a {occurrence} hernia in {who(sex)}, {'; '.join(told)} ({behind})."
        if told
        else f"Recurrence by repair is kept back: too few people or events stand behind each ({behind})."
    )
    kept = listed([repair_word(name) for name in hidden])
    small = f" Too few stand behind {kept} to be told." if told and kept else ""
    gone = listed([repairs_word(name) for name in unseen])
    never = f" Nobody was followed after {gone}." if gone else ""
    lost = f" {without_told(without, groins)} They count in none of these." if without else ""
    return f"{first}{small}{never}{lost}"


def recurrence_had(repair: str, risk: float, low: float, high: float, years: float, warning: str = "") -> str:
    """Write a repair's risk; with few or nobody left at the horizon that stands with it."""
    care = f" ({warning[:1].lower()}{warning[1:].rstrip('.')})" if warning else ""
    return (
        f"{percent(risk)} (95% CI {share_limits(low, high)}) of {repairs_word(repair)} had a recurrence by "
        f"{followup_years(years)}{care}"
    )


def few_followed(least: int) -> str:
    """Say that few remain at a horizon without counting them out."""
    return f"Fewer than {least} are still followed there: read with care"


def other_groin_told(sex: str, risk: float, low: float, high: float, years: float, care: str) -> str:
    """Write the finding on the other groin."""
    text = f"{other_groin_row(sex)}: {percent(risk)} by {followup_years(years)} (95% CI {share_limits(low, high)})"
    return f"{text}. {care.rstrip('.')}." if care else f"{text}."


def recurrence_bounds(years: float, told: Sequence[tuple[str, float, float]]) -> str:
    """Say what assuming the best does to each repair's risk."""
    if not told:
        return ""
    best = listed([f"{percent(c)} after {repair_word(name)}" for name, _, c in told])
    return (
        "What was seen is too high if those who are well stay away: with everybody else taken as well until the data cut-off it is "
        f"{best} by {followup_years(years)}, which is too low if recurrences went elsewhere untold. Neither is a confidence "
        "limit; the data do not say where between the two, or whether between them, the truth lies."
    )


def recurrence_estimand(repair: str, years: float) -> str:
    """Say what a risk is a risk of."""
    return f"share with a recurrence within {followup_years(years)} of {repair_word(repair)}"


def recurrence_method() -> str:
    """Name how a risk was estimated."""
    return (
        "Aalen–Johansen with death competing, log-log limits on the standard error over patients (infinitesimal jackknife); "
        "score limits where there is no event"
    )


def recurrence_method_told() -> str:
    """Say how recurrence was reckoned, for the method note."""
    return (
        "Every groin is followed from its operation to a recurrence, the patient's death or the day it was last seen or heard "
        "of; a groin never heard of is counted and shown and contributes no time. Risks are Aalen–Johansen's with death "
        "competing (Aalen & Johansen 1978), limits log-log (Kalbfleisch & Prentice 1980) on a standard error over patients, so "
        "that two groins of one patient count as alike (Efron 1981); with no event, score limits (Wilson 1927) of the number still "
        "followed. Beside them stand risks with death as an end of follow-up (Kaplan & Meier 1958). Rates are per 100 "
        "person-years with exact Poisson limits (Garwood 1936), length of follow-up by the reverse Kaplan–Meier curve (Schemper & Smith "
        "1996). Curves are compared by the log-rank test (Mantel 1966), its variance over patients. Recurrences found at a "
        "visit lie between the last visit at which the groin was well and that one: Turnbull's curve (1976) takes them so, its "
        "likelihood certified (Gentleman & Geyer 1994)."
    )


def recurrence_cannot() -> tuple[str, ...]:
    """Say what the numbers on recurrence cannot say."""
    return (
        "No recorded recurrence is not the same as followed without recurrence: who is never seen again may be cured, "
        "operated elsewhere, or dead.",
        "Where those come back who have something wrong and those who are well stay away, what was seen overstates the "
        "risk; taking all others as well understates it wherever a recurrence was not told. Which of the two is nearer cannot "
        "be told from these records.",
        "A boy ligated at 17 leaves a children's hospital at 18: his later recurrence is repaired, and counted, elsewhere.",
        "Repairs were chosen, not allotted: a difference between the curves is not what the repair did. The comparison among "
        "patients alike stands below.",
    )


def recurrence_heads(horizons: Sequence[float], within: float) -> tuple[str, ...]:
    """Head the table of recurrence by repair."""
    return (
        "Repair",
        "Groins",
        "Followed",
        f"Recurrences by {followup_years(within)}",
        *(f"By {followup_years(h)}" for h in horizons),
        "Per 100 person-years",
        "Median follow-up (years)",
    )


def recurrence_grid_title() -> str:
    """Head the table of recurrence by repair."""
    return "Recurrence by repair"


def recurrence_grid_note(
    within: float, log_rank: str, consent: bool, least: int, warnings: Sequence[str]
) -> str:
    """Stand under the table of recurrence by repair."""
    small = "" if consent else f" {outcome_small_note(least)}"
    return " ".join(
        [
            f"Rates are of the first {followup_years(within)}. Groins whose repair is not known stand in none of the rows.{small}",
            *([f"{log_rank}."] if log_rank else []),
            *warnings,
        ]
    )


def kept_back() -> str:
    """Stand in place of a number that may not leave, or would give another away."""
    return "kept back"


def kept_as_above() -> str:
    """Say that the rule of small numbers that stands under an earlier table holds here too."""
    return "Small numbers are kept back as above."


def outcome_small_note(least: int) -> str:
    """Explain what is kept back without consent."""
    return (
        f"Without the data officers' consent a number with 1 to {least - 1} events behind it, or between it and another that is "
        "told, is kept back, and so is one by which it could be worked out."
    )


def risk_cell(risk: float, low: float, high: float, warned: bool = False) -> str:
    """Write a risk in a table; a dagger where few remain."""
    return f"{percent(risk)} ({share_limits(low, high)}){' †' if warned else ''}"


def risk_of_cell(risk: float, low: float, high: float, events: float, n: int, warned: bool) -> str:
    """Write a risk in a table with what it rests on, which is never parted at a line's end."""
    return f"{risk_cell(risk, low, high, warned)}; {count(round(events))}\u00a0of\u00a0{count(n)}"


def small_cell(standing: str, followed: bool) -> str:
    """Write what stands in place of a risk that is not told."""
    return kept_back() if standing != "told" else "–" if followed else "nobody followed"


def dagger_note(least: int) -> str:
    """Explain the dagger."""
    return f"† fewer than {least} groins are still followed by then: read with care."


def split_title(years: float) -> str:
    """Head the table of recurrence by what may matter."""
    return f"Recurrence within {followup_years(years)}, by repair and what may matter"


def split_heads(repairs: Sequence[str]) -> tuple[str, ...]:
    """Head the table of recurrence by what may matter."""
    return ("Split by", "Group", *(capital(repair_word(name)) for name in repairs))


def split_note(years: float, consent: bool, least: int, least_at_risk: int, warned: bool, kept: bool) -> str:
    """Stand under the table of recurrence by what may matter."""
    people = f" Rows with fewer than {least} patients are kept back, and one by which such a row could be worked out."
    small = (people if consent else f" {kept_as_above()}") if kept else ""
    dagger = f" {dagger_note(least_at_risk)}" if warned else ""
    return (
        f"Behind each risk stand the recurrences by {followup_years(years)} and the groins followed at all; most of these were "
        "followed for less, which the risk allows for and one number divided by the other does not. A split is a look at the "
        f"data, not a comparison: nothing is adjusted for.{small}{dagger}"
    )


def ways_title(years: float) -> str:
    """Head the table of the ways of reckoning follow-up."""
    return f"Recurrence within {followup_years(years)}, reckoned in other ways"


def ways_heads(repairs: Sequence[str]) -> tuple[str, ...]:
    """Head the table of the ways of reckoning follow-up."""
    return ("Way", *(capital(repair_word(name)) for name in repairs))


WAY_WORDS = {
    "recurrence": "Followed until last seen or heard of (told above)",
    "age_limit": "Taken as well until the hospital's age limit",
    "cutoff": "Taken as well until the data cut-off",
    "censored": "Death taken as an end of follow-up (Kaplan–Meier)",
    "interval": "Recurrence somewhere between two visits (Turnbull)",
}


def way(name: str) -> str:
    """Name a way of reckoning follow-up."""
    return WAY_WORDS[name]


def interval_cell(low: float, high: float) -> str:
    """Write a risk that the visits may leave open."""
    return percent(high) if high - low < 5e-4 else f"{number(100 * low)}–{percent(high)}"


def ways_note(difference: float | None) -> str:
    """Stand under the table of the ways of reckoning follow-up."""
    if difference is None:
        return ""
    return (
        "A recurrence found at a visit came some time before it: to take it so, and not as of the day it was found, moves a risk "
        f"by up to {number(100 * abs(difference), 2)} points here. Where visits are far apart that says little more than "
        "how far apart they were."
    )


def found_title() -> str:
    """Head the table of types found at re-operation."""
    return "Type found when the groin was operated again, by the first repair and type"


def found_heads(types: Sequence[str]) -> tuple[str, ...]:
    """Head the table of types found at re-operation."""
    return ("First repair", "First type", *(f"Found {outcome_group('type', t)}" for t in types))


def found_note(least: int, consent: bool) -> str:
    """Stand under the table of types found at re-operation."""
    small = (
        ""
        if consent
        else f" Counts from 1 to {least - 1} are kept back, and others of their row by which they could be worked out."
    )
    return (
        "Direct after a ligation says that the floor failed, indirect that the sac did: the best evidence there is on why a "
        f"repair failed, among those who were operated again here, whenever that was.{small}"
    )


def apart_title(years: float) -> str:
    """Head the table of endpoints and groins told apart."""
    return f"Told apart, within {followup_years(years)} of operation"


def apart_heads() -> tuple[str, ...]:
    """Head the table of endpoints and groins told apart."""
    return ("What", "Groins", "Followed", "Events", "Share")


def other_groin_row(sex: str) -> str:
    """Name the endpoint of the other groin."""
    return f"A later hernia of the other groin, after a first operation on one side, in {who(sex)}"


def reason_row(reason: str) -> str:
    """Name a reason whose groins are told apart."""
    told = {"hydrocele": "a hydrocele alone", "with orchidopexy": "a hernia closed with an orchidopexy"}
    return (
        f"A hernia in a groin operated for {told.get(reason, 'a processus found open and closed in passing')}"
    )


def death_row() -> str:
    """Name the competing event."""
    return "Death before a recurrence, where deaths are recorded"


def apart_note(kept: bool) -> str:
    """Stand under the table of endpoints and groins told apart."""
    small = f" {kept_as_above()}" if kept else ""
    return f"A later hernia of the other groin is an endpoint of its own and never a recurrence.{small}"


def known_title() -> str:
    """Head the table of how recurrences came to be known."""
    return "How recurrences came to be known"


def known_heads() -> tuple[str, ...]:
    """Head the table of how recurrences came to be known."""
    return ("Known by", "Recurrences")


def known_row(how: str) -> str:
    """Name how a recurrence came to be known."""
    return {
        "examined": "examined at a visit",
        "telephone": "told by telephone",
        "re-operation": "operated again",
        "registry": "found in a registry",
        "unknown": "not recorded",
    }.get(how, how)


def known_note(years: float, kept: bool) -> str:
    """Stand under the table of how recurrences came to be known."""
    small = f" {kept_as_above()}" if kept else ""
    return f"Recurrences within {followup_years(years)} after the repairs told above.{small}"


def events_told(events: int, least: int, consent: bool) -> str:
    """Write a number of recurrences in a sentence."""
    told = count(events) if consent else few(events, least)
    return f"{told} {'recurrence' if told == '1' else 'recurrences'}"


def follow_up_length_told(low: float, median: float, high: float) -> str:
    """Write median follow-up in a table."""
    return f"{number(median)} ({interval(low, high)})"


def rate_of_cell(rate: float, low: float, high: float) -> str:
    """Write a rate in a table."""
    return f"{number(rate, 2)} ({interval(low, high, 2)})"


def recurrence_cells(sex: str, occurrence: str, reasons: Sequence[str], repairs: Sequence[str]) -> str:
    """Name the cells that a risk came from; of any repair when none is named."""
    of = {"repair": tuple(repairs)} if repairs else {}
    return cells_of({"sex": (sex,), "occurrence": (occurrence,), "reason": tuple(reasons), **of})


def repair_cell(repair: str) -> str:
    """Name a repair in a table."""
    return capital(repair_word(repair))


def without_estimand() -> str:
    """Say what the number without follow-up is a number of."""
    return "groins without any follow-up"


def without_told(without: int, groins: int) -> str:
    """Write how many have no follow-up."""
    return f"{count(without)} of {count(groins, 'groin')} ({percent(without / max(groins, 1), 0)}) have no follow-up at all."


def length_estimand() -> str:
    """Say what the length of follow-up is."""
    return "median length of follow-up"


def other_groin_estimand(years: float) -> str:
    """Say what the share with a hernia of the other groin is."""
    return f"share with a hernia of the other groin within {followup_years(years)}"


def curve_name(group: str) -> str:
    """Name a curve at its end."""
    return capital(repair_word(group))


def still_followed() -> str:
    """Head the numbers under a picture of curves."""
    return "Groins still followed"


def nothing_to_draw() -> str:
    """Stand in place of a picture with nothing in it."""
    return "Too few people or events stand behind this picture to draw it."


def recurrence_file_consent(name: str) -> str:
    """Say what the table of recurrence that a run leaves keeps back without consent."""
    return (
        f"Withheld from {name}: recurrences by a year where fewer than the minimum came by then, or between it and another year "
        "that is told; a repair with so few recurrences altogether has none told."
    )


def recurrence_file_whole(name: str) -> str:
    """Say that the table of recurrence keeps back nothing but repairs with too few patients."""
    return f"Withheld from {name}: repairs with too few patients followed, if any."


def no_repair_view(repair: str) -> str:
    """Say that nobody had a repair that was asked for."""
    return f"Nobody in the headline's groins was followed after {repair!r}"


def repairs_there(names: Sequence[str]) -> str:
    """Say which repairs can be asked for."""
    return (
        f"Ask for {listed(names)}."
        if names
        else "No repair was followed: fill the follow-up fields of a legend."
    )
