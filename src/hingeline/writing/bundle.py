"""The drawing library for pages (Vega-Lite and what it needs), made by vl-convert, kept in the user's cache.

Nothing comes in; 0.9 MB of script goes out. Making it takes about two seconds, so it is made once for each
version and read from the cache after that; a cache that cannot be written or is damaged costs those seconds
again.
"""

from __future__ import annotations

import hashlib
import os
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Final

import platformdirs
import vl_convert

from hingeline.pictures.theme import VEGA_LITE

_SNIPPET: Final = "window.vegaEmbed = vegaEmbed;"


@cache
def bundle() -> str:
    """Return the library as a script that ends no script element and leaves `vegaEmbed` on the window."""
    kept = _place()
    try:
        digest, text = kept.read_text(encoding="utf-8").split("\n", 1)
        if digest == _digest(text):
            return text
    except (OSError, ValueError):
        pass
    text = _made()
    _keep(kept, text)
    return text


def _made() -> str:
    made = str(vl_convert.javascript_bundle(_SNIPPET, vl_version=VEGA_LITE))
    return made.replace("\r", "").replace("</script", "<\\/script").replace("<!--", "<\\!--")


def _place() -> Path:
    name = f"embed-{VEGA_LITE}-by-vl-convert-{version('vl-convert-python')}.js"
    return platformdirs.user_cache_path("hingeline") / name


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def _keep(kept: Path, text: str) -> None:
    """Write beside and swap, so that another process never reads half a file."""
    part = kept.with_suffix(f".{os.getpid()}")
    try:
        kept.parent.mkdir(parents=True, exist_ok=True)
        part.write_text(f"{_digest(text)}\n{text}", encoding="utf-8")
        part.replace(kept)
    except OSError:
        return
