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
from .share import share_part

Progress = Callable[[str, int, int], None]

REFERENCES = (
    "Davison AC, Hinkley DV. Bootstrap methods and their application. Cambridge 1997.",
    "Farrington CP, Manning G. Test statistics and sample size formulae for comparative binomial trials. Stat Med 1990;9:1447–1454.",
    "Fay MP, Feuer EJ. Confidence intervals for directly standardized rates. Stat Med 1997;16:791–801.",
    "Feder PI. The log likelihood ratio in segmented regression. Ann Stat 1975;3:84–97.",
    "Greenland S, Mansournia MA. Penalization, bias reduction and default priors in logistic and related models. Stat Med 2015;34:3133–3143.",
    "Hamza TH, van Houwelingen HC, Stijnen T. The binomial distribution of meta-analysis was preferred to model within-study variability. J Clin Epidemiol 2008;61:41–51.",
    "Hartigan JA, Hartigan PM. The dip test of unimodality. Ann Stat 1985;13:70–84.",
    "Higgins JPT, Thompson SG, Spiegelhalter DJ. A re-evaluation of random-effects meta-analysis. J R Stat Soc A 2009;172:137–159.",
    "Liublinska V, Rubin DB. Sensitivity analysis for a partially missing binary outcome in a two-arm randomized clinical trial. Stat Med 2014;33:4170–4185.",
    "Miettinen O, Nurminen M. Comparative analysis of two rates. Stat Med 1985;4:213–226.",
    "Miserez M et al. The European Hernia Society groin hernia classification. Hernia 2007;11:113–116.",
    "Newcombe RG. Two-sided confidence intervals for the single proportion. Stat Med 1998;17:857–872.",
    "Revision of the European Standard Population. Eurostat 2013.",
    "Ruppert D, Wand MP, Carroll RJ. Semiparametric regression. Cambridge 2003.",
    "Schwarz G. Estimating the dimension of a model. Ann Stat 1978;6:461–464.",
    "Silverman BW. Density estimation for statistics and data analysis. Chapman & Hall 1986.",
    "Silverman BW. Using kernel density estimates to investigate multimodality. J R Stat Soc B 1981;43:97–99.",
    "Spiegelhalter DJ. Funnel plots for comparing institutional performance. Stat Med 2005;24:1185–1202.",
    "Stijnen T, Hamza TH, Özdemir P. Random effects meta-analysis of event outcome in the framework of the generalized linear mixed model with applications in sparse data. Stat Med 2010;29:3046–3067.",
    "Walsh M et al. The statistical significance of randomized controlled trial results is frequently fragile. J Clin Epidemiol 2014;67:622–628.",
    "Wilson EB. Probable inference, the law of succession, and statistical inference. J Am Stat Assoc 1927;22:209–212.",
    "Wood SN. Fast stable restricted maximum likelihood estimation of semiparametric generalized linear models. J R Stat Soc B 2011;73:3–36.",
    "Yan X, Lee S, Li N. Missing data handling methods in medical device clinical trials. J Biopharm Stat 2009;19:1085–1098.",
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
        references=REFERENCES,
        marks=marks,
    )
