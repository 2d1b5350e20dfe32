"""What fragility says: verdicts that cannot be misread, and how few events would change them."""

from __future__ import annotations

from .numbers import capital, count, number, percent


def arm_names() -> tuple[str, str]:
    """Names of two arms that were given none."""
    return "the first", "the second"


def verdict_told(verdict: str, names: tuple[str, str], margin: float) -> str:
    """Write a verdict on two arms as a clause, worded to the side that has to show it."""
    first, second = names
    most = f"{number(100 * margin).removesuffix('.0')} points"
    return {
        "first lower": f"fewer events after {first} than after {second}",
        "second lower": f"fewer events after {second} than after {first}",
        "no difference shown": f"no difference between {first} and {second} shown, which is not the same as none",
        "not worse": f"{first} shown not to be worse than {second} by more than {most}",
        "worse": f"{first} shown to be worse than {second} by more than {most}",
        "not shown": f"{first} not shown to be within {most} of {second}, nor to be worse by more",
    }[verdict]


def fragility_told(
    names: tuple[str, str],
    estimate: tuple[float, float, float],
    level: float,
    verdict: str,
    margin: float,
    arm: int,
    overturned_by: int | None,
    index: int | None,
) -> str:
    """Write how few events hold a verdict up, and Walsh's index beside it."""
    difference, low, high = estimate
    told = (
        f"{capital(verdict_told(verdict, names, margin))}: a difference of {number(100 * difference)} points "
        f"({level:.0%} CI {number(100 * low)} to {number(100 * high)})"
    )
    if overturned_by is None:
        told += f"; no number of further events after {names[arm]} would change that"
    else:
        told += f"; {count(overturned_by, 'further event')} after {names[arm]} would change that"
    if index is None:
        return f"{told}. Fragility index (Fisher's P): no number of events changes it"
    if index == 0:
        return f"{told}. Fragility index (Fisher's P): 0, since P is not below {1 - level:.2g} as observed"
    return f"{told}. Fragility index (Fisher's P): {index}"


def one_more_told(
    total: int,
    now: tuple[int, float, float, float],
    more: tuple[int, float, float, float] | None,
    fewer: tuple[int, float, float, float] | None,
    level: float,
) -> str:
    """Write how one event moves a small series: ``1 of 30 is 3.3% (exact 95% CI 0.1–17.2%); with one more …``."""

    def counted(row: tuple[int, float, float, float]) -> str:
        return f"{row[0]:,} of {total:,} is {percent(row[1])}"

    text = f"{counted(now)} (exact {level:.0%} CI {number(100 * now[2])}–{percent(now[3])})"
    for words, row in (("one event more", more), ("one fewer", fewer)):
        if row is not None:
            text += f"; with {words}, {counted(row)} ({number(100 * row[2])}–{percent(row[3])})"
    return text


def tipping_told(
    names: tuple[str, str],
    counts: tuple[tuple[int, int], tuple[int, int], tuple[int, int]],
    verdict: str,
    as_followed: str,
    margin: float,
    boundary: tuple[int | None, int | None],
) -> str:
    """Write which events among those lost would overturn the verdict."""
    events, followed, lost = counts
    parts = [f"Among those followed: {verdict_told(verdict, names, margin)}"]
    if as_followed != verdict:
        parts.append(
            f"were the {sum(lost):,} lost to have had events as often as those followed in their arm, it would already be another: "
            f"{verdict_told(as_followed, names, margin)}"
        )
        return "; ".join(parts)
    for place in (0, 1):
        if not lost[place]:
            parts.append(f"no one was lost after {names[place]}")
            continue
        seen = percent(events[place] / followed[place])
        other = f"those lost after {names[1 - place]} had events as often as those followed"
        if boundary[place] is None:
            parts.append(
                f"nothing among the {lost[place]:,} lost after {names[place]} would overturn that while {other}"
            )
            continue
        found = int(boundary[place] or 0)
        parts.append(
            f"it would be overturned by {count(found, 'event')} among the {lost[place]:,} lost after {names[place]} "
            f"({percent(found / lost[place])}, against {seen} of those followed) while {other}"
        )
    return "; ".join(parts)
