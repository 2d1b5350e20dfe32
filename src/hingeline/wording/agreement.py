"""Sentences on how well readers of the same operations agree, and on how often a recorded type is right."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence

from .numbers import capital, count, interval, number, p_value, percent, share_limits


def kappa_told(
    kappa: float,
    limits: tuple[float, float],
    observed: float,
    expected: float,
    n: float,
    level: float,
    weights: str,
    note: str,
) -> str:
    """Write a kappa beside the agreement observed and what chance gives."""
    kind = "" if weights == "none" else f", {weights} weights"
    read = count(round(n), "groin")
    if math.isnan(kappa):
        return f"Both readers gave all of {read} one and the same answer{kind}: kappa is not defined."
    if _one_throughout(
        kappa, limits
    ):  # one reader gave one answer throughout: nothing can be said beyond chance
        return (
            f"{percent(observed)} of {read} read alike{kind}, as chance alone would have it, since one of the two gave a single answer "
            "throughout: kappa cannot be told."
        )
    told = (
        f"Kappa {number(kappa, 2)} ({level:.0%} CI {_limits(limits)}{kind}); {percent(observed)} of {read} read "
        f"alike, {percent(expected)} expected by chance."
    )
    return f"{told} {note}".strip()


def _one_throughout(kappa: float, limits: tuple[float, float]) -> bool:
    """Whether a kappa is nought with limits of no width, but for rounding."""
    return max(abs(kappa), abs(limits[0]), abs(limits[1])) < 1e-6


def kappa_note(kappa: float, alike: float, prevalence: float, bias: float, adjusted: float) -> str:
    """Say what prevalence or bias does to a kappa; empty where they do little."""
    if math.isnan(kappa):
        return ""
    parts = []
    if abs(prevalence) > 0.5 or (math.isnan(prevalence) and alike >= 0.85 and kappa < 0.6):
        parts.append(
            "One answer is far commoner than the others, which lowers kappa however well readers agree: read it "
            "beside the agreement by answer"
            + ("." if math.isnan(adjusted) else f" (balanced, it would be {number(adjusted, 2)}).")
        )
    if abs(bias) > 0.1:
        parts.append(
            f"The readers differ in how often they give an answer (by {percent(abs(bias))} of groins), which raises "
            "kappa's chance share."
        )
    return " ".join(parts)


def fleiss_told(
    kappa: float,
    limits: tuple[float, float],
    observed: float,
    expected: float,
    groins: float,
    readers: tuple[int, int],
    level: float,
) -> str:
    """Write a kappa of many readers."""
    times = f"{readers[0]}" if readers[0] == readers[1] else f"{readers[0]} to {readers[1]}"
    read = f"{count(round(groins), 'groin')} read {times} times each"
    if math.isnan(kappa):
        return f"All readings of {read} gave one and the same answer: kappa is not defined."
    return (
        f"Kappa {number(kappa, 2)} ({level:.0%} CI {_limits(limits)}) of {read}; {percent(observed)} of pairs of "
        f"readings alike, {percent(expected)} expected by chance."
    )


def read_twice_told(groins: int, known: int, first: int, second: int, both: int) -> str:
    """Write how many groins were read twice, and how many of them not."""
    return (
        f"{capital(count(groins, 'groin'))} read twice: {known:,} typed by both readers, {first:,} not by the first "
        f"alone, {second:,} not by the second alone, {both:,} by neither."
    )


def typing_rates_told(
    stratum: Mapping[str, object],
    sensitivity: tuple[float, float, float],
    specificity: tuple[float, float, float],
    level: float,
) -> str:
    """Write sensitivity and specificity for direct."""
    where = stratum_told(stratum)
    return (
        f"{capital(where)}: sensitivity for direct {_rate(sensitivity, level)}, "
        f"specificity {_rate(specificity, level)}."
    )


def stratum_told(stratum: Mapping[str, object]) -> str:
    """Write what a typing entry holds for."""
    parts = []
    for name, value in stratum.items():
        if name == "ages" and isinstance(value, Sequence) and len(value) == 2:
            parts.append(f"ages {interval(float(value[0]), float(value[1]), 0)} years")
        else:
            parts.append(str(value))
    return ", ".join(parts) or "all groins"


def typing_entries(entries: Iterable[Mapping[str, object]]) -> str:
    """Write typing entries as a protocol has them."""
    return "\n".join(
        "[[typing]]\n" + "".join(f"{name} = {_toml(value)}\n" for name, value in entry.items())
        for entry in entries
    )


def _toml(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.6g}" if value != round(value) else f"{value:.1f}"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return f"[{', '.join(_toml(float(v)) for v in value)}]"
    return json.dumps(str(value), ensure_ascii=False)


def typing_assumed(specificity: float, lowest: Iterable[float], least: Iterable[float]) -> str:
    """Say what two readers without a reference leave open."""
    spans = ", ".join(
        f"sensitivity {percent(se)} with no false direct to 100% with a specificity of {percent(sp, 2)}"
        for sp, se in zip(lowest, least, strict=True)
    )
    return (
        f"Assumed: both readers are alike, their errors are independent, specificity is {percent(specificity, 2)}. "
        f"Without a reference the readings fit everything from {spans} equally well."
    )


def two_by_two_told(
    events: tuple[int, int], totals: tuple[int, int], fisher: float, chi2: float, yates: float
) -> str:
    """Write the tests of two shares."""
    arms = " v ".join(
        f"{x:,}/{n:,} ({percent(x / n, 2 if 0 < x / n < 0.01 else 1)})"
        for x, n in zip(events, totals, strict=True)
    )
    if math.isnan(chi2):
        return f"{arms}: Fisher {p_value(fisher)}; χ² is not defined."
    return (
        f"{arms}: Fisher {p_value(fisher)}, χ² {p_value(chi2)}, χ² with Yates' correction {p_value(yates)}."
    )


def _rate(rate: tuple[float, float, float], level: float) -> str:
    value, low, high = rate
    if math.isnan(value):
        return "not known"
    if low == value == high:
        return f"{percent(value)} (stated)"
    return f"{percent(value)} ({level:.0%} CI {share_limits(low, high)})"


def _limits(limits: tuple[float, float]) -> str:
    return f"{number(limits[0], 2)} to {number(limits[1], 2)}"


def sheets_told(readings: int, readers: int, left: int) -> str:
    """Say what filled sheets gave."""
    told = f"{capital(count(readings, 'reading'))} by {count(readers, 'reader')}"
    return (
        f"{told}; {count(left, 'row')} of the sheets could not be used."
        if left
        else f"{told}; every row was used."
    )


def sheet_row_altered() -> tuple[str, str]:
    """Why a row of a sheet names no groin, and what to do."""
    return (
        "hospital, file, row or side is empty or altered",
        "put back what the drawn sheet says in these columns",
    )


def sheet_row_unnamed() -> tuple[str, str]:
    """Why a row of a double-read file names no groin, and what to do."""
    return "the row names no groin", "fill in the column that names it"


def sheet_row_without_reader() -> tuple[str, str]:
    """Why a reading is nobody's, and what to do."""
    return "no reader is named", "fill in the column 'reader'"


