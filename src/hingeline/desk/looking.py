"""A first look at a hospital's export: described, a legend proposed, and, in a study, the hospital added to it.

Files come in as they were received; a legend that marks what a person must look at goes out, and nothing that is
there is written over. A study's protocol keeps every comment; a received file is copied into ``sources/``, never moved.
"""

from __future__ import annotations

import os
import re
import shutil
import tempfile
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import tomlkit

from .. import wording
from ..errors import HingelineError
from ..protocol import parse_protocol
from .folder import RECEIVED, Folder, write_whole
from .new import LEGEND, PROTOCOL
from .steps import study_file

if TYPE_CHECKING:
    from ..records.describe import Description
    from ..records.propose import Proposal


ASSUMED: Final = ((0, 111), "all ages")
"""Ages at which an added hospital takes patients, and its setting: no export tells them, so that a person must."""


@dataclass(frozen=True)
class Looked:
    """What a first look came to.

    Attributes
    ----------
    hospital : str
    descriptions : tuple of Description
        One a file.
    proposal : Proposal
    written : dict of str to pathlib.Path
        What was written, by what it is.
    study : pathlib.Path or None
    assumed : str
        What an added hospital was taken for without being told.
    """

    hospital: str
    descriptions: tuple[Description, ...]
    proposal: Proposal
    written: dict[str, Path] = field(default_factory=dict)
    study: Path | None = None
    assumed: str = ""

    def text(self) -> str:
        """Return the description and the proposal as a person reads them."""
        return "\n\n".join([*(one.text() for one in self.descriptions), self.proposal.text()])

    def next_step(self, shown: Callable[[Path], str] = str) -> str:
        """Return what to do now, in a sentence."""
        legend = shown(self.written["proposed legend"])
        told = wording.look_next(
            len(self.proposal.to_confirm), legend, shown(self.study) if self.study is not None else None
        )
        return f"{self.assumed}\n{told}" if self.assumed else told

    def to_json(self) -> dict[str, Any]:
        """Return the look as plain values."""
        return {
            "event": "done",
            "hospital": self.hospital,
            **self.proposal.to_json(),
            "assumed": self.assumed,
            "written": {what: str(path) for what, path in self.written.items()},
        }


def look(
    files: Sequence[Path],
    *,
    hospital: str | None = None,
    sheet: str | None = None,
    study: Path | None = None,
) -> Looked:
    """Describe a hospital's files, propose a legend, and write it.

    Parameters
    ----------
    files : sequence of Path
        Of one form; visits in a file of their own may stand among them.
    hospital : str, optional
        Its name; the first file's unless given.
    sheet : str, optional
    study : Path, optional
        Study folder to which the hospital is added: its files are copied into ``sources/``, the legend goes into
        ``legends/``, an entry into ``study.toml``.

    Raises
    ------
    HingelineError
        When a file cannot be read, or a legend, a source or the hospital is there already.
    """
    from ..records.describe import describe
    from ..records.propose import propose

    name = (hospital or files[0].stem.replace("_", " ")).strip()
    if not name or wording.unshown(name) is not None or len(name) > 80:
        raise HingelineError(
            "This cannot be a hospital's name", "--hospital", "Give a name of 1 to 80 characters on one line"
        )
    slug = _slug(name)
    folder = Folder(study) if study is not None else None
    legend = folder.root / "legends" / f"{slug}.toml" if folder is not None else Path(f"{slug}.toml")
    if legend.exists():
        raise HingelineError(
            "A legend of this name is there already, and may hold somebody's work",
            str(legend),
            "Move it away to have another proposed, or give another --hospital",
        )
    if folder is not None:
        study_file(folder, f"legends/{slug}.toml")
    text = _with_hospital(folder, name, slug, files) if folder is not None else ""
    descriptions = tuple(describe(path, sheet=sheet) for path in files)
    proposal = propose(list(files), hospital=name, sheet=sheet)
    written = {"proposed legend": legend}
    if folder is not None:
        written |= _copied(folder, files)
        legend.parent.mkdir(exist_ok=True)
        write_whole(folder.protocol, text)
        written["protocol"] = folder.protocol
        first = folder.root / "legends" / "first.toml"
        if first.is_file() and first.read_text(encoding="utf-8") == LEGEND and _placeholder_gone(text):
            first.unlink()
    write_whole(legend, proposal.legend_text)
    if folder is None:
        return Looked(name, descriptions, proposal, written)
    assumed = wording.hospital_assumed(wording.escaped(name), *ASSUMED)
    return Looked(name, descriptions, proposal, written, folder.root, assumed)


