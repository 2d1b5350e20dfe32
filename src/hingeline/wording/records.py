"""Words on records: what was detected, what was set aside, where every groin went."""

from __future__ import annotations

from .numbers import age, count, few, percent

_DELIMITERS = {";": "semicolons", ",": "commas", "\t": "tabs", "|": "vertical bars"}
_ENCODINGS = {
    "utf-8": "UTF-8",
    "utf-16": "UTF-16",
    "utf-16-le": "UTF-16",
    "utf-16-be": "UTF-16",
    "latin-1": "Latin-1",
    "cp1252": "Windows (cp1252)",
}


def detected_encoding(file: str, encoding: str, why: str) -> str:
    """Say how a file's text is encoded and, where it is no matter of course, why that was taken."""
    name = _ENCODINGS.get(encoding.lower().replace("_", "-").removesuffix("-sig"), encoding)
    return f"{file}: text, {name}{', ' if why else ''}{why}"


def detected_kind(file: str, kind: str, named: str) -> str:
    """Say that a file is not what its name says it is."""
    kinds = {"xlsx": "a spreadsheet", "parquet": "a Parquet file", "text": "text"}
    return f"{file}: {kinds[kind]}, by its content, not {kinds[named]}"


def detected_delimiter(file: str, delimiter: str, held: int, expected: int) -> str:
    """Say what parts the cells, and what speaks for it."""
    name = _DELIMITERS.get(delimiter, repr(delimiter))
    found = f"with them {count(held)} of {count(expected, 'mapped column')} are found"
    return f"{file}: cells parted by {name}; {found if held else 'so all rows are equally long'}"


def detected_header(file: str, row: int) -> str:
    """Say in which row the column names stand."""
    return f"{file}: column names in row {count(row)}"


def detected_decimal(file: str) -> str:
    """Say that decimals are written with a comma."""
    return f"{file}: decimal comma; numbers such as 3,4 stand in cells of their own"


def detected_nul(file: str) -> str:
    """Say that NUL characters were left out."""
    return f"{file}: holds empty characters (NUL), which were left out"


def detected_sheet(file: str, sheet: str, held: int, expected: int) -> str:
    """Say which sheet was taken and why."""
    found = f"{count(held)} of {count(expected, 'mapped column')} are found there"
    return f"{file}: sheet {sheet}; {found}, more than on any other"


def detected_parquet(file: str) -> str:
    """Say that a file is Parquet."""
    return f"{file}: Parquet file"


def detected_date_order(column: str, order: str, count_of: int) -> str:
    """Say in which order dates stand, and how many of them could be read in no other."""
    names = {"d": "day", "m": "month", "y": "year"}
    order_words = ", ".join(names[letter] for letter in order)
    return f"column {column}: dates as {order_words}; {count(count_of, 'date')} can be read in no other order"


def detected_two_orders(column: str, day_first: int, month_first: int, ambiguous: int) -> str:
    """Say that a column holds dates in two orders, and what is done with those that fit both."""
    return (
        f"column {column}: dates in two orders, {count(day_first)} that can only have the day first and "
        f"{count(month_first)} only the month; each was read by the order that fits, and "
        f"{count(ambiguous, 'date')} that fit both were not guessed; [dates] order in the legend would settle them"
    )


def detected_keys_of_dates() -> str:
    """Say that patients are told from one another by birth, sex and operation."""
    return (
        "the legend maps no patient key: a patient is told by date of birth, sex and date of operation, so two "
        "operations of one patient on different days count as two patients"
    )


def detected_borrowed_order(column: str, order: str) -> str:
    """Say that a column's dates are read as those of the other columns."""
    names = {"d": "day", "m": "month", "y": "year"}
    return (
        f"column {column}: dates as {', '.join(names[letter] for letter in order)}, as in the other columns"
    )


def detected_decimal_ages(file: str) -> str:
    """Say that whole numbers among decimal ages are not whole years."""
    return f"{file}: ages are decimal, so a whole number among them is not the middle of a year"


def _order_words(order: str) -> str:
    names = {"d": "day", "m": "month", "y": "year"}
    return "/".join(names[letter] for letter in order)


def doubt_set_aside(groins: int, read: int, rule: str, hint: str) -> str:
    """Say that many groins are set aside under one rule, and what to look at."""
    return f"look at this: {count(groins)} of {count(read, 'groin')} ({percent(groins / read)}) set aside as {rule}. {hint}"


def doubt_unread(cells: int, read: int, name: str, hint: str) -> str:
    """Say that many cells of a field could not be read, and what to look at."""
    return f"look at this: {name} could not be read in {count(cells)} of {count(read, 'groin')}. {hint}"


def hint_date_order(name: str, share: float, order: str) -> str:
    """Ask whether dates are read in the right order."""
    how_many = "Most" if share > 0.5 else "Many"
    as_what = f" as {_order_words(order)}" if order else ""
    return f"{how_many} dates of {name} cannot be read{as_what}: is [dates] order right?"