def sheet_row_unfilled() -> tuple[str, str]:
    """Why a row is no reading, and what to do."""
    return "no type was chosen", "choose a type; 'unknown' is one, when the record does not tell"


def sheet_word_unknown(word: str, words: Sequence[str]) -> tuple[str, str]:
    """Why a word is no type, and what to do."""
    return f"{word!r} is none of the types", f"choose one of {', '.join(words)}"


def sheet_size_unknown(size: str) -> tuple[str, str]:
    """Why a size is none, and what to do."""
    return f"{size!r} is no size", "give 0, 1, 2 or 3, or leave the cell empty"


def sheet_row_doubled() -> tuple[str, str]:
    """Why neither of two rows counts, and what to do."""
    return "the same reader typed this groin twice", "keep the right one of the rows"


def sheet_row_of_another_drawing() -> tuple[str, str]:
    """Why sheets do not fit together, and what to do."""
    return (
        "the number stands for another groin on another sheet",
        "give the sheets of one drawing, with the first columns as they were drawn",
    )


def sheet_row_no_case() -> tuple[str, str]:
    """Why a reading cannot be compared with the record, and what to do."""
    return (
        "no case of the study stands in this row of this file",
        "put the export back from which the sheet was drawn, or draw again",
    )


def readers_heading() -> str:
    """Heading of the part on readers."""
    return "Do two readers type the same?"


