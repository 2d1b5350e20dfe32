"""The part on one more event and on those lost, in words."""

from __future__ import annotations

from collections.abc import Sequence

from .counts import cells_of
from .followup import followup_years
from .fragility import verdict_told
from .numbers import capital, count, number, p_value, percent, share_limits
from .outcomes import repair_word, repairs_word


def fragile_heading() -> str:
    """Head the part on one more event."""
    return "What one more recurrence would do"


def pair_who(ages: tuple[float, float], types: Sequence[str], sex: str) -> str:
    """Name the groins that are set against each other."""
    low, high = (number(age, 0 if age == round(age) else 1) for age in ages)
    people = {"male": "boys and men", "female": "girls and women"}[sex]
    kinds = " or ".join(types)
    return f"{kinds} hernias of {people} operated from {low} to under {high} years"


def pair_arm(repair: str, events: int, worth: int, followed: int, years: float) -> str:
    """Write what one repair's follow-up found."""
    return (
        f"{count(events, 'recurrence')} within {followup_years(years)} after {repair_word(repair)} ({count(followed, 'groin')} "
        f"followed, worth {count(worth)} followed for all that time)"
    )


def pair_not_told(why: str, who: str, arms: Sequence[str], least: int) -> str:
    """Say why two repairs are not set against each other."""
    names = " and ".join(repair_word(name) for name in arms)
    return {
        "nobody": f"What one more recurrence would do cannot be told: among {who} nobody was followed after {names}.",
        "one arm": (
            f"What one more recurrence would do cannot be told: among {who} only one of the repairs compared was followed "
            f"({names})."
        ),
        "few": (
            f"What one more recurrence would do is not told: among {who} fewer than {least} people, or fewer than {least} recurrences "
            "without the data officers' consent, stand behind a repair, or behind one that could be worked out from the others."
        ),
    }[why]


def fragile_sentence(who: str, arms: Sequence[str], told: str) -> str:
    """Answer what one more recurrence would do."""
    return f"Unadjusted, among {who}: {arms[0]} and {arms[1]}. {told}."


def fragile_title(first: str, second: str) -> str:
    """Head the picture of events more or fewer."""
    return f"More or fewer recurrences after {repair_word(first)}, against {repair_word(second)}"


def fragile_alt(verdicts: int) -> str:
    """Describe the picture of events more or fewer."""
    many = (
        "the same verdict all along" if verdicts == 1 else f"{count(verdicts, 'verdict')} from left to right"
    )
    return f"The difference with its limits at each number of recurrences; {many}."


def fragile_caption(first: str, second: str, margin: float) -> str:
    """Say what the picture of events more or fewer shows."""
    return (
        f"Difference in risk, {repair_word(first)} less {repair_word(second)}, with score limits (Miettinen and Nurminen), if "
        f"{repair_word(first)} had so many more or fewer recurrences. Crude: nothing is adjusted for. {capital(repair_word(first))} "
        f"is shown not to be worse where the upper limit is below {_points(margin)}."
    )


def _points(margin: float) -> str:
    value = number(100 * margin, 2).rstrip("0").rstrip(".")
    return f"{value} {'point' if value == '1' else 'points'}"


def fragile_axes(first: str, second: str) -> tuple[str, str]:
    """Title the axes of the picture of events more or fewer."""
    return (
        f"Recurrences after {repair_word(first)}, more or fewer than observed",
        f"{capital(repair_word(first))} less {repair_word(second)} (points)",
    )


def fragile_verdict(verdict: str, first: str, second: str, margin: float) -> str:
    """Write a verdict in a table or a key."""
    return capital(verdict_told(verdict, (repair_word(first), repair_word(second)), margin))


def fragile_short(verdict: str, margin: float) -> str:
    """Write a verdict on the first of two repairs in few words."""
    return {
        "not worse": f"shown not to be worse by more than {_points(margin)}",
        "worse": f"shown to be worse by more than {_points(margin)}",
        "not shown": "neither shown",
    }[verdict]


def fragile_grid_title(first: str) -> str:
    """Head the table of events more or fewer."""
    return f"The comparison with more or fewer recurrences after {repair_word(first)}"


def fragile_heads(first: str) -> tuple[str, ...]:
    """Head the table of events more or fewer."""
    return (
        "Change",
        f"Recurrences after {repair_word(first)}",
        "Difference, points (95% CI)",
        "Fisher's P",
        f"Verdict on {repair_word(first)}",
    )


def fragile_change(change: int) -> str:
    """Write a change in a table."""
    return "as observed" if change == 0 else f"+{change}" if change > 0 else f"−{-change}"


def fragile_difference(estimate: float, low: float, high: float) -> str:
    """Write a difference in a table."""
    return f"{number(100 * estimate)} ({number(100 * low)} to {number(100 * high)})"


def fragile_p(p: float) -> str:
    """Write Fisher's P in a table."""
    return p_value(p).removeprefix("p ").removeprefix("= ")


