"""Words on tallies and what may leave."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from .numbers import count, listed, percent


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