def readers_without() -> str:
    """Say that no groin was typed by two readers."""
    return "No groin was typed by two readers: how well typings agree cannot be told."


def readers_few(least: int) -> str:
    """Say that too few groins were read twice."""
    return f"Fewer than {least} people stand behind what was read twice: how well typings agree is not told."


def readers_sentence(readers: Sequence[str], groins: int, told: str) -> str:
    """Lead of the part on readers."""
    return f"{capital(count(groins, 'groin'))} typed again by {count(len(readers), 'reader')}. {told}".strip()


def readers_left(rows: int) -> str:
    """Say that rows of the sheets could not be used, and where they are listed."""
    return f"{capital(count(rows, 'row'))} of the sheets could not be used: see by-hand/typing-left.csv."


def readers_judged(judged: Sequence[str], readers: Sequence[str], told: str) -> str:
    """Say whose agreement a kappa is of, where the reference reader is left out of it."""
    return (
        told
        if len(judged) == len(readers)
        else f"Of {' and '.join(judged) if len(judged) == 2 else f'the {len(judged)} readers'} without the reference: {told}"
    )


def readers_band(band: int) -> str:
    """Write the band that a kappa lies in; empty where one reader gave one answer throughout."""
    if band < 0:
        return ""
    return ("0.2 or less", "over 0.2 to 0.4", "over 0.4 to 0.6", "over 0.6 to 0.8", "over 0.8")[band]


def readers_banded(band: int | None) -> str:
    """Tell a kappa behind which small counts stand, without the figure."""
    why = "Small counts stand behind the figures, and no consent is recorded that they may leave"
    if band is None:
        return f"{why}: kappa is not told."
    if band < 0:
        return f"{why}; one reader gave one answer throughout, so that kappa cannot be told."
    return f"Kappa is {readers_band(band)}. {why}: more is not told."


def readers_few_cell() -> str:
    """Stand in a table in place of what small counts are behind."""
    return "few: not told"


def readers_hidden_note(least: int) -> str:
    """Note under a table of readings with hidden cells."""
    return f"few: from 1 to {least - 1} groins, or a cell that would give such a one away."


def readers_against_title(reference: str) -> str:
    """Title of the table of each reader beside the reference."""
    return f"Each reader beside the reference ({reference})"


def typed_column() -> str:
    """Name the typed column as a reader."""
    return "typed column"


def note_reader() -> str:
    """Name the note reader."""
    return "note reader"


def notes_beside_title() -> str:
    """Title of the table of the note reader beside typed columns."""
    return "The note reader beside the typed column, where a hospital sends both"


def notes_beside_told(hospital: str, alike: float, limits: tuple[float, float], groins: int) -> str:
    """Tell one hospital's notes beside its typed column."""
    return (
        f"{hospital}: the note reader and the typed column give the same type to {percent(alike)} "
        f"(95% CI {share_limits(*limits)}) of {count(groins, 'groin')} where both tell one."
    )


def notes_beside_sentence(told: Sequence[tuple[str, int, int]], hidden: int) -> str:
    """Tell notes beside typed columns: hospital, groins, and on how many of them they differ."""
    left = (
        f"{capital(count(hidden, 'hospital'))} with small counts {'is' if hidden == 1 else 'are'} not told."
    )
    if not told:
        return f"Notes beside a typed column: {left[0].lower()}{left[1:]}" if hidden else ""
    shares = sorted((1 - differ / groins, hospital, groins) for hospital, groins, differ in told)
    low, high = shares[0], shares[-1]
    if len(told) == 1:
        said = f"{percent(low[0])} of {count(low[2], 'groin')} ({low[1]})"
    else:
        said = f"{percent(low[0])} ({low[1]}) to {percent(high[0])} ({high[1]}) of groins"
    first = (
        f"Where a hospital sends a typed column and notes, the note reader gives the column's type to {said}."
    )
    return f"{first} {left}" if hidden else first


def readers_rates_told(reference: str, rates: str) -> str:
    """Say how often the record's type is right."""
    return f"Against the reference reader ({reference}), of what is recorded. {rates}"