def hint_dates(order: str) -> str:
    """Ask whether the dates are read as they are meant."""
    as_what = f" ({_order_words(order)})" if order else ""
    return f"Is [dates] order right{as_what}, and are [fields.born_on] and [fields.operated_on] the right columns?"


def hint_age_unit() -> str:
    """Ask whether ages are in the unit that the legend says."""
    return "Many ages lie below 0 or above 110 years: is the unit of [fields.age] right?"


def hint_birth_and_operation() -> str:
    """Ask whether the two dates that make an age are the right ones."""
    return "Are [fields.born_on] and [fields.operated_on] the right columns, and is [dates] order right?"


def hint_codes(name: str) -> str:
    """Ask whether the codes of a field are complete."""
    return f"Are the column and the codes of {name} in the legend right and complete?"


def hint_number(name: str) -> str:
    """Ask whether a number is in the unit that the legend says."""
    return f"Are the column and the unit of {name} in the legend right?"


def hint_duplicates() -> str:
    """Ask whether records were exported twice."""
    return "Was the export made twice, or is one file named twice?"


def hint_rule(todo: str) -> str:
    """Say what a rule advises."""
    return f"{todo}."


def doubt_all_young(years: int, unit: str) -> str:
    """Say that hardly a patient is old, although ages are read in a unit smaller than years."""
    return (
        f"look at this: nearly every patient is under {count(years, 'year')} when ages are read as {unit}: "
        "is the unit of [fields.age] right?"
    )


def doubt_median(years: float, has_age: bool) -> str:
    """Say that half of the patients are older than is likely."""
    ask = "is the unit of [fields.age] right?" if has_age else "are the dates of birth read rightly?"
    return f"look at this: half of the patients are older than {age(years, 0)} years: {ask}"


def with_other_row(todo: str, file: str, row: int) -> str:
    """Name the other of two rows beside what is to be done about them."""
    return f"{todo}; the other is row {row} of {file}"


def records_read(hospital: str, rows: int, groins: int, cases: int, set_aside: int) -> str:
    """Say what intake made of one hospital's files."""
    return (
        f"{hospital}: {count(rows, 'row')}, {count(groins, 'groin')}, of which "
        f"{count(cases, 'case')} and {count(set_aside)} set aside"
    )


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


def flow_heading() -> str:
    """Head the part on records."""
    return "Where every groin went"


def flow_title() -> str:
    """Title the flow diagram."""
    return "From exports to the headline cases"


def flow_rows() -> str:
    """Label the first box of the flow."""
    return "Rows in the exports, blank ones and totals among them"


def flow_read() -> str:
    """Label the groins read."""
    return "Groins read"


def flow_cases() -> str:
    """Label the cases."""
    return "Cases: groins operated once"


def invented() -> str:
    """Say that nothing here is real."""
    return "Invented records: no hospital and no patient here is real."


def other_reasons() -> str:
    """Name several reasons of few groins each, told together."""
    return "other reasons"


def flow_aside(reasons: dict[str, int], most: int, least: int) -> str:
    """Label what was set aside, the commonest reasons first."""
    ordered = sorted(reasons.items(), key=lambda item: -item[1])
    told = [f"{name} ({few(n, least)})" for name, n in ordered[:most]]
    rest = sum(n for _, n in ordered[most:])
    if rest:
        told.append(f"other reasons ({few(rest, least)})")
    return f"Set aside: {'; '.join(told)}" if told else "Set aside"


def flow_outside(reasons: dict[str, int], least: int) -> str:
    """Label the cases that the headline leaves out."""
    return f"Outside the headline: {'; '.join(f'{name} ({few(n, least)})' for name, n in reasons.items())}"


def flow_headline(occurrence: str, people: str) -> str:
    """Label the headline cases."""
    return f"Headline: {occurrence} inguinal hernias of known type, {people}"


def flow_alt(rows: int, read: int, aside: int, cases: int, headline: int) -> str:
    """Describe the flow diagram for those who cannot see it."""
    return (
        f"Flow diagram. {count(rows, 'row')} in the exports, blank ones and totals among them, hold {count(read, 'groin')}; {count(aside)} were set "
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
        "in a list that never leaves the hospital. Rows are all those of the files below the names; a first look counts "
        "those of records alone."
    )


def flow_grid_title() -> str:
    """Title the table of records by hospital."""
    return "Records by hospital"


def flow_heads(short: bool) -> tuple[str, ...]:
    """Head the table of records by hospital, short where what was set aside is not told apart."""
    whole = ("Hospital", "Rows read", "Groins read", "Set aside", "Cases")
    return (*whole[:2], whole[-1]) if short else whole


def aside_grid_title() -> str:
    """Title the table of reasons."""
    return "Why groins were set aside"


def aside_heads() -> tuple[str, ...]:
    """Head the table of reasons."""
    return ("Reason", "Groins")


def aside_note() -> str:
    """Note under the table of reasons."""
    return "Each groin is counted once, under the first rule that it breaks."
