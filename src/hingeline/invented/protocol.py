"""The invented study's protocol: a seed comes in, the text of ``study.toml`` goes out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from hingeline.invented.hospitals import HOSPITALS, Hospital
from hingeline.invented.patients import CUTOFF
from hingeline.invented.population import COVERAGE, YEARS

REPLICATES: Final = 199
"""The demo's and CI's number; a study takes 2,000."""


@dataclass(frozen=True)
class SeriesFile:
    """A table of published series: its place in the study, its title and its text."""

    file: str
    title: str
    text: str


def protocol_text(seed: int, series: Sequence[SeriesFile] = ()) -> str:
    """The protocol of the invented study, as ``study.toml``."""
    tables = "".join(f'[[series]]\nfile = "{one.file}"\ntitle = "{one.title}"\n\n' for one in series)
    return _HEAD.format(
        seed=seed, cutoff=CUTOFF, replicates=REPLICATES, coverage=COVERAGE, years=list(YEARS)
    ) + (tables + "\n".join(_hospital(hospital) for hospital in HOSPITALS))


def _hospital(hospital: Hospital) -> str:
    youngest, handed_on = hospital.takes_ages
    return (
        "[[hospitals]]\n"
        f'name = "{hospital.name}"\n'
        f'sources = ["{hospital.path}"]\n'
        f'legend = "legends/{hospital.slug}.toml"\n'
        f"takes_ages = [{youngest:g}, {handed_on:g}]\n"
        f'setting = "{hospital.setting}"\n'
        f"since = {hospital.since}\n"
        'approach = "both"\n'
    )


_HEAD = """\
# The protocol of an invented study: hospitals, patients and figures are made up.
format = 1

[study]
title = "From the child's hernia to the adult's: an invented study"
question = "At what age does a groin hernia stop being the child's kind and become the adult's?"
cutoff = {cutoff}
seed = {seed}
invented = true

[counting]
direct = ["direct", "combined"]
among = ["indirect", "direct", "combined"]
sex = "male"
occurrence = "primary"
reasons = ["hernia"]
thresholds = [0.05, 0.10, 0.20, 0.30]
headline_threshold = 0.10

[ages]
half_years_to = 30
highest = 110
drawn_to = 95

[turns]
most = 3
apart_years = 2.0

[resampling]
# few, so that the demo is quick; a study leaves these out and takes 2,000, 499 and 0.05
replicates = {replicates}
calibration = 39
audited = 0.005

[privacy]
smallest_cell = 5
events_may_leave = true
consent = "invented: the data officers of all six hospitals, on the day of the data cut-off"

[outcomes]
horizons_years = [1, 2, 5]
headline_years = 5
age_bands = [0, 12, 18, 30, 50]

[contrast]
arms = ["high_ligation", "tissue", "mesh"]
reference = "high_ligation"
ages = [12, 30]
types = ["indirect"]
margin = 0.02

[agreement]
sheets = ["by-hand/read-again.csv"]
reference = "reference"
enters = false

[population]
file = "sources/population.csv"
coverage = {coverage}
years = {years}
standard = "european-2013"

"""
