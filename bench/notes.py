"""Reading 20,000 operation notes of some 600 characters, one process against two, beside mere tokenising.

Each note is one of the reader's own examples, lengthened with the sentences that any operation note holds (who stood
where, counts, closure, what to do afterwards) and numbered so that none is read twice; with ``--dense`` it is several
examples joined, five operations in one note, which is more than any real note tells. The yardstick parts the same notes
into words with one regular expression and does nothing else. Processor seconds (children included) stand beside the
clock's, which on a shared machine tell less.

    python bench/notes.py [NOTES] [--length N] [--turns N] [--dense]
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


ROUND_ABOUT = (
    "The patient was brought to theatre and identified, and the checklist was gone through with the whole team.",
    "Supine, padded at the heels, warmed from above.",
    "Skin prepared with chlorhexidine from the nipples to the knees and draped.",
    "A single dose of an antibiotic was given {n} minutes before the skin was touched.",
    "Haemostasis was complete.",
    "Swabs, needles and instruments were counted twice and were correct.",
    "Blood loss under {n} ml.",
    "The layers were closed with absorbable sutures and the skin with a buried running suture.",
    "Skin glue and a light dressing.",
    "He was woken without coughing and taken to recovery.",
    "Paracetamol by weight every six hours for {n} days.",
    "The family was spoken to afterwards and had no questions.",
    "Home when drinking and comfortable; seen by the ward nurse at {n} o'clock.",
    "No bath for {n} days, no sport for three weeks.",
    "To be seen in the clinic in {n} weeks.",
    "Time from cut to dressing {n} minutes.",
)


def invent(notes: int, length: int, *, dense: bool = False) -> list[str]:
    """Notes of about a length, all different."""
    texts = [one["text"] for one in tomllib.loads(EXAMPLES.read_text(encoding="utf-8"))["note"]]
    chance = random.Random(20_000)
    made = []
    for number in range(notes):
        parts = [f"Case {number}.", chance.choice(texts)]
        while sum(map(len, parts)) < length:
            if dense:
                parts.append(chance.choice(texts))
            else:
                more = chance.choice(ROUND_ABOUT).format(n=chance.randrange(2, 59))
                parts.insert(chance.randrange(1, len(parts) + 1), more)
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
    parser.add_argument("--dense", action="store_true")
    asked = parser.parse_args()
    notes = invent(asked.notes, asked.length, dense=asked.dense)
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
