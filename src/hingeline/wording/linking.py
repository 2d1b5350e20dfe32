"""Words on linking: visits joined to operations, operations ordered in time, and what a person should settle."""

from __future__ import annotations

from collections.abc import Sequence

from .numbers import count, percent

_WHY = {
    "birth digit": "the date of birth differs in one digit; sex and date of operation are the same",
    "birth turned": "day and month of the date of birth stand the other way round; sex and date of operation are the same",
    "operation near": "the date of operation differs by a few days; sex and date of birth are the same",
    "several": "several patients have this date of birth, sex and date of operation",
    "key differs": "date of birth, sex and date of operation are the same, but the key is another",
    "person differs": "the key is the same, but neither the sex nor the date of birth is",
    "two groins": "two groins were operated by then, and the visit does not say which of them the finding was in",
}


def linked_visits(read: int, joined: int, by_key: int, by_three: int, settled: int) -> str:
    """Say how many visits were joined, and by what."""
    ways = [
        f"{count(rows)} {how}"
        for rows, how in (
            (by_key, "by the patient's key"),
            (by_three, "by date of birth, sex and date of operation"),
            (settled, "as a person settled"),
        )
        if rows
    ]
    return (
        f"{count(read, 'visit')} read = {count(joined)} joined to operations"
        f"{' (' + ', '.join(ways) + ')' if ways else ''} + {count(read - joined)} set aside"
    )


def ordered_operations(again: int, other: int, close: int) -> str:
    """Say how many operations followed another of the same patient, and what they were taken for."""
    told = []
    if again:
        told.append(f"{count(again)} in a groin operated before for a hernia, taken as recurrences there")
    if other:
        told.append(f"{count(other)} after which the other groin was first operated, which is no recurrence")
    if close:
        told.append(
            f"{count(close)} followed within a week in the same groin, taken for no recurrence: correct the date, or "
            "call the later one recurrent"
        )
    return f"operations in order of time: {'; '.join(told)}"


def doubt_visits(rows: int, read: int, rule: str) -> str:
    """Say that many visits are set aside under one rule."""
    return (
        f"look at this: {count(rows)} of {count(read, 'visit')} ({percent(rows / read)}) set aside as {rule}."
    )


def doubt_keys_written_otherwise(rows: int) -> str:
    """Say that keys of visits would be those of operations, were they written alike."""
    return (
        f"look at this: the keys of {count(rows, 'visit')} stand among the operations only with other blanks, signs, "
        "capitals or leading zeros. Write them alike in both files; no key is guessed."
    )


def operation_named(file: str, row: int, side: str | None) -> str:
    """Name an operation as a decision does, with its side where a row may hold two."""
    return f"{file}{' ' + side if side else ''}:{row}"


def pair_shown(file: str, row: int, operations: Sequence[str]) -> str:
    """Show where a visit stands and which operations it may belong to."""
    few = ", ".join(operations[:6]) + (", …" if len(operations) > 6 else "")
    return f"visit {file}:{row}; operations {few}"


def pair_why(why: str, answer: str | None) -> str:
    """Say why a visit is not joined, or its finding not applied, and what became of an answer."""
    told = _WHY[why]
    return f"{told}; the answer {answer!r} names no one of them" if answer is not None else told
