"""The one error that a user can cause, in three parts: what is wrong, where, and what to do.

Everything that comes from outside (a file, a legend, a protocol, an array handed to an estimator) is refused
with a `HingelineError`; the doors (`cli`, `app`) print it and never a traceback.
"""

from __future__ import annotations


class HingelineError(Exception):
    """Something a user can mend.

    Parameters
    ----------
    what : str
        What is wrong, as a sentence without a full stop.
    where : str
        File, sheet, row, column, option or argument; as near as is known.
    todo : str
        What to do about it, as an instruction.
    """

    def __init__(self, what: str, where: str, todo: str) -> None:
        super().__init__(what, where, todo)
        self.what = what
        self.where = where
        self.todo = todo

    def __str__(self) -> str:
        return f"{self.what.rstrip('.')}.\n  where: {self.where}\n  what to do: {self.todo.rstrip('.')}."
