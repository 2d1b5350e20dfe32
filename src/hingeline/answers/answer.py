"""The whole answer: tallies, protocol and flow of records come in, everything that a run tells goes out.

The parts are made beside this module; here they are put in order and their first sentences become the answer.
"""

from __future__ import annotations

from collections.abc import Callable

import pyarrow as pa

from .. import wording
from ..counts import PatternTally
from ..estimates.parallel import beside
from ..protocol import Protocol
from .ages import ages_part, estimate_ages
from .findings import Answer, Finding, Part
from .flow import flow_part
from .headline import ShareEstimates, headline_rows, silent
from .outcomes import OutcomeTallies, outcome_parts
from .rates import rates_part
from .share import share_part

Progress = Callable[[str, int, int], None]

REFERENCES = (
    "Davison AC, Hinkley DV. Bootstrap methods and their application. Cambridge 1997.",
    "Fay MP, Feuer EJ. Confidence intervals for directly standardized rates. Stat Med 1997;16:791–801.",
    "Feder PI. The log likelihood ratio in segmented regression. Ann Stat 1975;3:84–97.",
    "Greenland S, Mansournia MA. Penalization, bias reduction and default priors in logistic and related models. Stat Med 2015;34:3133–3143.",
    "Hartigan JA, Hartigan PM. The dip test of unimodality. Ann Stat 1985;13:70–84.",
    "Miserez M et al. The European Hernia Society groin hernia classification. Hernia 2007;11:113–116.",
    "Newcombe RG. Two-sided confidence intervals for the single proportion. Stat Med 1998;17:857–872.",
    "Revision of the European Standard Population. Eurostat 2013.",
    "Ruppert D, Wand MP, Carroll RJ. Semiparametric regression. Cambridge 2003.",
    "Schwarz G. Estimating the dimension of a model. Ann Stat 1978;6:461–464.",
    "Silverman BW. Density estimation for statistics and data analysis. Chapman & Hall 1986.",
    "Silverman BW. Using kernel density estimates to investigate multimodality. J R Stat Soc B 1981;43:97–99.",
    "Wilson EB. Probable inference, the law of succession, and statistical inference. J Am Stat Assoc 1927;22:209–212.",
    "Wood SN. Fast stable restricted maximum likelihood estimation of semiparametric generalized linear models. J R Stat Soc B 2011;73:3–36.",
)


def answer_study(
    tally: PatternTally,
    *,
    flow: pa.Table,
    protocol: Protocol,
    population: pa.Table | None,
    rates_tally: PatternTally | None,
    marks: dict[str, str],
    outcomes: OutcomeTallies | None = None,
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
        return outcome_parts(outcomes, protocol) if outcomes is not None else ((), ())

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
    parts += [*outcome, records]
    findings += [*outcome_findings, *records_findings]
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
        references=REFERENCES,
        marks=marks,
    )