def fragile_note(index: int | None) -> str:
    """Stand under the table of events more or fewer."""
    told = "no number of events changes it" if index is None else count(index)
    return (
        "The fragility index is the events that the repair with the lower risk must gain until Fisher's P is no longer below 0.05 "
        f"(Walsh 2014): here {told}. It says how few events decide, not how good a study is."
    )


def small_title() -> str:
    """Head the table of one event in small series."""
    return "How one recurrence moves a small series"


def small_heads(repair: str | None, total: int) -> tuple[str, ...]:
    """Head the table of one event in small series."""
    own = () if repair is None else (f"{capital(repairs_word(repair))} here, worth {count(total)}",)
    return ("Recurrences", *own, "A series of 30 with 1")


def small_change(change: int) -> str:
    """Name a row of the table of one event in small series."""
    if change == 0:
        return "As observed"
    return f"{count(abs(change))} {'more' if change > 0 else 'fewer'}"


def small_series_cell(events: int, total: int, share: float, low: float, high: float) -> str:
    """Write a small series in a table."""
    return f"{count(events)} of {count(total)}: {percent(share)} ({share_limits(low, high)})"


def small_note() -> str:
    """Stand under the table of one event in small series."""
    return "Exact (Clopper–Pearson) 95% limits."


def lost_title(first: str, second: str) -> str:
    """Head the picture of those lost."""
    return f"What those not followed would have to show: {repair_word(first)} against {repair_word(second)}"


def lost_alt(verdicts: int) -> str:
    """Describe the picture of those lost."""
    return (
        f"A grid over the share with a recurrence among those not followed after either repair, {count(verdicts, 'verdict')} "
        "told apart."
    )


def lost_caption(told: str) -> str:
    """Say what the picture of those lost shows."""
    return (
        f"{told}. Not followed are groins never seen again and what is missing of the follow-up of others, in groins' worth of "
        "the whole time; everybody counts once."
    )


def lost_axes(first: str, second: str, lost: tuple[int, int]) -> tuple[str, str]:
    """Title the axes of the picture of those lost."""
    return (
        f"Of {count(lost[0])} not followed after {repair_word(first)}, had a recurrence",
        f"Of {count(lost[1])} not followed after {repair_word(second)}, had a recurrence",
    )


def lost_as_followed() -> str:
    """Label the point at which those lost fared as those followed."""
    return "as those followed"


def lost_finding(told: str) -> str:
    """Write a finding on those lost as a sentence."""
    return f"{told}."


def fragile_estimand(first: str) -> str:
    """Say what the number of further events is a number of."""
    return f"fewest further recurrences after {repair_word(first)} that change the verdict"


def index_estimand() -> str:
    """Say what the fragility index is."""
    return "fragility index: events that the repair with the lower risk must gain until Fisher's P is no longer below 0.05"


def index_told(first: str, second: str, index: int | None) -> str:
    """Write the fragility index as a sentence."""
    value = "no number of events changes it" if index is None else count(index)
    why = (
        ", since P is not below 0.05 as observed: this crude comparison shows no difference that the index could test, and the "
        "comparison among patients alike is another one"
        if index == 0
        else ""
    )
    return f"Fragility index of {repair_word(first)} against {repair_word(second)}: {value}{why}."


def lost_estimand(first: str) -> str:
    """Say what the number among those lost is a number of."""
    return f"events among those not followed after {repair_word(first)} that would change the verdict, the others as those followed"


def fragile_method(years: float) -> str:
    """Say how it was computed, for the method note."""
    return (
        f"Recurrences within {followup_years(years)} are set against groins' worth of follow-up: as many groins followed for all that "
        "time as give the same recurrences at the same rate, so that groins followed in part count in part. The difference has "
        "Miettinen and Nurminen's score limits (1985), Fisher's exact P stands beside; the index is Walsh's (2014). Those not "
        "followed are laid on a grid of what they may have had (Yan, Lee & Li 2009; Liublinska & Rubin 2014). Nothing is adjusted for: the comparison "
        "among patients alike stands in a part of its own."
    )


def fragile_cannot() -> tuple[str, ...]:
    """Say what one more event cannot say."""
    return (
        "Few events that change a verdict say that the verdict rests on few, not that it is wrong; many say nothing on whether the "
        "patients were alike.",
    )


def pair_cells(
    sex: str,
    occurrence: str,
    reasons: Sequence[str],
    types: Sequence[str],
    ages: tuple[float, float],
    repairs: Sequence[str],
) -> str:
    """Name the cells that two repairs were counted from."""
    return cells_of(
        {
            "sex": (sex,),
            "occurrence": (occurrence,),
            "reason": tuple(reasons),
            "type": tuple(types),
            "age": (f"{ages[0]:g}–{ages[1]:g} years",),
            "repair": tuple(repairs),
        }
    )
