"""Reading 20,000 operation notes of some 600 characters, one process against two, beside mere tokenising.

The notes are the reader's own examples, joined until they are long enough, each with a number of its own so that none
is read twice. The yardstick parts the same notes into words with one regular expression and does nothing else.
Processor seconds (children included) stand beside the clock's, which on a shared machine tell less.

    python bench/notes.py [NOTES] [--length N] [--turns N]
"""

from __future__ import annotations

import argparse
import random
import re
import resource
import time
import tomllib
from collections.abc import Callable, Sequence
from pathlib import Path

from hingeline.records.opnote import read_notes

EXAMPLES = Path(__file__).parents[1] / "tests" / "records" / "opnote_examples.toml"


def invent(notes: int, length: int) -> list[str]:
    """Notes of about a length, all different."""
    texts = [one["text"] for one in tomllib.loads(EXAMPLES.read_text(encoding="utf-8"))["note"]]
    chance = random.Random(20_000)
    made = []
    for number in range(notes):
        parts = [f"Case {number}."]
        while sum(map(len, parts)) < length:
            parts.append(chance.choice(texts))
        made.append("\n".join(parts)[: length + length // 10])
    return made


def measured(work: Callable[[], object]) -> tuple[float, float]:
    """Processor and clock seconds of some work, its child processes included."""

    def used() -> float:
        ours, theirs = resource.getrusage(resource.RUSAGE_SELF), resource.getrusage(resource.RUSAGE_CHILDREN)
        return ours.ru_utime + ours.ru_stime + theirs.ru_utime + theirs.ru_stime

    cpu, clock = used(), time.perf_counter()
    work()
    return used() - cpu, time.perf_counter() - clock


def tokenise(notes: Sequence[str]) -> int:
    """Part every note into words, and count them."""
    return sum(len(re.findall(r"\w+", note)) for note in notes)


def main() -> None:
    """Print one line a way and turn."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("notes", nargs="?", type=int, default=20_000)
    parser.add_argument("--length", type=int, default=600)
    parser.add_argument("--turns", type=int, default=2)
    asked = parser.parse_args()
    notes = invent(asked.notes, asked.length)
    assert len(set(notes)) == len(notes)
    mean = sum(map(len, notes)) / len(notes)
    print(f"{len(notes):,} distinct notes, {mean:.0f} characters on average")
    ways: dict[str, Callable[[], object]] = {
        "tokenise only": lambda: tokenise(notes),
        "one process": lambda: read_notes(notes, processes=1),
        "two processes": lambda: read_notes(notes, processes=2),
    }
    for turn in range(asked.turns):
        told = {name: measured(work) for name, work in ways.items()}
        yardstick, single = told["tokenise only"], told["one process"]
        for name, (cpu, clock) in told.items():
            print(
                f"turn {turn + 1}  {name:<14} processor {cpu:6.2f} s ({cpu / len(notes) * 1e6:5.0f} µs a note, "
                f"{cpu / yardstick[0]:5.1f} x tokenising)   clock {clock:6.2f} s "
                f"({clock / single[1]:4.2f} x one process)"
            )


if __name__ == "__main__":
    main()
