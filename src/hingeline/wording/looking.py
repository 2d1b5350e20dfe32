"""Words on a first look at an export: what its columns hold, what a legend proposes, why and how sure."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from .numbers import CAUTION, count, listed, number, percent
from .terminal import escaped


def look_named(words: Sequence[str]) -> str:
    """Say which words of a column's name tell."""
    quoted = " and ".join(f"“{word}”" for word in dict.fromkeys(words))
    return f"its name says {quoted}"


def look_holds_dates(share: float) -> str:
    """Say that cells are dates."""
    return "its cells are dates" if share > 0.99 else f"{percent(share, 0)} of its cells are dates"


def look_holds_serials() -> str:
    """Say that cells are day numbers."""
    return "its cells are day numbers of a spreadsheet"


def look_earliest() -> str:
    """Say that a date comes before all others."""
    return "no other date of a row is before it"


def look_makes_age() -> str:
    """Say that two dates make the age."""
    return "with another date it makes the age"


def look_seldom_filled(share: float) -> str:
    """Say that few cells are filled."""
    return f"filled in {percent(share, 0)} of the rows, as what seldom happens"


def look_few_repeated(distinct: int) -> str:
    """Say that few values repeat."""
    return f"{count(distinct, 'value')} that repeat"


def look_mostly_different(distinct: int, filled: int) -> str:
    """Say that values are mostly different."""
    return f"{count(distinct, 'different value')} in {count(filled, 'cell')}"


def look_some_repeat() -> str:
    """Say that some keys stand in several rows."""
    return "some stand in several rows"


def look_age_of_dates(share: float, unit: str) -> str:
    """Say that a number is the time between two dates."""
    return f"in {percent(share, 0)} of the rows it is the time between two dates, in {unit}"


def look_says_unit(unit: str) -> str:
    """Say that the name gives the unit."""
    return f"its name says {unit}"


def look_units_in_cells() -> str:
    """Say that cells give their units."""
    return "its cells say their units"


def look_beyond_years(top: float) -> str:
    """Say that numbers are too high for years."""
    return f"its numbers reach {number(top, 0)}, too high for years"


def look_range(low: float, high: float) -> str:
    """Say between what numbers lie."""
    return f"its numbers lie between {_plain(low)} and {_plain(high)}"


def _plain(value: float) -> str:
    return number(value, 0 if value == round(value) else 1)


def look_codes_read(share: float) -> str:
    """Say how many cells' codes are understood."""
    if share == 1:
        return "all its codes can be read"
    told = "nearly all" if share > 0.995 else percent(share, 0)
    return f"the codes of {told} of its cells can be read"


def look_numbers_as_codes(distinct: int) -> str:
    """Say that codes are numbers."""
    return f"it holds {count(distinct, 'number')} as codes"


def look_by_key() -> str:
    """Say that codes were read from a key that the file brings along."""
    return "its codes are read by the file's own key"


def look_ehs(share: float) -> str:
    """Say that cells are codes of the European Hernia Society."""
    return f"{percent(share, 0)} of its cells are EHS codes"


def look_long_texts(length: float) -> str:
    """Say that cells are long texts about hernias."""
    return f"it holds texts of {number(length, 0)} characters on average that speak of hernias"


def look_shared() -> str:
    """Say that a column's codes carry more than one field."""
    return "the codes of this column carry it beside another field"


def look_told() -> str:
    """Say that a person settled it."""
    return "a person said so"


def look_field(name: str) -> str:
    """Name a field as a person reads it."""
    return name.replace("_", " ")


def look_why(why: Sequence[str]) -> str:
    """Join reasons."""
    return "; ".join(why)


def look_reason(sure: str, why: Sequence[str], runner_up: str | None) -> str:
    """Tell why a column was taken, how sure that is and which came next."""
    told = f"{sure}: {look_why(why)}" if why else f"{sure}: no column was found"
    return f"{told} (next: “{runner_up}”)" if runner_up else told


def look_ask_column(name: str, column: str, runner_up: str | None) -> str:
    """Ask whether a column is the right one."""
    other = f", or “{runner_up}”" if runner_up else ""
    return f"Is {look_field(name)} in column “{column}”{other}?"


def look_ask_codes(name: str, unknown: Sequence[str]) -> str:
    """Ask what codes mean."""
    shown = ", ".join(f"“{one}”" for one in unknown[:12])
    more = f" and {count(len(unknown) - 12)} more" if len(unknown) > 12 else ""
    return f"What do the codes {shown}{more} mean for {look_field(name)}?"


def look_ask_as_left() -> str:
    """Say that the right side waits for the same answer as the left."""
    return "The same question as for the left."


def look_ask_standard() -> str:
    """Ask whether sexes are coded by the standard."""
    return "Is 1 male and 2 female, as in ISO/IEC 5218?"


def look_ask_occurrence(column: str) -> str:
    """Ask whether a flag of recurrence tells what was operated on, or what came after."""
    return f"Does “{column}” tell that a recurrent hernia was operated on (and not that one came back later)?"


def look_ask_unit(unit: str) -> str:
    """Ask for the unit of ages."""
    return f"Are ages in {unit}?"


def look_ask_order(example: str) -> str:
    """Ask for the order of dates."""
    shown = f" such as {example}" if example else ""
    return f"Are dates{shown} day first? Nothing in the file settles it."


def look_ask_missing(name: str) -> str:
    """Ask for a column that was not found."""
    return f"No column of {look_field(name)} was found: which is it?"


