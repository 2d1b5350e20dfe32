"""Hingeline: at what age does a groin hernia stop being the child's kind?

The statistician's door::

    import hingeline as hl

    study = hl.open("my-study")
    study.run()
    study.ages.turns()
    study.ages.crossing(0.10).interval
    hl.fit_hinges(age, direct, total, turns=2)  # the estimators, on plain arrays

Names are loaded when first used, so that ``import hingeline`` costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .desk.study import Study, open
    from .errors import HingelineError
    from .estimates.ages import age_modes, dip, incidence, silverman, standardise
    from .estimates.agreement import cohen_kappa, fleiss_kappa, read_twice, typing_rates, typing_rates_between
    from .estimates.contrast import contrast, e_value, propensity
    from .estimates.crossing import crossing, standard_mix
    from .estimates.curve import fit_curve
    from .estimates.followup import (
        cox,
        cumulative_incidence,
        follow_up_length,
        log_rank,
        numbers_at_risk,
        person_year_rate,
        survival,
        turnbull,
    )
    from .estimates.fragility import fragility, one_more, tipping_grid
    from .estimates.hinge import choose_turns, fit_hinges
    from .estimates.hinge_random import random_intercepts
    from .estimates.pooling import (
        compare_pools,
        funnel,
        leave_one_out,
        pool_effects,
        pool_rates,
        pool_series,
        pool_shares,
    )
    from .estimates.resample import bootstrap_curve, bootstrap_hinges, resample
    from .estimates.size import (
        Allowance,
        power_log_rank,
        power_noninferiority,
        power_two_proportions,
        precision_of_ages,
        size_crossing,
        size_curve,
        size_log_rank,
        size_noninferiority,
        size_proportion,
        size_turn,
        size_two_proportions,
    )
    from .estimates.two_by_two import two_by_two

__version__ = "0.1.0"

_HOME = {
    "cox": "estimates.followup",
    "cumulative_incidence": "estimates.followup",
    "follow_up_length": "estimates.followup",
    "log_rank": "estimates.followup",
    "numbers_at_risk": "estimates.followup",
    "person_year_rate": "estimates.followup",
    "survival": "estimates.followup",
    "turnbull": "estimates.followup",
    "Allowance": "estimates.size",
    "power_log_rank": "estimates.size",
    "power_noninferiority": "estimates.size",
    "power_two_proportions": "estimates.size",
    "precision_of_ages": "estimates.size",
    "size_crossing": "estimates.size",
    "size_curve": "estimates.size",
    "size_log_rank": "estimates.size",
    "size_noninferiority": "estimates.size",
    "size_proportion": "estimates.size",
    "size_turn": "estimates.size",
    "size_two_proportions": "estimates.size",
    "cohen_kappa": "estimates.agreement",
    "fleiss_kappa": "estimates.agreement",
    "read_twice": "estimates.agreement",
    "typing_rates": "estimates.agreement",
    "typing_rates_between": "estimates.agreement",
    "two_by_two": "estimates.two_by_two",
    "fragility": "estimates.fragility",
    "one_more": "estimates.fragility",
    "tipping_grid": "estimates.fragility",
    "compare_pools": "estimates.pooling",
    "funnel": "estimates.pooling",
    "leave_one_out": "estimates.pooling",
    "pool_effects": "estimates.pooling",
    "pool_rates": "estimates.pooling",
    "pool_series": "estimates.pooling",
    "pool_shares": "estimates.pooling",
    "Study": "desk.study",
    "open": "desk.study",
    "HingelineError": "errors",
    "dip": "estimates.ages",
    "age_modes": "estimates.ages",
    "silverman": "estimates.ages",
    "crossing": "estimates.crossing",
    "standard_mix": "estimates.crossing",
    "fit_curve": "estimates.curve",
    "choose_turns": "estimates.hinge",
    "contrast": "estimates.contrast",
    "e_value": "estimates.contrast",
    "propensity": "estimates.contrast",
    "fit_hinges": "estimates.hinge",
    "incidence": "estimates.ages",
    "standardise": "estimates.ages",
    "bootstrap_curve": "estimates.resample",
    "bootstrap_hinges": "estimates.resample",
    "random_intercepts": "estimates.hinge_random",
    "resample": "estimates.resample",
}

__all__ = [
    "Allowance",
    "HingelineError",
    "Study",
    "age_modes",
    "bootstrap_curve",
    "bootstrap_hinges",
    "choose_turns",
    "cohen_kappa",
    "compare_pools",
    "contrast",
    "cox",
    "crossing",
    "cumulative_incidence",
    "dip",
    "e_value",
    "fit_curve",
    "fit_hinges",
    "fleiss_kappa",
    "follow_up_length",
    "fragility",
    "funnel",
    "incidence",
    "leave_one_out",
    "log_rank",
    "numbers_at_risk",
    "one_more",
    "open",
    "person_year_rate",
    "pool_effects",
    "pool_rates",
    "pool_series",
    "pool_shares",
    "power_log_rank",
    "power_noninferiority",
    "power_two_proportions",
    "precision_of_ages",
    "propensity",
    "random_intercepts",
    "read_twice",
    "resample",
    "silverman",
    "size_crossing",
    "size_curve",
    "size_log_rank",
    "size_noninferiority",
    "size_proportion",
    "size_turn",
    "size_two_proportions",
    "standard_mix",
    "standardise",
    "survival",
    "tipping_grid",
    "turnbull",
    "two_by_two",
    "typing_rates",
    "typing_rates_between",
]


def __getattr__(name: str) -> Any:
    """Load a public name from its home at first use."""
    if name in _HOME:
        return getattr(import_module(f".{_HOME[name]}", __name__), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    """List what `__getattr__` can load."""
    return sorted([*globals(), *_HOME])