def readers_enter(enters: bool, explicit: int) -> str:
    """Say whether errors of typing were reckoned with."""
    if enters:
        told = "These rates enter the likelihood of the turns and of the crossings, as [agreement] of the protocol asks"
        return f"{told}; its own entries of [[typing]] stand before them." if explicit else f"{told}."
    return (
        "They do not enter the likelihood: the share is told as the records have it. With 'enters = true' under "
        "[agreement] every direct share, turn and crossing would be told as if no type had been mistaken."
    )


def readers_method(weights: bool, many: bool, *, sheets: bool = True, reference: bool = True) -> str:
    """How agreement was computed."""
    kind = "Cohen's kappa (Educ Psychol Meas 1960;20:37) with limits of Fleiss, Cohen and Everitt (Psychol Bull 1969;72:323)"
    if not sheets:
        return f"{kind}; share alike with Wilson limits. Groins of which column or note tells no type are left out."
    if many:
        kind = f"Fleiss' kappa (Psychol Bull 1971;76:378) over the readers; of two readers {kind}"
    sized = "; sizes, which have an order, with linear weights (Psychol Bull 1968;70:213)" if weights else ""
    told = f"{kind}{sized}. Groins that a reader could not type are counted apart."
    if not reference:
        return told
    return f"{told} Sensitivity and specificity for direct of the recorded type against the reference reader, Wilson limits."


def readers_cannot(reference: str, *, sheets: bool = True, notes: bool = False) -> tuple[str, ...]:
    """What agreement cannot say."""
    told = []
    if sheets:
        told.append(
            "Readers who agree may both be wrong: they read the same record, and nobody looks into that groin again."
        )
        told.append(
            "The reference reader is taken as right; what the reference reader gets wrong is laid to the record."
            if reference
            else "No reader is the reference: how often a recorded type is right cannot be told."
        )
    if notes:
        told.append(
            "Where note and typed column differ either may be wrong, and both may come from the same surgeon."
        )
    return tuple(told)


def readers_pairs_title(first: str, second: str) -> str:
    """Title of the table of two readers."""
    return f"Types that {first} (rows) and {second} (columns) gave to the same groins"


def readers_by_answer_title(many: bool) -> str:
    """Title of the table of agreement by type."""
    return "Kappa, of all types and of each" if many else "Agreement, of all types and on each"


def readers_rates_title() -> str:
    """Title of the table of errors of typing."""
    return "How often the recorded type is right, by the reference reader"


def readers_rates_note(enough: int) -> str:
    """Note under that table."""
    return f"Rows by how the type was known, and by approach, where {enough} directs and {enough} others were read."


def readers_cell(n: int, hidden: bool) -> str:
    """A cell of a table of readings."""
    return "few" if hidden else f"{n:,}"


def readers_figure(value: float, low: float, high: float) -> tuple[str, str]:
    """An agreement and its limits as cells; empty where there is none."""
    if math.isnan(value):
        return "", ""
    if _one_throughout(value, (low, high)):
        return "cannot be told", ""
    return number(value, 2), "" if math.isnan(low) else _limits((low, high))


def readers_rate(rate: tuple[float, float, float], least: int) -> str:
    """A rate of typing as a cell."""
    value, low, high = rate
    if math.isnan(value):
        return f"not told (fewer than {least} behind it)"
    return f"{percent(value)} ({share_limits(low, high)})"


def readers_rate_told(which: str, rate: tuple[float, float, float], groins: int) -> str:
    """A rate of typing as a sentence."""
    return f"Recorded types have a {which} for direct of {_rate(rate, 0.95)}, by {count(groins, 'groin')} of the reference reader."


def notes_beside_lines(
    hospital: str, kappa: str, groins: int, types: Sequence[str], rows: Sequence[tuple[str, Sequence[int]]]
) -> tuple[str, ...]:
    """Tell the note reader beside a typed column, with a small table."""
    first = f"{hospital}: notes read beside the typed column, {count(groins, 'groin')}. {kappa}".strip()
    head = f"  {'typed':<10}" + "".join(f"{name:>10}" for name in types) + "  (read from the note)"
    return (
        first,
        head,
        *(f"  {name:<10}" + "".join(f"{n:>10,}" for n in cells) for name, cells in rows),
    )
