"""The study folder on disk: where things lie, who may write now, and writing that never leaves half a file.

Only `desk` touches a study folder. Sources are opened by `records` and read only.
"""

from __future__ import annotations

import json
import os
import re
import secrets
import shutil
import stat
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import platformdirs
from filelock import FileLock, Timeout

from ..errors import HingelineError

FORMAT = 1
RECEIVED = ".received-"
"""How the name of a copy begins while it is not yet whole."""
BY_HAND = "by-hand"
"""The folder of what people fill in, in sight: nobody finds a list in a folder that file managers hide."""
KEY_BYTES = 32
_IDENTITY = re.compile(r"[0-9a-f]{32}")


@dataclass(frozen=True)
class Folder:
    """Paths of one study folder (design, section 5)."""

    root: Path

    @property
    def protocol(self) -> Path:
        """``study.toml``."""
        return self.root / "study.toml"

    @property
    def hidden(self) -> Path:
        """``.hingeline``: cases and cache, lock and log; never shared."""
        return self.root / ".hingeline"

    @property
    def cache(self) -> Path:
        """Immutable Parquet and JSON named by what they were made from."""
        return self.hidden / "cache"

    @property
    def by_hand(self) -> Path:
        """``by-hand``: lists and sheets that people look through and fill in; private, never shared."""
        return self.root / BY_HAND

    @property
    def set_aside(self) -> Path:
        """What intake set aside, row by row, identifying values masked."""
        return self.by_hand / "set-aside.csv"

    @property
    def decisions(self) -> Path:
        """``decisions.csv``: what a person settled, line by line."""
        return self.root / "decisions.csv"

    @property
    def questions(self) -> Path:
        """What a person should settle, with an empty column for the answers."""
        return self.by_hand / "questions.csv"

    def typing_sheet(self, reader: int) -> Path:
        """Return where a reader's blank typing sheet is written."""
        return self.by_hand / f"typing-reader-{reader}.xlsx"

    @property
    def runs(self) -> Path:
        """``results/runs``: each run written once."""
        return self.root / "results" / "runs"

    @property
    def current(self) -> Path:
        """One line naming the run that stands."""
        return self.root / "results" / "current"

    @property
    def log(self) -> Path:
        """What was done and when, without patient data."""
        return self.hidden / "log.jsonl"

    def prepare(self) -> None:
        """Make the folders that a run writes to.

        Raises
        ------
        HingelineError
            When the folder cannot be written.
        """
        for folder in (self.hidden, self.cache, self.by_hand):
            if folder.is_symlink():
                raise HingelineError(
                    "The private part of the study is a link to another place",
                    str(folder),
                    "Remove the link and call again; the folder is then made anew.",
                )
        try:
            for folder in (self.hidden, self.cache, self.by_hand):
                folder.mkdir(mode=0o700, parents=True, exist_ok=True)
                only_owner(folder)
            for path in self.by_hand.iterdir():  # what people put there has the rights that they gave it
                if path.is_file() and not path.is_symlink():
                    only_owner(path)
            # studies begun before this folder was there do not name it in their own list
            ignored = self.by_hand / ".gitignore"
            if not ignored.exists():
                write_whole(
                    ignored, "# What people fill in may hold what patients' records say.\n*\n", private=True
                )
            self.runs.mkdir(parents=True, exist_ok=True)
            with tempfile.NamedTemporaryFile(dir=self.hidden):
                pass
        except OSError as error:
            raise not_writable(self.root, error) from None

    def identity(self) -> str:
        """Return the study's own random name, made at first use; it tells which key belongs to it."""
        path = self.hidden / "identity.json"
        if path.exists():
            try:
                name = str(json.loads(path.read_text(encoding="utf-8"))["study"])
            except (ValueError, KeyError, TypeError):
                name = ""
            # the name becomes part of a path, so it must be nothing but a name
            if not _IDENTITY.fullmatch(name):
                raise HingelineError(
                    "The study's own name is damaged, so its key cannot be found",
                    str(path),
                    "Put the file back from a copy; or remove it and call again: every export is then read "
                    "anew with a new key.",
                )
            return name
        name = uuid.uuid4().hex
        write_whole(path, json.dumps({"format": FORMAT, "study": name}) + "\n", private=True)
        return name

    def key(self) -> bytes:
        """Return the secret of the patient hashes; it lies with the user, never in the folder.

        Raises
        ------
        HingelineError
            When the key is damaged, or its directory cannot be read or written.
        """
        named = os.environ.get("HINGELINE_KEYS")
        keys = Path(named or platformdirs.user_data_path("hingeline") / "keys")
        path = keys / f"{self.identity()}.key"
        try:
            if not path.exists():
                keys.mkdir(mode=0o700, parents=True, exist_ok=True)
                _make_once(path, secrets.token_hex(KEY_BYTES) + "\n")
            if not named:
                only_owner(keys)
            held = path.read_bytes()
        except OSError as error:
            raise HingelineError(
                f"The key of the patient hashes cannot be read or written: {error.strerror or error}",
                str(path),
                "Make that directory writable, or name another in the environment variable HINGELINE_KEYS.",
            ) from None
        try:
            secret = bytes.fromhex(held.decode("ascii").strip())
        except ValueError:
            secret = b""
        # a short or empty key would let anyone guess the patients behind the hashes
        if len(secret) != KEY_BYTES:
            raise HingelineError(
                f"The key of the patient hashes is damaged: it must be {KEY_BYTES} bytes in hexadecimal",
                str(path),
                "Put the key back from a copy; or, if there is none, remove that file and call again: every "
                "export is then read anew with a new key.",
            )
        return secret

    @contextmanager
    def locked(self) -> Iterator[None]:
        """Hold the study for one run.

        Raises
        ------
        HingelineError
            When another run holds it.
        """
        lock = FileLock(self.hidden / "lock", timeout=0, mode=0o600)
        try:
            lock.acquire()
        except Timeout:
            raise HingelineError(
                "Another run is working on this study",
                str(self.root),
                "Wait until it has ended, then call again; nothing was changed.",
            ) from None
        except OSError as error:
            raise not_writable(self.root, error) from None
        try:
            yield
        finally:
            lock.release()

    def note(self, event: str, **details: Any) -> None:
        """Add a line to the log; details hold counts and names of steps, never a patient."""
        line = {"at": datetime.now(UTC).isoformat(timespec="seconds"), "event": event, **details}
        handle = os.open(self.log, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
        with os.fdopen(handle, "a", encoding="utf-8") as file:
            file.write(json.dumps(line) + "\n")

    def present(self, path: Path) -> Path:
        """Return where a file of `by_hand` is: earlier versions kept them in the hidden folder."""
        before = self.hidden / path.name
        return before if not path.exists() and before.is_file() else path

    def bring_over(self) -> None:
        """Move what earlier versions wrote for people into sight; call it only while the study is locked.

        A file that is in sight already is never written over: then the earlier one stays where it is.
        """
        for path in (self.set_aside, self.questions, *map(self.typing_sheet, (1, 2))):
            before = self.present(path)
            if before != path and not before.is_symlink():
                before.replace(path)

    def sweep(self) -> None:
        """Remove what a run that was killed left half made; call it only while the study is locked."""
        for place, pattern in (
            (self.hidden, "partial-*"),
            (self.hidden, ".identity.json.*"),
            (self.by_hand, "..gitignore.*"),
            (self.by_hand, ".set-aside.csv.*"),
            (self.by_hand, ".questions.csv.*"),
            (self.by_hand, "typing-*.partial"),
            # where earlier versions wrote those lists
            (self.hidden, ".set-aside.csv.*"),
            (self.hidden, ".questions.csv.*"),
            (self.hidden, "typing-*.partial"),
            (self.root, ".decisions.csv.*.partial"),
            (self.root / "sources", f"{RECEIVED}*.partial"),
            (self.cache, "*.partial"),
            (self.cache, ".read-*"),
            (self.current.parent, ".current.*"),
        ):
            for path in place.glob(pattern):
                discard(path)


def not_writable(path: Path, error: OSError) -> HingelineError:
    """Return the error for a folder that cannot be written."""
    return HingelineError(
        f"The study folder cannot be written: {error.strerror or error}",
        str(path),
        "Choose a folder that you may write to, or free some space; the last results stand.",
    )


def only_owner(path: Path) -> None:
    """Take a folder or a file from everybody but its owner."""
    mode = stat.S_IMODE(path.stat().st_mode)
    if mode & 0o077:
        # a disk without owners (FAT) has nobody to take it from
        with suppress(PermissionError):
            path.chmod(mode & 0o700)


def discard(path: Path) -> None:
    """Remove a file, or a folder with all that is in it, if it is there."""
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)


def sync(path: Path) -> None:
    """Bring a file's bytes, or a folder's names, to the disk before another name is given to them."""
    if path.is_dir() and os.name == "nt":
        return
    handle = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _make_once(path: Path, content: str) -> None:
    """Make a private file whole; where two make it at once the first one's stands."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "w", encoding="ascii") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        try:
            os.link(name, path)
        except FileExistsError:
            return
        except OSError:  # a disk without links: what is there still stands, by O_EXCL
            with suppress(FileExistsError):
                fresh = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
                with os.fdopen(fresh, "w", encoding="ascii") as file:
                    file.write(content)
                    file.flush()
                    os.fsync(file.fileno())
        sync(path.parent)
    finally:
        Path(name).unlink(missing_ok=True)


def write_whole(path: Path, content: str | bytes, *, private: bool = False) -> None:
    """Write a file so that a reader sees the old or the new content and never a part.

    A private file is its owner's alone; any other is as readable as the umask allows.
    """
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content.encode() if isinstance(content, str) else content)
            file.flush()
            os.fsync(file.fileno())
        if not private:  # mkstemp makes private files
            umask = os.umask(0)
            os.umask(umask)
            Path(name).chmod(0o666 & ~umask)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