def _slug(name: str) -> str:
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-") or "hospital"


def _inside(folder: Folder, path: Path) -> str | None:
    """Name of a file within the study, or None when it lies elsewhere."""
    try:
        return path.resolve().relative_to(folder.root.resolve()).as_posix()
    except ValueError:
        return None


def _target(folder: Folder, path: Path) -> str:
    return _inside(folder, path) or f"sources/{path.name}"


def _copied(folder: Folder, files: Sequence[Path]) -> dict[str, Path]:
    """Copy what lies outside the study into its sources; what is there under the same name must be the same."""
    made = {}
    for path in files:
        target = folder.root / _target(folder, path)
        if target.exists():
            continue
        study_file(folder, _target(folder, path))
        target.parent.mkdir(exist_ok=True)
        # a new file of its own, readable by its owner alone: a name that is known beforehand could be a link
        handle, name = tempfile.mkstemp(dir=target.parent, prefix=RECEIVED, suffix=".partial")
        waiting = Path(name)
        try:
            with os.fdopen(handle, "wb") as copy, path.open("rb") as original:
                shutil.copyfileobj(original, copy)
            waiting.replace(target)
        finally:
            waiting.unlink(missing_ok=True)
        made[f"copy of {path.name}"] = target
    return made


def _with_hospital(folder: Folder, name: str, slug: str, files: Sequence[Path]) -> str:
    """Return the study's protocol with the hospital added, everything else in it as it was."""
    from ..protocol.study import read_text

    text = read_text(folder.protocol)
    protocol = parse_protocol(text, str(folder.protocol))
    if any(one.name == name for one in protocol.hospitals):
        raise HingelineError(
            f"The study has a hospital {name!r} already", str(folder.protocol), "Give another --hospital"
        )
    names = [_target(folder, path) for path in files]
    for path, target in zip(files, names, strict=True):
        there = folder.root / target
        if there.exists() and _inside(folder, path) is None and there.read_bytes() != path.read_bytes():
            raise HingelineError(
                "Another file of this name is among the study's sources already",
                str(there),
                "Give the new file another name",
            )
    document = tomlkit.parse(text)
    hospitals = document["hospitals"]
    entry = tomlkit.table()
    entry["name"] = name
    entry["sources"] = names
    entry["legend"] = f"legends/{slug}.toml"
    for key, value, remark in (
        (
            "takes_ages",
            list(ASSUMED[0]),
            "assumed, please set: ages at which it takes and hands on a patient",
        ),
        ("setting", ASSUMED[1], 'assumed, please set: or "children", or "general"'),
    ):
        entry[key] = value
        entry[key].comment(remark)
    if _is_placeholder(folder, hospitals):
        hospitals[0].clear()
        for key, item in entry.items():
            hospitals[0][key] = item
    else:
        hospitals.append(entry)
    added = tomlkit.dumps(document)
    parse_protocol(added, str(folder.protocol))
    return added


def _is_placeholder(folder: Folder, hospitals: Any) -> bool:
    """Whether the only hospital is the one that a new study begins with, whose file nobody has put there."""
    first = tomlkit.parse(PROTOCOL)["hospitals"][0]
    return (
        len(hospitals) == 1
        and dict(hospitals[0]) == dict(first)
        and not (folder.root / str(hospitals[0]["sources"][0])).exists()
    )


def _placeholder_gone(text: str) -> bool:
    return '"legends/first.toml"' not in text
