"""The text of a proposed legend: drafts in, TOML with its reasons as comments out.

What a person must look at stands in a ``confirm`` line, which `read_legend` refuses until it is removed.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence

from .. import wording
from .legend_model import Meaning
from .propose_ask import asked_of
from .propose_drafts import Draft

_TABLES = {"fields": "fields", "left": "left", "right": "right", "follow_up": "follow_up.fields"}


def legend_text(
    drafts: Sequence[Draft],
    *,
    hospital: str,
    form: str,
    sheet: str | None,
    order: str | None,
    drop: Sequence[str],
    visits: Mapping[str, object] | None,
    detected: Sequence[str],
    notes: Sequence[str],
) -> str:
    """Write the legend."""
    asked = []
    waits: dict[str, list[str]] = {}
    for one in asked_of(drafts):
        places = [f"[{_TABLES[draft.table]}.{draft.field}]" for draft in one.drafts]
        asked.append(f"{wording.listed(places)} {one.text}")
        for at, draft in enumerate(one.drafts):
            waits.setdefault(draft.key, []).append(wording.look_ask_as_left() if at else one.text)
    lines = [*_remarks(wording.look_legend_head(len(asked)))]
    lines += _remarks([f"  {n}. {question}" for n, question in enumerate(asked, 1)])
    lines += _remarks(["", *notes] if notes else [])
    lines += ["", f"hospital = {quoted(hospital)}", f"form = {quoted(form)}"]
    if sheet or detected:
        lines += ["", "[file]", *_remarks(detected)]
        if sheet:
            lines.append(f"sheet = {quoted(sheet)}")
    if order:
        lines += ["", "[dates]", f"order = {quoted(order)}"]
    if drop:
        lines += ["", "[drop]", f"columns = [{', '.join(map(quoted, drop))}]"]
    for draft in drafts:
        if draft.table != "follow_up":
            lines += _entry(draft, waits.get(draft.key, ()))
    if visits is not None:
        lines += ["", "[follow_up]"]
        if visits.get("files"):
            lines.append(f"files = [{', '.join(quoted(str(name)) for name in _listed(visits['files']))}]")
        if visits.get("sheet"):
            lines += ["", "[follow_up.file]", f"sheet = {quoted(str(visits['sheet']))}"]
        if visits.get("order"):
            lines += ["", "[follow_up.dates]", f"order = {quoted(str(visits['order']))}"]
        if visits.get("drop"):
            lines += [
                "",
                "[follow_up.drop]",
                f"columns = [{', '.join(quoted(str(name)) for name in _listed(visits['drop']))}]",
            ]
        for draft in drafts:
            if draft.table == "follow_up":
                lines += _entry(draft, waits.get(draft.key, ()))
    return "\n".join(lines) + "\n"


def _listed(value: object) -> list[object]:
    return list(value) if isinstance(value, list | tuple) else [value]


def _entry(draft: Draft, waits: Sequence[str]) -> list[str]:
    lines = ["", f"[{_TABLES[draft.table]}.{draft.field}]"]
    lines += _remarks([wording.look_reason(draft.sure, draft.why, draft.runner_up)])
    if draft.column is not None:
        lines.append(f"column = {quoted(draft.column)}")
    else:
        lines.append(f"value = {_value(draft.value if draft.value is not None else '')}")
    if draft.unit is not None:
        lines.append(f"unit = {quoted(draft.unit)}")
    if draft.order is not None:
        lines.append(f"order = {quoted(draft.order)}")
    if draft.codes:
        inside = ", ".join(f"{quoted(code)} = {_value(meaning)}" for code, meaning in draft.codes.items())
        lines.append(f"codes = {{ {inside} }}")
    if draft.unknown:
        lines += _remarks([wording.look_not_understood(draft.unknown)])
    if waits:
        lines.append(f"confirm = {quoted(' '.join(waits))}")
    return lines


def _remarks(texts: Sequence[str]) -> list[str]:
    lines = []
    for text in texts:
        for line in wording.look_wrapped(wording.escaped(text)):
            lines.append(f"# {line}".rstrip())
    return lines


def _value(value: Meaning) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return str(value) if isinstance(value, int) else quoted(value)


def quoted(text: str) -> str:
    """Write a text as a basic string of TOML, with what does not print written out."""
    return '"' + "".join(map(_character, text)) + '"'


def _character(one: str) -> str:
    if one in '"\\':
        return "\\" + one
    if unicodedata.category(one) in ("Cc", "Cf", "Zl", "Zp", "Co", "Cn"):
        return f"\\u{ord(one):04x}" if ord(one) < 0x10000 else f"\\U{ord(one):08x}"
    return "\ufffd" if re.match("[\ud800-\udfff]", one) else one
