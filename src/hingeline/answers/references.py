"""Sources of the methods: the parts of an answer come in, the works that they used go out, by name.

A work stands there only when a part that uses it is told; what parts of outcomes use is named in their method texts.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from .findings import Part

ALWAYS: Final = (
    "Davison AC, Hinkley DV. Bootstrap methods and their application. Cambridge 1997.",
    "Feder PI. The log likelihood ratio in segmented regression. Ann Stat 1975;3:84–97.",
    "Greenland S, Mansournia MA. Penalization, bias reduction and default priors in logistic and related models. Stat Med 2015;34:3133–3143.",
    "Hartigan JA, Hartigan PM. The dip test of unimodality. Ann Stat 1985;13:70–84.",
    "Miserez M et al. The European Hernia Society groin hernia classification. Hernia 2007;11:113–116.",
    "Newcombe RG. Two-sided confidence intervals for the single proportion. Stat Med 1998;17:857–872.",
    "Ruppert D, Wand MP, Carroll RJ. Semiparametric regression. Cambridge 2003.",
    "Schwarz G. Estimating the dimension of a model. Ann Stat 1978;6:461–464.",
    "Silverman BW. Density estimation for statistics and data analysis. Chapman & Hall 1986.",
    "Silverman BW. Using kernel density estimates to investigate multimodality. J R Stat Soc B 1981;43:97–99.",
    "Wilson EB. Probable inference, the law of succession, and statistical inference. J Am Stat Assoc 1927;22:209–212.",
    "Wood SN. Fast stable restricted maximum likelihood estimation of semiparametric generalized linear models. J R Stat Soc B 2011;73:3–36.",
)
BY_PART: Final[dict[str, dict[str, str]]] = {
    "rates": {
        "Poisson": "Fay MP, Feuer EJ. Confidence intervals for directly standardized rates. Stat Med 1997;16:791–801.",
        "": "Revision of the European Standard Population. Eurostat 2013.",
    },
    "recurrence": {
        "Aalen": "Aalen OO, Johansen S. An empirical transition matrix for non-homogeneous Markov chains based on censored observations. Scand J Stat 1978;5:141–150.",
        "Efron 1981": "Efron B. Nonparametric estimates of standard error: the jackknife, the bootstrap and other methods. Biometrika 1981;68:589–599.",
        "Garwood": "Garwood F. Fiducial limits for the Poisson distribution. Biometrika 1936;28:437–442.",
        "Gentleman": "Gentleman R, Geyer CJ. Maximum likelihood for interval censored data: consistency and computation. Biometrika 1994;81:618–623.",
        "Kalbfleisch": "Kalbfleisch JD, Prentice RL. The statistical analysis of failure time data. Wiley 1980.",
        "Kaplan & Meier": "Kaplan EL, Meier P. Nonparametric estimation from incomplete observations. J Am Stat Assoc 1958;53:457–481.",
        "Mantel": "Mantel N. Evaluation of survival data and two new rank order statistics arising in its consideration. Cancer Chemother Rep 1966;50:163–170.",
        "Schemper": "Schemper M, Smith TL. A note on quantifying follow-up in studies of failure time. Control Clin Trials 1996;17:343–346.",
        "Turnbull": "Turnbull BW. The empirical distribution function with arbitrarily grouped, censored and truncated data. J R Stat Soc B 1976;38:290–295.",
    },
    "repairs-compared": {
        "Efron's": "Efron B. The efficiency of Cox's likelihood function for censored data. J Am Stat Assoc 1977;72:557–565.",
        "Grambsch": "Grambsch PM, Therneau TM. Proportional hazards tests and diagnostics based on weighted residuals. Biometrika 1994;81:515–526.",
        "Koopman": "Koopman PAR. Confidence intervals for the ratio of two binomial proportions. Biometrics 1984;40:513–517.",
        "Li & Li": "Li F, Li F. Propensity score weighting for causal inference with multiple treatments. Ann Appl Stat 2019;13:2389–2415.",
        "Miettinen": "Miettinen O, Nurminen M. Comparative analysis of two rates. Stat Med 1985;4:213–226.",
        "VanderWeele": "VanderWeele TJ, Ding P. Sensitivity analysis in observational research: introducing the E-value. Ann Intern Med 2017;167:268–274.",
    },
    "hospitals-pooled": {
        "Hamza, van": "Hamza TH, van Houwelingen HC, Stijnen T. The binomial distribution of meta-analysis was preferred to model within-study variability. J Clin Epidemiol 2008;61:41–51.",
        "Hartung": "Hartung J, Knapp G. A refined method for the meta-analysis of controlled clinical trials with binary outcome. Stat Med 2001;20:3875–3889.",
        "Higgins": "Higgins JPT, Thompson SG, Spiegelhalter DJ. A re-evaluation of random-effects meta-analysis. J R Stat Soc A 2009;172:137–159.",
        "Spiegelhalter 2005": "Spiegelhalter DJ. Funnel plots for comparing institutional performance. Stat Med 2005;24:1185–1202.",
        "Stijnen, Hamza": "Stijnen T, Hamza TH, Özdemir P. Random effects meta-analysis of event outcome in the framework of the generalized linear mixed model with applications in sparse data. Stat Med 2010;29:3046–3067.",
    },
    "one-more": {
        "Liublinska": "Liublinska V, Rubin DB. Sensitivity analysis for a partially missing binary outcome in a two-arm randomized clinical trial. Stat Med 2014;33:4170–4185.",
        "Miettinen": "Miettinen O, Nurminen M. Comparative analysis of two rates. Stat Med 1985;4:213–226.",
        "Walsh": "Walsh M et al. The statistical significance of randomized controlled trial results is frequently fragile. J Clin Epidemiol 2014;67:622–628.",
        "Yan": "Yan X, Lee S, Li N. Missing data handling methods in medical device clinical trials. J Biopharm Stat 2009;19:1085–1098.",
    },
    "next-study": {
        "Farrington": "Farrington CP, Manning G. Test statistics and sample size formulae for comparative binomial trials. Stat Med 1990;9:1447–1454.",
    },
    "readers": {
        "1960;20:37": "Cohen J. A coefficient of agreement for nominal scales. Educ Psychol Meas 1960;20:37–46.",
        "1968;70:213": "Cohen J. Weighted kappa: nominal scale agreement with provision for scaled disagreement or partial credit. Psychol Bull 1968;70:213–220.",
        "1969;72:323": "Fleiss JL, Cohen J, Everitt BS. Large sample standard errors of kappa and weighted kappa. Psychol Bull 1969;72:323–327.",
        "1971;76:378": "Fleiss JL. Measuring nominal scale agreement among many raters. Psychol Bull 1971;76:378–382.",
    },
}
"""By part: words of its method text by which a work is known to be used, and the work."""


def references_of(parts: Sequence[Part]) -> tuple[str, ...]:
    """Return the works that some parts used, in the order of their names, each once."""
    used = {
        work
        for part in parts
        if part.method
        for words, work in BY_PART.get(part.id, {}).items()
        if words in part.method
    }
    return tuple(sorted({*ALWAYS, *used}, key=str.casefold))
