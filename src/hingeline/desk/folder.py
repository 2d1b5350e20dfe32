"""The study folder on disk: where things lie, who may write now, and writing that never leaves half a file.

Only `desk` touches a study folder. Sources are opened by `records` and read only.
"""

from __future__ import annotations

import json
import os
import secrets
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import platformdirs
from filelock import FileLock, Timeout

from ..errors import HingelineError

FORMAT = 1


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
    def set_aside(self) -> Path:
        """What intake set aside, row by row, identifying values masked."""
        return self.hidden / "set-aside.csv"

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
        try:
            for folder in (self.cache, self.runs):
                folder.mkdir(parents=True, exist_ok=True)
            with tempfile.NamedTemporaryFile(dir=self.hidden):
                pass
        except OSError as error:
            raise not_writable(self.root, error) from None

    def identity(self) -> str:
        """Return the study's own random name, made at first use; it tells which key belongs to it."""
        path = self.hidden / "identity.json"
        if path.exists():
            return str(json.loads(path.read_text(encoding="utf-8"))["study"])
        name = uuid.uuid4().hex
        write_whole(path, json.dumps({"format": FORMAT, "study": name}) + "\n")
        return name

    def key(self) -> bytes:
        """Return the secret of the patient hashes; it lies with the user, never in the folder."""
        keys = Path(os.environ.get("HINGELINE_KEYS") or platformdirs.user_data_path("hingeline") / "keys")
        path = keys / f"{self.identity()}.key"
        try:
            if path.exists():
                return bytes.fromhex(path.read_text(encoding="ascii").strip())
            keys.mkdir(parents=True, exist_ok=True)
            secret = secrets.token_bytes(32)
            handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(handle, "w", encoding="ascii") as file:
                file.write(secret.hex() + "\n")
        except (OSError, ValueError) as error:
            raise HingelineError(
                f"The key of the patient hashes cannot be read or written: {error}",
                str(path),
                "Make that directory writable, or name another in the environment variable HINGELINE_KEYS.",
            ) from None
        return secret

    @contextmanager
    def locked(self) -> Iterator[None]:
        """Hold the study for one run.

        Raises
        ------
        HingelineError
            When another run holds it.
        """
        lock = FileLock(self.hidden / "lock", timeout=0)
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
        with self.log.open("a", encoding="utf-8") as file:
            file.write(json.dumps(line, ensure_ascii=False) + "\n")


def not_writable(path: Path, error: OSError) -> HingelineError:
    """Return the error for a folder that cannot be written."""
    return HingelineError(
        f"The study folder cannot be written: {error.strerror or error}",
        str(path),
        "Choose a folder that you may write to, or free some space; the last results stand.",
    )


def write_whole(path: Path, content: str | bytes) -> None:
    """Write a file so that a reader sees the old or the new content and never a part."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content.encode() if isinstance(content, str) else content)
            file.flush()
            os.fsync(file.fileno())
        # mkstemp makes private files; results are as readable as the umask allows
        umask = os.umask(0)
        os.umask(umask)
        Path(name).chmod(0o666 & ~umask)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
