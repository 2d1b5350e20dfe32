"""Words on what a person is asked: open questions, their answers, and typing sheets."""

from __future__ import annotations

from .numbers import count, listed


def typing_sheet_title(reader: int) -> str:
    """Heading of one reader's blank typing sheet."""
    return f"Typing again: sheet of reader {reader}"


def typing_sheet_rules() -> tuple[str, ...]:
    """What a reader of a typing sheet has to know."""
    return (
        "Two readers type the same groins, each alone and without knowing what the other or the record says. "
        "The rows stand in a different order on each sheet; the number in the first column ties them together.",
        "For each groin find the operation by hospital, file and row, read its record, and choose in the sheet "
        "'Typing' the type: indirect (lateral, through the internal ring), direct (medial, through the floor), "
        "combined (both), femoral, or unknown when the record does not tell it. Unknown is an answer; a guess is not.",
        "Then choose how the record knows it: laparoscopic view, floor examined, not examined, code only, or unknown.",
        "Leave no row empty, change nothing else, and save the file. It holds patients' records: keep it where they are kept.",
    )


def questions_told(kinds: dict[str, int], rows: int) -> str:
    """Say what waits for a person, by kind of question."""
    if not kinds:
        return "Nothing waits for a person's answer."
    names = {"code": "unknown code", "note": "doubtful note", "pair": "doubtful visit"}
    told = [count(number, names[kind]) for kind, number in kinds.items()]
    return f"Waiting for a person's answer: {listed(told)}; {count(rows, 'row')} {'depends' if rows == 1 else 'depend'} on the answers."


def question_stands(file: str | None, sheet: str | None, row: int | None, rows: int | None) -> str:
    """Say where the record of a question stands: the first of its rows, and how many more there are."""
    if not file or row is None:
        return ""
    place = listed_place(file, sheet, row)
    more = (rows or 1) - 1
    return f"{place} (and {count(more, 'more row')})" if more > 0 else place


def listed_place(file: str, sheet: str | None, row: int) -> str:
    """Name a row of a file as a person looks it up."""
    return f"{file}, sheet {sheet}, row {row}" if sheet else f"{file}, row {row}"


def decisions_told(standing: int) -> str:
    """Say how many answers of people the records were read by."""
    return f"Read by {count(standing, 'answer')} that a person gave (decisions.csv)."


def settled_told(number: int) -> str:
    """Say how many answers were taken up."""
    if not number:
        return "No row of the list has an answer; nothing was settled."
    return f"{count(number, 'answer')} taken into the study's decisions."


def sample_told(groins: int, asked: int) -> str:
    """Say what was drawn for a second reading."""
    fewer = f" (all there are; {asked} were asked for)" if groins < asked else ""
    return f"{count(groins, 'groin')} drawn at random for two readers{fewer}."


def look_next(to_confirm: int, legend: str, study: str | None) -> str:
    """Say what to do after a first look."""
    if to_confirm:
        first = (
            f"Next: open {legend}, look at the {count(to_confirm, 'entry', 'entries')} marked 'confirm', correct what is "
            "wrong and remove those lines"
        )
    else:
        first = f"Next: read {legend} once"
    then = (
        f"call 'hingeline check {study}'"
        if study
        else "name it in a study, or call 'look' again with --study"
    )
    return f"{first}; then {then}."


def why_code(name: str) -> str:
    """Say why a code is asked about."""
    return f"neither the legend nor the vocabulary knows it as a code of {name}"


def why_no_side() -> str:
    """Say why a note without a side is asked about."""
    return "the note tells no side, and no column does"