def look_not_understood(unknown: Sequence[str]) -> str:
    """Say which codes have no meaning yet."""
    return f"not understood: {', '.join(f'“{one}”' for one in unknown)}"


def look_legend_head(asked: int) -> list[str]:
    """Head a proposed legend."""
    if not asked:
        return ["Proposed by hingeline look. Nothing is left to confirm; read it through all the same."]
    return [
        "Proposed by hingeline look. Entries with a line 'confirm' wait for a person: look at each, correct what is "
        f"wrong, and remove the line. To confirm ({count(asked)}):"
    ]


def look_wrapped(text: str) -> list[str]:
    """Break a remark into lines."""
    return textwrap.wrap(text, 112, break_long_words=False, break_on_hyphens=False) or [""]


def look_same_form(name: str, sheet: bool) -> str:
    """Say that another table has the same columns."""
    if sheet:
        return (
            f"Sheet “{name}” has the same columns; a legend reads one sheet, so save it as a file of its own."
        )
    return f"{name} has the same columns and is read by the same legend."


def look_left_aside(name: str) -> str:
    """Say that a table is not read."""
    return f"“{name}” holds neither operations nor visits that could be joined, and is left aside."


def look_summary(hospital: str, fields: int, asked: int) -> str:
    """Say what a proposal came to."""
    return f"A proposed legend for {escaped(hospital)}: {count(fields, 'field')}, {count(asked, 'thing')} to confirm"


def look_proposal(
    hospital: str,
    form: str,
    rows: Sequence[tuple[str, str, str, str]],
    asked: Sequence[str],
    drop: Sequence[str],
    notes: Sequence[str],
) -> str:
    """Write a proposal for a terminal."""
    form_told = "a row is a patient" if form == "patients" else "a row is an operation"
    width = max([len(row[0]) for row in rows], default=0)
    lines = [f"{look_summary(hospital, len(rows), len(asked))}; {form_told}."]
    lines += [
        f"  {name:<{width}}  “{escaped(column)}” ({sure}: {escaped(why)})" for name, column, sure, why in rows
    ]
    if drop:
        lines.append(
            f"Left out, since they seem to identify people: {', '.join(escaped(one) for one in drop)}."
        )
    if asked:
        lines += ["To confirm:", *(f"  {n}. {escaped(one)}" for n, one in enumerate(asked, 1))]
    lines += [escaped(note) for note in notes]
    return "\n".join([*lines, CAUTION])


def look_unused(columns: Sequence[str]) -> str:
    """Name the columns that no field takes."""
    return f"Not used: {listed([f'“{column}”' for column in columns])}."


def look_described(name: str, tables: int, rows: int, columns: int) -> str:
    """Say what a file holds."""
    parts = f" in {count(tables, 'sheet')}" if tables > 1 else ""
    return f"{escaped(name)}: {_of_records(rows)}, {count(columns, 'column')}{parts}"


def _of_records(rows: int) -> str:
    """Count rows as a first look does; a report counts every row of the file, and says so."""
    return f"{count(rows, 'row', 'rows')} of records (without names, blank rows and totals)"


def look_masked(why: str) -> str:
    """Say that a column's cells are not shown."""
    return f"not shown: {why}"


def look_range_told(low: float, high: float) -> str:
    """Say between what numbers lie."""
    return f"{_plain(low)} to {_plain(high)}"


def look_codes(codes: Sequence[tuple[str, int]], distinct: int) -> str:
    """Write codes with their counts."""
    shown = ", ".join(f"“{code}” {count(times)}" for code, times in codes)
    return f"{shown}, …" if distinct > len(codes) else shown


def look_text_told(length: float) -> str:
    """Say how long texts are."""
    return f"{number(length, 0)} characters on average"


def look_keys_told(distinct: int, filled: int) -> str:
    """Say how many keys there are."""
    return (
        "every one different"
        if distinct == filled
        else f"{count(distinct)} different ones in {count(filled, 'cell')}"
    )


def look_dates_told(order: str, years: tuple[int, int] | None) -> str:
    """Say in which order dates stand and what years they span."""
    orders = {
        "dmy": "day, month, year",
        "mdy": "month, day, year",
        "ymd": "year, month, day",
        "plain": "year first, or with the month's name",
        "mixed": "in two orders",
        "ambiguous": "day or month first, which no cell settles",
    }
    span = f"; {years[0]} to {years[1]}" if years else ""
    return f"{orders[order]}{span}"


def look_table(
    name: str,
    sheet: str,
    rows: int,
    broken: int,
    detected: Sequence[str],
    columns: Sequence[tuple[str, str, str, int, int, int, str]],
) -> str:
    """Write the description of one table for a terminal."""
    place = f"{name}, sheet {sheet}" if sheet else name
    lines = [f"{escaped(place)}: {_of_records(rows)}, {count(len(columns), 'column')}"]
    lines += [f"  {escaped(one)}" for one in detected]
    if broken:
        lines.append(f"  {count(broken, 'row does', 'rows do')} not fit the header")
    width = min(40, max([len(one[1]) for one in columns], default=0))
    for letter, column, kind, filled, of, distinct, told in columns:
        fill = "always filled" if filled == of else f"{percent(filled / of if of else 0.0, 0)} filled"
        shown = escaped(column)
        more = f": {escaped(told)}" if told else ""
        lines.append(f"  {letter:>3}  {shown:<{width}}  {kind} ({fill}, {count(distinct)} distinct){more}")
    return "\n".join(lines)
