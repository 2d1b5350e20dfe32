"""What a rule is: its severity, what it reads, when it is broken and what a person can do, as data.

The registries of rules are `hingeline.records.rules` and `hingeline.records.linking_rules`; who asks them is `judging`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Literal

Severity = Literal["set aside", "corrected", "noted"]


@dataclass(frozen=True)
class Rule:
    """One rule.

    Attributes
    ----------
    name : str
    severity : {"set aside", "corrected", "noted"}
    fields : tuple of str
        Fields it reads; the first is the one listed.
    sentence : str
        What is wrong.
    todo : str
        What to do about it.
    broken : str
        SQL that is true when a groin breaks it; ``{field}`` stands for each field in turn when `each`.
    each : bool
        Whether it is asked of each field that the legend maps.
    always : bool
        With `each`: of every field, since visits may have filled what the operations do not tell.
    among : {"all", "sound"}
        Whether it is asked of all groins, or of those that no earlier rule set aside, one rule after another.
    corrects : mapping of str to str
        Field to the SQL of its corrected value.
    value : str
        SQL of the value that is listed; the cell of the first field unless given.
    found : callable, optional
        In place of `broken`, of rules that compare groins: given the mapped fields, a query for ``groin``, ``field``,
        ``value`` and the groin ``beside`` which it is to be looked at.
    """

    name: str
    severity: Severity
    fields: tuple[str, ...]
    sentence: str
    todo: str
    broken: str = "false"
    each: bool = False
    always: bool = False
    among: Literal["all", "sound"] = "all"
    corrects: Mapping[str, str] = field(default_factory=dict)
    value: str = ""
    found: Callable[[frozenset[str]], str] | None = None

    def asked(self, mapped: frozenset[str]) -> list[tuple[str, str]]:
        """Fields and conditions in which it is asked, given the fields that the legend maps."""
        if not self.each:
            return [(self.fields[0], self.broken)]
        return [
            (name, self.broken.replace("{field}", name))
            for name in self.fields
            if self.always or name in mapped
        ]

    def corrections(self, mapped: frozenset[str]) -> list[tuple[str, str, str]]:
        """Fields that it corrects, each with condition and corrected value."""
        return [
            (target.replace("{field}", name), condition, value)
            for name, condition in self.asked(mapped)
            for target, value in self.corrects.items()
        ]
