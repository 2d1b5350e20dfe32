"""Messy exports with a known truth: the invented study that the demo and the tests run on."""

from hingeline.invented.protocol import SeriesFile
from hingeline.invented.study import SEED, Planted, Truth, write_study

__all__ = ["SEED", "Planted", "SeriesFile", "Truth", "write_study"]
