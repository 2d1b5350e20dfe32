"""Readers of the same groins as a part of the answer: readings and the protocol come in, part and findings go out.

How well readers agree with each other and with the reference, how often the recorded type is right, and how the note
reader stands beside a typed column. What is reckoned is in `readings`, what may leave in `readers_cells`.
"""

from __future__ import annotations

from collections.abc import Mapping

from .. import wording
from ..estimates.agreement import FleissKappa, Kappa, TypingRates
from ..protocol import Protocol
from .findings import Finding, Grid, Part
from .outcome_cells import Leaving, leaving_of
from .readers_cells import any_small, band_told
from .readers_grids import (
    against_grid,
    answer_grid,
    differing,
    notes_grid,
    notes_told,
    pair_grid,
    rates_grid,
    shown,
)
from .readings import Agreed, Pair, Readings, agree, compare, record_rates, typing_entries

__all__ = ["Readings", "agree", "agreement_part", "record_rates", "typing_entries"]

Told = tuple[list[str], list[Grid], list[Finding]]
"""Sentences, tables and findings."""


def agreement_part(readings: Readings, protocol: Protocol) -> tuple[Part, tuple[Finding, ...]]:
    """Tell how well readers agree and how often the record is right.

    Parameters
    ----------
    readings : Readings
    protocol : Protocol

    Returns
    -------
    Part, tuple of Finding
        What cannot be told is said in the sentence.
    """
    leaving = leaving_of(protocol)
    agreed = agree(readings)
    notes = {
        hospital: compare(wording.typed_column(), wording.note_reader(), counted)
        for hospital, counted in readings.notes.items()
    }
    sentences: list[str] = []
    grids: list[Grid] = []
    findings: list[Finding] = []
    told = []
    read_again = bool(readings.by_groin)
    if read_again:
        told.append(_sheets(readings, agreed, protocol, leaving))
    if notes:
        told.append(_notes(notes, leaving))
    for said, tables, found in told:
        sentences += said
        grids += tables
        findings += found
    part = Part(
        id="readers",
        heading=wording.readers_heading(),
        sentence=" ".join(sentences) or wording.readers_without(),
        grids=tuple(grids),
        method=wording.readers_method(
            agreed.sizes is not None,
            isinstance(agreed.kappa, FleissKappa),
            sheets=read_again,
            reference=bool(readings.reference),
        ),
        cannot=wording.readers_cannot(readings.reference, sheets=read_again, notes=bool(notes)),
        operations=False,
        leads=False,
    )
    return part, tuple(findings)


def _sheets(readings: Readings, agreed: Agreed, protocol: Protocol, leaving: Leaving) -> Told:
    """What read sheets tell."""
    groins = len(readings.twice)
    if groins < leaving.least:
        return [wording.readers_few(leaving.least) if groins else wording.readers_without()], [], []
    told, grids, findings = _kappa(agreed, groins, readings, leaving)
    if agreed.against:
        grids.append(against_grid(agreed.against, leaving))
    rates = record_rates(readings, protocol)
    if rates is not None and rates.directs[0] + rates.others[0] >= leaving.least:
        grids.append(rates_grid(rates, leaving))
        findings += _rate_findings(rates, leaving)
        first = [shown(rates, 0, which, leaving) for which in ("sensitivity", "specificity")]
        said = wording.typing_rates_told({}, first[0], first[1], rates.level)
        told += [
            wording.readers_rates_told(readings.reference, said),
            wording.readers_enter(protocol.agreement.enters, len(protocol.typing)),
        ]
    if readings.left:
        told.append(wording.readers_left(readings.left))
    return [wording.readers_sentence(readings.readers, groins, " ".join(told))], grids, findings


def _kappa(agreed: Agreed, groins: int, readings: Readings, leaving: Leaving) -> Told:
    """Agreement of those who are judged, as far as it may leave."""
    kappa = agreed.kappa
    grids: list[Grid] = []
    if agreed.pair is not None and (grid := pair_grid(agreed.pair, leaving)):
        grids.append(grid)
    if kappa is None:
        return [wording.readers_without()], grids, []
    small = any(any_small(pair.all, leaving) for pair in (agreed.pair, *agreed.against) if pair)
    if agreed.pair is None:
        small = small or (not leaving.consent and 0 < agreed.differ < leaving.least)
    if not small:
        said = wording.readers_judged(readings.judged, readings.readers, str(kappa))
        return [said], [*grids, answer_grid(kappa)], [_kappa_finding(kappa, groins, readings, said)]
    band = None
    if agreed.pair is not None:
        band = band_told(agreed.pair.all.astype(int), leaving)
    return [wording.readers_banded(band)], grids, []


def _notes(notes: Mapping[str, Pair], leaving: Leaving) -> Told:
    """The note reader beside typed columns."""
    told = notes_told(notes, leaving)
    alike = [(hospital, *differing(pair)) for hospital, pair in told.items()]
    findings = []
    for hospital, pair in told.items():
        if pair.kappa is None:
            continue
        groins, _ = differing(pair)
        limits = (pair.kappa.observed_low, pair.kappa.observed_high)
        findings.append(
            Finding(
                id=f"agreement.notes.{hospital}",
                estimand="share of groins to which the note reader and the typed column give the same type",
                estimate=pair.kappa.observed,
                unit="share",
                low=limits[0],
                high=limits[1],
                method="Wilson 1927",
                n=groins,
                events=None,
                cells=f"groins of {hospital} with both a typed type and a note that tells one",
                sentence=wording.notes_beside_told(hospital, pair.kappa.observed, limits, groins),
            )
        )
    return (
        [wording.notes_beside_sentence(alike, len(notes) - len(told))],
        [notes_grid(notes, leaving)],
        findings,
    )


def _kappa_finding(kappa: Kappa | FleissKappa, groins: int, readings: Readings, said: str) -> Finding:
    many = isinstance(kappa, FleissKappa)
    return Finding(
        id="agreement.kappa",
        estimand="agreement of readers on the hernia's type beyond chance",
        estimate=kappa.kappa,
        unit="kappa",
        low=kappa.low,
        high=kappa.high,
        method="Fleiss 1971" if many else "Cohen 1960; Fleiss, Cohen and Everitt 1969",
        n=groins,
        events=None,
        cells=f"typing sheets, readers {', '.join(readings.judged)}",
        sentence=said,
        status="told" if kappa.high - kappa.low > 1e-6 or kappa.kappa > 1 - 1e-6 else "not identified",
    )


def _rate_findings(rates: TypingRates, leaving: Leaving) -> list[Finding]:
    found = []
    for which, groins in (("sensitivity", rates.directs[0]), ("specificity", rates.others[0])):
        value, low, high = shown(rates, 0, which, leaving)
        if value != value:
            continue
        found.append(
            Finding(
                id=f"typing.{which}",
                estimand=f"{which} for direct of the recorded type against the reference reader",
                estimate=value,
                unit="share",
                low=low,
                high=high,
                method="Wilson 1927",
                n=round(groins),
                events=round(value * groins),
                cells="typing sheets joined to the recorded types",
                sentence=wording.readers_rate_told(which, (value, low, high), round(groins)),
            )
        )
    return found
