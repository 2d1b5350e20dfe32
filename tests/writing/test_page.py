from __future__ import annotations

import base64
import dataclasses
import hashlib
import itertools
import json
import os
import re
import shutil
import subprocess
from html.parser import HTMLParser
from pathlib import Path

import pytest

from hingeline.writing import bundle as bundle_module
from hingeline.writing import outline, render_html
from hingeline.writing.html import whole

from .drawn import sample

OUTLINE = outline(sample.answer())
PAGE = render_html(OUTLINE)
HOSTILE = "</script><script>alert(1)</script><img src=x onerror=alert(2)>\" ' & {{ 7 * 7 }}"
VOID = {"meta", "link", "br", "hr", "img", "input"}


class Reader(HTMLParser):
    """Collects what a page has, and fails when an element is not closed in turn."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.scripts: list[tuple[dict[str, str | None], str]] = []
        self.text = ""
        self.feed(page)
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        assert len(names) == len(set(names)), f"<{tag}> names an attribute twice"
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)
        if tag == "script":
            self.scripts.append((dict(attrs), ""))

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] == "script":
            attributes, said = self.scripts[-1]
            self.scripts[-1] = (attributes, said + data)
        elif self.open and self.open[-1] != "style":
            self.text += data

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.elements if name == tag]


READ = Reader(PAGE)


def test_every_name_in_the_page_is_there_once_and_every_pointer_finds_one() -> None:
    names = [a["id"] for _, a in READ.elements if a.get("id")]
    assert len(names) == len(set(names))
    for attributes in READ.all("a"):
        assert str(attributes["href"])[1:] in names
    for _, attributes in READ.elements:
        for pointer in ("aria-labelledby", "aria-describedby"):
            if attributes.get(pointer):
                assert attributes[pointer] in names
        for value in attributes.values():
            for target in re.findall(r"url\(#([^)]+)\)", value or ""):
                assert target in names, "a clip of one picture must not be that of another"


def test_the_page_has_landmarks_a_skip_link_one_heading_of_the_first_rank_and_no_rank_left_out() -> None:
    tags = [tag for tag, _ in READ.elements]
    assert tags.count("main") == tags.count("h1") == tags.count("header") == tags.count("footer") == 1
    assert READ.all("a")[0]["class"] == "skip"
    ranks = [int(tag[1]) for tag in tags if re.fullmatch(r"h[1-6]", tag)]
    assert all(b - a <= 1 for a, b in itertools.pairwise(ranks))
    assert READ.all("html")[0]["lang"] == "en-GB"


def test_every_picture_has_its_alt_text_a_caption_and_still_and_live_forms() -> None:
    drawings = [a for a in READ.all("div") if a.get("role") == "img"]
    assert [a["aria-label"] for a in drawings] == [p.alt for p in OUTLINE.pictures]
    assert len(READ.all("figcaption")) == len(OUTLINE.pictures)
    assert PAGE.count('<div class="still"') == len(OUTLINE.pictures)


def test_head_cells_of_tables_have_their_scope() -> None:
    assert READ.all("th")
    assert {attributes["scope"] for attributes in READ.all("th")} == {"col", "row"}


def test_the_policy_names_the_fingerprints_of_style_and_scripts_and_allows_nothing_else() -> None:
    (policy,) = [
        a["content"] or "" for a in READ.all("meta") if a.get("http-equiv") == "Content-Security-Policy"
    ]
    assert policy.startswith("default-src 'none'")
    assert "unsafe" not in policy
    assert "http" not in policy
    run = [body for attributes, body in READ.scripts if attributes.get("type") != "application/json"]
    assert len(run) == 2
    for body in [*run, re.search(r"<style>(.*?)</style>", PAGE, re.S)[1]]:  # type: ignore[index]
        digest = base64.b64encode(hashlib.sha256(body.encode()).digest()).decode()
        assert f"'sha256-{digest}'" in policy
    assert not any(name.startswith("on") for _, attributes in READ.elements for name in attributes)
    assert not any("style" in attributes for _, attributes in READ.elements), (
        "the policy forbids style attributes"
    )


def test_specifications_in_the_page_are_json_whose_data_are_all_there() -> None:
    held = {a["id"]: json.loads(body) for a, body in READ.scripts if a.get("type") == "application/json"}
    data = held.pop("data")
    assert len(held) == 2 * len(OUTLINE.pictures)
    named = set(re.findall(r'"name": "(d[0-9a-f]{16})"', json.dumps(held)))
    assert named == set(data)


def test_colours_follow_the_page_in_light_and_dark() -> None:
    assert "#17232b" not in PAGE.split("</style>")[1].split('<script type="application/json" id="data">')[0]
    assert PAGE.count("--hl-ink: ") == 2


@pytest.mark.parametrize("place", ["title", "question", "sentence", "hospital", "grid", "mark"])
def test_a_hostile_name_stays_text_wherever_it_stands(place: str) -> None:
    answer = sample.answer(hospital=HOSTILE if place == "hospital" else None)
    if place != "hospital":
        answer = dataclasses.replace(answer, parts=answer.parts[:1])
    if place in ("title", "question"):
        answer = dataclasses.replace(answer, **{place: HOSTILE})
    if place == "sentence":
        answer = dataclasses.replace(answer, sentences=(HOSTILE,))
    if place == "mark":
        answer = dataclasses.replace(answer, marks={HOSTILE: HOSTILE})
    if place == "grid":
        grid = sample.Grid(HOSTILE, (HOSTILE,), ((HOSTILE,),), HOSTILE)
        part = sample.Part("x", HOSTILE, HOSTILE, (), (grid,), HOSTILE, (HOSTILE,))
        answer = dataclasses.replace(answer, parts=(part,))
    read = Reader(render_html(outline(answer)))
    assert len(read.scripts) == 3 + 2 * len(outline(answer).pictures)
    assert not read.all("img")
    assert "alert(1)" in read.text
    assert "49" not in re.sub(
        r"\d*49\d*[.,\d]+|[.,\d]+49\d*", "", "".join(re.findall(r"' & (.{9})", read.text))
    )


def test_the_same_outline_gives_the_same_page() -> None:
    assert render_html(outline(sample.answer())) == PAGE


def test_an_interval_is_kept_on_one_line_and_what_is_round_it_escaped() -> None:
    assert whole("<b> (16.9–18.4)") == '&lt;b&gt; <span class="whole">(16.9–18.4)</span>'
    assert whole("8.9–16.1%; 1–2") == '<span class="whole">8.9–16.1%</span>; <span class="whole">1–2</span>'


def test_the_library_is_made_once_and_a_damaged_cache_is_made_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made: list[int] = []
    kept = tmp_path / "cache" / "embed.js"
    monkeypatch.setattr(bundle_module, "_place", lambda: kept)
    monkeypatch.setattr(bundle_module, "_made", lambda: made.append(1) or "let a;\n")
    fresh = bundle_module.bundle.__wrapped__
    assert fresh() == fresh() == "let a;\n"
    assert len(made) == 1
    kept.write_text(kept.read_text()[:-3])
    assert fresh() == "let a;\n"
    assert len(made) == 2
    monkeypatch.setattr(bundle_module, "_place", lambda: Path("/dev/null/never/embed.js"))
    assert fresh() == "let a;\n"


def test_the_library_ends_no_script_element() -> None:
    library = bundle_module.bundle()
    assert "</script" not in library
    assert "<!--" not in library
    assert "vegaEmbed" in library


@pytest.mark.skipif(
    shutil.which("chromium") is None and not os.environ.get("CI"),
    reason="CHROMIUM IS NOT THERE: the live page is not tried (where CI is set this fails instead)",
)
def test_pictures_turn_live_in_a_browser_under_the_policy(tmp_path: Path) -> None:
    page = tmp_path / "report.html"
    page.write_text(PAGE, encoding="utf-8")
    flags = "--headless --no-sandbox --disable-gpu --no-first-run --disable-background-networking"
    command = [
        "chromium",
        "--window-size=1280,900",
        *flags.split(),
        f"--user-data-dir={tmp_path / 'profile'}",
        "--virtual-time-budget=120000",
    ]
    done = subprocess.run(
        [*command, "--dump-dom", page.as_uri()], capture_output=True, text=True, timeout=240
    )
    assert 'class="live vega-embed"' in done.stdout, "the first picture is near the window, so it turns live"
    live = done.stdout.split('class="live vega-embed"')[1].split("</figure>")[0]
    assert "Groins read from six hospitals" in live
    assert "var(--hl-wash)" in live
