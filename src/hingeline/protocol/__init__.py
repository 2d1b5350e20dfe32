"""What a study asks and how it will be answered, written down before anything is counted."""

from .parts import Agreement, Contrast, Hospital, Outcomes, Population, Series, Typing, is_table
from .study import Protocol, parse_protocol, read_protocol

__all__ = [
    "Agreement",
    "Contrast",
    "Hospital",
    "Outcomes",
    "Population",
    "Protocol",
    "Series",
    "Typing",
    "is_table",
    "parse_protocol",
    "read_protocol",
]
