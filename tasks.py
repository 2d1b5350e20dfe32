#!/usr/bin/env python3
"""Set up and run everything: ``python tasks.py demo|test|lint|bench|reference|docs|lock|clean``.

Standard library only, so that a fresh machine needs nothing but Python 3.11 or newer. Each task makes its own
environment in ``.venv`` from the hashed locks; a second call finds it there.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
BIN = VENV / ("Scripts" if os.name == "nt" else "bin")
PYTHON = BIN / ("python.exe" if os.name == "nt" else "python")
LOCKS = {"run": ROOT / "locks" / "run.txt", "test": ROOT / "locks" / "test.txt"}


def say(text: str) -> None:
    """Tell what is being done."""
    print(f"· {text}", flush=True)


def call(*command: str | Path, quiet: bool = False) -> None:
    """Run a command in the project's folder; stop with its exit code when it fails."""
    kwargs = {"stdout": subprocess.PIPE, "stderr": subprocess.STDOUT, "text": True} if quiet else {}
    done = subprocess.run([str(part) for part in command], cwd=ROOT, check=False, **kwargs)  # type: ignore[call-overload]
    if done.returncode:
        if quiet:
            print(done.stdout, file=sys.stderr)
        sys.exit(done.returncode)


def pip(*arguments: str | Path) -> None:
    """Install into the project's environment, by its own pip or by the pip of the Python that runs this."""
    own = subprocess.run([PYTHON, "-m", "pip", "--version"], capture_output=True, check=False).returncode == 0
    front = [PYTHON, "-m", "pip"] if own else [sys.executable, "-m", "pip", "--python", PYTHON]
    call(*front, "--disable-pip-version-check", *arguments, quiet=True)


def make_environment() -> None:
    """Create ``.venv``; where Python comes without ensurepip, without a pip of its own."""
    if PYTHON.exists():
        return
    say("making .venv")
    made = subprocess.run([sys.executable, "-m", "venv", VENV], capture_output=True, check=False)
    if made.returncode:
        shutil.rmtree(VENV, ignore_errors=True)
        call(sys.executable, "-m", "venv", "--without-pip", VENV)


def stamp_of(stamp: Path) -> str:
    """Return what a stamp must say: the fingerprint of its lock and of pyproject.toml."""
    lock_file = LOCKS[stamp.name.removeprefix(".installed-")]
    return hashlib.sha256(lock_file.read_bytes() + (ROOT / "pyproject.toml").read_bytes()).hexdigest()


def set_up(what: str) -> None:
    """Install a lock and the package itself, once for each state of the lock and of pyproject.toml."""
    if sys.version_info < (3, 11):  # noqa: UP036 — whatever Python is at hand runs this
        sys.exit(f"Hingeline needs Python 3.11 or newer; this is {sys.version.split()[0]}.")
    make_environment()
    # what is needed to test holds what is needed to run, at the same versions
    enough = [VENV / ".installed-test", VENV / f".installed-{what}"]
    if any(stamp.exists() and stamp.read_text() == stamp_of(stamp) for stamp in enough):
        return
    say(f"installing what is needed to {what} (hashed lock; the first time takes a minute)")
    pip("install", "--require-hashes", "-r", LOCKS[what])
    pip("install", "--no-deps", "--no-build-isolation", "-e", ROOT)
    stamp = VENV / f".installed-{what}"
    stamp.write_text(stamp_of(stamp))


def demo() -> None:
    """Build and run the invented study."""
    set_up("run")
    call(PYTHON, "-m", "hingeline", "demo", *sys.argv[2:])


def test() -> None:
    """Run every test on every core; further words go to pytest."""
    set_up("test")
    call(PYTHON, "-m", "pytest", *(sys.argv[2:] or ["-n", str(os.cpu_count() or 1)]))


def lint() -> None:
    """Check style, types and the direction of imports."""
    set_up("test")
    call(PYTHON, "-m", "ruff", "check", ".")
    call(PYTHON, "-m", "ruff", "format", "--check", ".")
    call(PYTHON, "-m", "mypy")
    call(BIN / "lint-imports", "--no-cache")


def bench() -> None:
    """Run the benchmarks; a name runs one of them. Prints ratios measured side by side in one run."""
    set_up("test")
    environment = {k: v for k, v in os.environ.items() if k not in {"OPENBLAS_CORETYPE", "OPENBLAS_L2_SIZE"}}
    wanted = sys.argv[2:]
    for script in sorted((ROOT / "bench").glob("[a-z]*.py")):
        if wanted and script.stem not in wanted:
            continue
        say(f"bench/{script.name}")
        subprocess.run([str(PYTHON), str(script)], cwd=ROOT, env=environment, check=True)


def reference() -> None:
    """Compute the reference values again with R (Debian: see .ci/run for the packages)."""
    if not shutil.which("Rscript"):
        sys.exit(
            "R is not installed; on Debian: apt-get install r-base-core and the r-cran packages in .ci/run"
        )
    folder = ROOT / "tests" / "outside" / "reference"
    for script in sorted(folder.glob("*.R")):
        say(f"tests/outside/reference/{script.name}")
        subprocess.run(["Rscript", "--vanilla", script.name], cwd=folder, check=True)


def docs() -> None:
    """Write the pages of docs/ that are made from the code, and the README's picture."""
    set_up("test")
    call(PYTHON, "docs/build.py")


def lock() -> None:
    """Make the two universal locks again (needs uv)."""
    front = ["uv", "pip", "compile", "-q", "--universal", "--python-version", "3.11", "--generate-hashes"]
    front += ["--no-header", "--no-annotate", "--extra"]
    call(*front, "build", "pyproject.toml", "-o", LOCKS["run"])
    call(*front, "test", "-c", LOCKS["run"], "pyproject.toml", "-o", LOCKS["test"])


def clean() -> None:
    """Remove the environment, caches and the demo's folder."""
    for name in (".venv", "hingeline-demo", ".mypy_cache", ".ruff_cache", ".hypothesis"):
        shutil.rmtree(ROOT / name, ignore_errors=True)


TASKS: dict[str, Callable[[], None]] = {
    task.__name__: task for task in (demo, test, lint, bench, reference, docs, lock, clean)
}

if __name__ == "__main__":
    if len(sys.argv) < 2 or sys.argv[1] not in TASKS:
        print(__doc__)
        for name, task in TASKS.items():
            print(f"  {name:<10} {(task.__doc__ or '').splitlines()[0]}")
        sys.exit(0 if len(sys.argv) < 2 or sys.argv[1] in {"-h", "--help", "help"} else 2)
    TASKS[sys.argv[1]]()
