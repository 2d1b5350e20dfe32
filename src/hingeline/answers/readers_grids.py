"""Tables of the part on readers: agreement and errors of typing come in, rows of ready text go out.

What may not leave is left out here: cells of two readers' table by `readers_cells`, rates behind which few errors
stand, and rows that would tell a hidden one by subtraction.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from .. import vocabulary, wording
from ..estimates.agreement import FleissKappa, Kappa, TypingRates
from .findings import Grid
from .outcome_cells import Leaving
from .readers_cells import any_small, band_of, hidden_cells
from .readings import ENOUGH, KNOWN, STRATA, Pair

Shown = tuple[float, float, float]


def differing(pair: Pair) -> tuple[int, int]:
    """Return groins that both typed, and those of them that they typed differently."""
    known = pair.all[:-1, :-1]
    return int(known.sum()), int(known.sum() - np.trace(known))


def figure_of(pair: Pair, leaving: Leaving) -> tuple[str, str]:
    """Write a pair's kappa and its limits as far as they may leave: as found, as a band, or not at all."""
    if pair.kappa is None or differing(pair)[0] < leaving.least:
        return wording.readers_few_cell(), ""
    if not any_small(pair.all, leaving):
        return wording.readers_figure(pair.kappa.kappa, pair.kappa.low, pair.kappa.high)
    if differing(pair)[1] < leaving.least:
        return wording.readers_few_cell(), ""
    return wording.readers_band(band_of(pair.all[:-1, :-1])) or wording.readers_few_cell(), ""


def pair_grid(pair: Pair, leaving: Leaving) -> Grid | None:
    """Types of one reader by those of the other; None where the whole table is hidden."""
    cells = pair.all.astype(np.int64)
    hidden = hidden_cells(cells, leaving)
    if hidden.all():
        return None
    names = (*KNOWN, vocabulary.UNKNOWN)
    return Grid(
        title=wording.readers_pairs_title(pair.first, pair.second),
        heads=(pair.first, *names),
        rows=tuple(
            (name, *(wording.readers_cell(int(n), bool(h)) for n, h in zip(row, hide, strict=True)))
            for name, row, hide in zip(names, cells, hidden, strict=True)
        ),
        numeric=tuple(range(1, len(names) + 1)),
        note=wording.readers_hidden_note(leaving.least) if hidden.any() else "",
    )


def answer_grid(kappa: Kappa | FleissKappa) -> Grid:
    """Agreement of all types and on each."""
    rows: list[tuple[str, ...]] = []
    for row in kappa.to_frame().to_pylist():
        if isinstance(kappa, Kappa):
            rows.append((str(row["what"]), *wording.readers_figure(row["estimate"], row["low"], row["high"])))
        else:
            rows.append((str(row["answer"]), *wording.readers_figure(row["kappa"], row["low"], row["high"])))
    return Grid(
        title=wording.readers_by_answer_title(isinstance(kappa, FleissKappa)),
        heads=("", "estimate", "95% CI"),
        rows=tuple(row for row in rows if row[1]),
        numeric=(1, 2),
    )


def against_grid(pairs: Sequence[Pair], leaving: Leaving) -> Grid:
    """Each reader beside the reference."""
    return Grid(
        title=wording.readers_against_title(pairs[0].second),
        heads=("reader", "typed by both", "kappa", "95% CI"),
        rows=tuple(
            (pair.first, wording.few(differing(pair)[0], leaving.least), *figure_of(pair, leaving))
            for pair in pairs
        ),
        numeric=(1, 2, 3),
    )


def notes_told(notes: Mapping[str, Pair], leaving: Leaving) -> dict[str, Pair]:
    """Keep the hospitals whose notes may be told beside their typed column."""
    return {
        hospital: pair
        for hospital, pair in notes.items()
        if pair.kappa is not None
        and differing(pair)[0] >= leaving.least
        and (leaving.consent or not 0 < differing(pair)[1] < leaving.least)
    }


def notes_grid(notes: Mapping[str, Pair], leaving: Leaving) -> Grid:
    """The note reader beside the typed column, hospital by hospital."""
    told = notes_told(notes, leaving)
    rows = []
    for hospital, pair in notes.items():
        if hospital not in told or pair.kappa is None:
            rows.append((hospital, wording.readers_few_cell(), "", "", ""))
            continue
        kappa = pair.kappa
        rows.append(
            (
                hospital,
                wording.count(differing(pair)[0]),
                wording.readers_rate(
                    (kappa.observed, kappa.observed_low, kappa.observed_high), leaving.least
                ),
                *figure_of(pair, leaving),
            )
        )
    return Grid(
        title=wording.notes_beside_title(),
        heads=("hospital", "both tell a type", "alike (95% CI)", "kappa", "95% CI"),
        rows=tuple(rows),
        numeric=(1, 2, 3, 4),
    )


def shown(rates: TypingRates, at: int, which: str, leaving: Leaving) -> Shown:
    """Return a rate with its limits, nan where it may not leave: few behind it, or few errors."""
    right, whole = _behind(rates, at, which)
    if whole < leaving.least or not (_open(right, leaving) and _open(whole - right, leaving)):
        return (float("nan"),) * 3
    value = float(getattr(rates, which)[at])
    return value, float(getattr(rates, f"{which}_low")[at]), float(getattr(rates, f"{which}_high")[at])


def _behind(rates: TypingRates, at: int, which: str) -> tuple[int, int]:
    whole = float((rates.directs if which == "sensitivity" else rates.others)[at])
    return (round(float(getattr(rates, which)[at]) * whole) if whole else 0), round(whole)


def _open(n: int, leaving: Leaving) -> bool:
    return leaving.consent or n == 0 or n >= leaving.least


def strata_told(rates: TypingRates, leaving: Leaving) -> list[int]:
    """Return the rows of rates that may be told: all groins, and strata whose remainder is no small count either."""
    told = [0]
    for name in STRATA:
        rows = [at for at, stratum in enumerate(rates.strata) if name in stratum]
        left = []
        for which in ("sensitivity", "specificity"):
            right, whole = _behind(rates, 0, which)
            for at in rows:
                right, whole = right - _behind(rates, at, which)[0], whole - _behind(rates, at, which)[1]
            left += [right, whole - right]
            for at in rows:  # a row that is hidden must not follow from the others
                one, all_ = _behind(rates, at, which)
                left += [one, all_ - one]
        if all(_open(n, leaving) for n in left):
            told += rows
    return sorted(told)


def rates_grid(rates: TypingRates, leaving: Leaving) -> Grid:
    """How often the recorded type is right."""
    rows = []
    for at in strata_told(rates, leaving):
        row = [wording.stratum_told(rates.strata[at])]
        for which in ("sensitivity", "specificity"):
            whole = _behind(rates, at, which)[1]
            row += [
                wording.count(whole) if leaving.consent else wording.few(whole, leaving.least),
                wording.readers_rate(shown(rates, at, which, leaving), leaving.least),
            ]
        rows.append(tuple(row))
    return Grid(
        title=wording.readers_rates_title(),
        heads=("groins", "directs", "sensitivity", "others", "specificity"),
        rows=tuple(rows),
        note=wording.readers_rates_note(ENOUGH),
        numeric=(1, 2, 3, 4),
    )
