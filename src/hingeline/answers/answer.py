"""The whole answer: tallies, protocol and flow of records come in, everything that a run tells goes out.

The parts are made beside this module; here they are put in order and their first sentences become the answer.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pyarrow as pa

from .. import wording
from ..counts import PatternTally
from ..estimates.parallel import beside
from ..protocol import Protocol
from .ages import ages_part, estimate_ages
from .findings import Answer, Finding, Part
from .flow import flow_part
from .headline import ShareEstimates, headline_rows, silent
from .next_study import with_crossing
from .outcomes import OutcomeTallies, outcome_parts
from .rates import rates_part
from .readers import Readings, agreement_part
from .references import references_of
from .share import share_part

Progress = Callable[[str, int, int], None]


def answer_study(
    tally: PatternTally,
    *,
    flow: pa.Table,
    protocol: Protocol,
    population: pa.Table | None,
    rates_tally: PatternTally | None,
    marks: dict[str, str],
    outcomes: OutcomeTallies | None = None,
    series: Sequence[tuple[str, pa.Table]] = (),
    readings: Readings | None = None,
    progress: Progress = silent,
    spare: Callable[[], None] = lambda: None,
) -> Answer:
    """Answer a study's question from its tallies.

    Parameters
    ----------
    tally : PatternTally
        All cases.
    flow : pyarrow.Table
        Intake's accounting of every hospital.
    protocol : Protocol
    population : pyarrow.Table or None
        Person-years of the catchment.
    rates_tally : PatternTally or None
        Counted by `hingeline.answers.rates.DIMENSIONS`; needed with a population.
    marks : dict of str to str
        Version, fingerprints, seed, seal.
    outcomes : OutcomeTallies, optional
        The cases followed; without, nothing is told of what became of them.
    series : sequence of (str, pyarrow.Table)
        Title and table of each ``[[series]]``, as `counts.series.read_series` reads it.
    readings : Readings, optional
        What readers typed again, with ``[agreement]``; errors of typing that enter are in the protocol already.
    progress : callable
    spare : callable
        Called once, when what is left is work for one core: for what may be begun on another.

    Returns
    -------
    Answer

    Raises
    ------
    HingelineError
        When no case is left to estimate from.
    """
    data = headline_rows(tally, protocol)
    estimates = ShareEstimates(data, protocol, progress)
    records, records_findings = flow_part(flow, tally, data, protocol)
    has_rates = population is not None and rates_tally is not None

    def followed() -> tuple[tuple[Part, ...], tuple[Finding, ...]]:
        return outcome_parts(outcomes, protocol, series=series) if outcomes is not None else ((), ())

    # humps and outcomes need nothing of the share: they are found while a core waits
    with (
        beside(lambda: ages_part(estimate_ages(tally, protocol), protocol, rates=has_rates)) as humps,
        beside(followed) as told,
    ):
        share, share_findings = share_part(estimates, tally, protocol)
        spare()
        progress("finding the humps", 0, 1)
        ages, ages_findings = humps()
        progress("following the repairs", 0, 1)
        outcome, outcome_findings = told()
    parts: list[Part] = [share, ages]
    findings: list[Finding] = [*share_findings, *ages_findings]
    if population is not None and rates_tally is not None:
        rates, rates_findings = rates_part(
            rates_tally,
            population,
            protocol,
            estimates.fit.turns,
            lambda done, of: progress("fitting rates", done, of),
        )
        parts.append(rates)
        findings += rates_findings
    outcome, size_of_crossing = with_crossing(outcome, share_findings, protocol)
    if readings is not None:
        readers, readers_findings = agreement_part(readings, protocol)
        outcome = (*outcome, readers)
        outcome_findings = (*outcome_findings, *readers_findings)
    parts += [*outcome, records]
    findings += [*outcome_findings, *size_of_crossing, *records_findings]
    overall = next(finding for finding in findings if finding.id == "share.overall")
    return Answer(
        title=protocol.study.title,
        question=protocol.study.question,
        dated=wording.dated(protocol.study.cutoff, protocol.study.invented),
        sentences=(
            *((wording.invented(),) if protocol.study.invented else ()),
            overall.sentence,
            share.sentence,
            *(part.sentence for part in parts[1:] if part.leads),
        ),
        findings=tuple(findings),
        parts=tuple(parts),
        references=references_of(parts),
        marks=marks,
    )
