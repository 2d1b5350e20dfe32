"""What a study asks and how it will be answered, written down before anything is counted."""

from .study import Hospital, Population, Protocol, Typing, parse_protocol, read_protocol

__all__ = ["Hospital", "Population", "Protocol", "Typing", "parse_protocol", "read_protocol"]
