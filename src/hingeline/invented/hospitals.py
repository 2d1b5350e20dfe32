"""The six invented hospitals: whom they take, since when, how they operate and how they keep records.

Constants come out; nothing comes in. The figures are made up to look like the trade's; no hospital of these
names is known to us, and none of it is about a real one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

Setting = Literal["children", "general", "all ages"]


@dataclass(frozen=True)
class Hospital:
    """One invented hospital.

    Attributes
    ----------
    name, slug : str
        Name in the protocol; name of its files.
    setting : {"children", "general", "all ages"}
    takes_ages : (float, float)
        Youngest age taken and the age at which patients are handed on, in years.
    volume : float
        Its pull on patients of its ages, against the others'.
    logit : float
        Its shift of the direct share on the logit.
    since : int
        First year of its records; all end with the cut-off's last whole year.
    laparoscopic : (float, float)
        Share of laparoscopic operations in 2005 and in 2023.
    followed : float
        Share of groins with any follow-up.
    follow_years : float
        Mean follow-up of those, in years.
    deaths : bool
        Whether a registry tells it of deaths.
    file : str
        Name of its export in ``sources/``.
    """

    name: str
    slug: str
    setting: Setting
    takes_ages: tuple[float, float]
    volume: float
    logit: float
    since: int
    laparoscopic: tuple[float, float]
    followed: float
    follow_years: float
    deaths: bool
    file: str

    @property
    def path(self) -> str:
        """Where its export lies in the study folder."""
        return f"sources/{self.file}"


HOSPITALS: Final = (
    Hospital(
        name="Wrenholt Children's",
        slug="wrenholt",
        setting="children",
        takes_ages=(0.0, 18.0),
        volume=1.0,
        logit=-0.10,
        since=2005,
        laparoscopic=(0.05, 0.55),
        followed=0.70,
        follow_years=3.0,
        deaths=False,
        file="wrenholt.xlsx",
    ),
    Hospital(
        name="Lindesund Children's",
        slug="lindesund",
        setting="children",
        takes_ages=(0.0, 18.0),
        volume=1.0,
        logit=0.10,
        since=2005,
        laparoscopic=(0.0, 0.30),
        followed=0.55,
        follow_years=2.5,
        deaths=False,
        file="lindesund.csv",
    ),
    Hospital(
        name="Ashmarsh General",
        slug="ashmarsh",
        setting="general",
        takes_ages=(15.0, 111.0),
        volume=0.75,
        logit=0.05,
        since=2006,
        laparoscopic=(0.10, 0.65),
        followed=0.60,
        follow_years=4.0,
        deaths=False,
        file="ashmarsh.xlsx",
    ),
    Hospital(
        name="Hohenwiek General",
        slug="hohenwiek",
        setting="general",
        takes_ages=(16.0, 111.0),
        volume=1.15,
        logit=-0.05,
        since=2005,
        laparoscopic=(0.15, 0.60),
        followed=0.50,
        follow_years=4.5,
        deaths=True,
        file="hohenwiek.csv",
    ),
    Hospital(
        name="Torvenes General",
        slug="torvenes",
        setting="general",
        takes_ages=(18.0, 111.0),
        volume=1.15,
        logit=0.10,
        since=2005,
        laparoscopic=(0.05, 0.50),
        followed=0.75,
        follow_years=6.0,
        deaths=True,
        file="torvenes.csv",
    ),
    Hospital(
        name="Brackwater Infirmary",
        slug="brackwater",
        setting="all ages",
        takes_ages=(0.0, 111.0),
        volume=0.60,
        logit=-0.05,
        since=2005,
        laparoscopic=(0.05, 0.45),
        followed=0.60,
        follow_years=4.0,
        deaths=False,
        file="brackwater.parquet",
    ),
)
