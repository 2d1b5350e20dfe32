"""Words on tallies and what may leave."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from .numbers import count, listed, number, percent


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


def cells_of(conditions: dict[str, Sequence[str]]) -> str:
    """Name the cells of the tally that a number came from."""
    return "; ".join(f"{name} = {' or '.join(values)}" for name, values in conditions.items())


def breach(group: Mapping[str, object], first_bin: int, last_bin: int, people: int) -> str:
    """Say which few people could be singled out, without saying anything about them."""
    whom = listed([f"{name} {value}" for name, value in group.items()]) or "all cases"
    return f"{count(people, 'person', 'people')} in age bins {first_bin} to {last_bin} of {whom} can be singled out"


ENDS: dict[str, str] = {
    "last visit": "each groin followed until it was last seen or heard of",
    "age limit": "each groin taken as well until the patient outgrew the hospital",
    "cut-off": "each groin taken as well until the data cut-off",
}


def follow_up(endpoint: str, until: str, cutoff: date) -> str:
    """Say how follow-up was reckoned."""
    event = "recurrence" if endpoint == "recurrence" else "later hernia of the other groin"
    return f"{event}, {ENDS[until]}, data cut-off {cutoff.isoformat()}"


def follow_up_tally(groins: int, events: int, deaths: int, without: int, person_years: float) -> str:
    """Say what a follow-up tally holds."""
    return (
        f"{count(groins, 'groin')} followed for {count(round(person_years), 'year')} in all: "
        f"{count(events, 'event')}, {count(deaths, 'death')}; {count(without, 'groin')} without follow-up"
    )


def age_band(low: float, high: float) -> str:
    """Name a band of ages: ``12 to 17``, ``50 and over``; both ages are whole years that patients have."""
    if high == float("inf"):
        return f"{number(low, 0 if low == round(low) else 1)} and over"
    if low == round(low) and high == round(high):
        return f"{low:.0f} to {high - 1:.0f}" if high - low > 1 else f"{low:.0f}"
    return f"{number(low)} to under {number(high)}"
