"""The page as a file: one document, nothing from outside, hostile text as text, charts drawn in a browser."""

from __future__ import annotations

import base64
import hashlib
import json
import re
import subprocess
from datetime import date, timedelta
from html.parser import HTMLParser
from pathlib import Path

import altair as alt
import nbformat.v4
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.publish import marks
from analytics.publish.library import library
from analytics.publish.packing import packed_rows
from analytics.publish.pages import inside, page, plain_page
from analytics.publish.printing import _settled, find_browser, print_page
from analytics.publish.report import Facts
from analytics.publish.show import CHART_MIME, Look, figure, folded, table, words

HOSTILE = (
    '</script><script>alert(1)</script><img src="https://example.org/x.png" onerror="alert(2)"> & \u2028'
)
FACTS = Facts(
    title=f"Heron {HOSTILE}",
    week="2026-W47",
    as_of="2026-11-22",
    version="0.1.0",
    key="a1" * 32,
    inputs_hash="b2" * 32,
    home="../index.html",
    cautions=(f"No medical advice. {HOSTILE}",),
)


class Reader(HTMLParser):
    """What a browser's parser would see: elements with their attributes, text, inline scripts."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []
        self.scripts: list[str] = []
        self._inside: str | None = None
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        self._inside = tag
        if tag == "script":
            self.scripts.append("")

    def handle_endtag(self, tag):
        self._inside = None

    def handle_data(self, data):
        if self._inside == "script":
            self.scripts[-1] += data
        elif self._inside != "style":
            self.text.append(data)

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.elements if name == tag]


def chart() -> alt.Chart:
    data = pl.DataFrame({"week": [1, 2, 3], "strength_kg": [100.0, 101.5, 103.0], "lift": [HOSTILE] * 3})
    drawn = alt.Chart(
        data, description=f"Strength over three weeks, kg. {HOSTILE}", width="container", height=150
    )
    return drawn.mark_line(point=True).encode(
        x="week:Q", y=alt.Y("strength_kg:Q").scale(zero=False), color="lift:N", tooltip=["lift:N"]
    )


def lifts() -> pl.DataFrame:
    return pl.DataFrame(
        {
            "athlete": ["heron", "otter", "gull"],
            "lift": [HOSTILE, "Row", "Squat"],
            "slope_pct_per_week": [-0.25, None, 1.5],
            "sessions": [12, 3, 40],
        }
    )


def built(*shown) -> str:
    cells = []
    for one in shown:
        output = nbformat.v4.new_output(
            "display_data", data=one if isinstance(one, dict) else dict(one.bundle)
        )
        cells.append(nbformat.v4.new_code_cell("secret_code()", outputs=[output]))
    return page(nbformat.v4.new_notebook(cells=cells), FACTS)


@pytest.fixture(scope="module")
def whole(tmp_path_factory) -> Path:
    shelf = tmp_path_factory.mktemp("page")
    look = Look(caption="All lifts", sortable=True, links={"athlete": "athletes/{}.html"})
    text = built(figure(chart(), lifts()), words("## Lifts"), table(lifts(), look), figure(chart()))
    path = shelf / "page.html"
    path.write_text(marks.with_library(text, library(shelf)), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def seen(whole) -> Reader:
    return Reader(whole.read_text(encoding="utf-8"))


def test_one_file_below_the_limit_with_one_drawing_library(whole):
    text = whole.read_text(encoding="utf-8")
    assert len(text.encode()) < 1_200_000
    assert text.count("window.vegaEmbed=") == 1


def test_nothing_is_asked_from_outside(seen, whole):
    loading = ("src", "href", "action", "data", "poster", "srcset", "background")
    addresses = [
        value or "" for _, found in seen.elements for name, value in found.items() if name in loading
    ]
    assert addresses == [
        "#main",
        "../index.html",
        "athletes/heron.html",
        "athletes/otter.html",
        "athletes/gull.html",
    ]
    assert not {"link", "iframe", "object", "embed", "img", "base", "form"} & {
        tag for tag, _ in seen.elements
    }
    # What is left of addresses are W3C's names of XML namespaces, and the hostile text as text.
    text = whole.read_text(encoding="utf-8")
    hosts = set(re.findall(r"https?://([a-z0-9.-]+)", text))
    assert hosts == {"www.w3.org", "example.org"}
    assert "import(" not in re.sub(r"\w+\.import\(", "", text)


def test_only_the_pages_own_scripts_may_run(seen):
    # Content Security Policy Level 3, section 6.7.3.3: 'sha256-' and base64 of the script's UTF-8 text.
    (policy,) = [m["content"] for m in seen.all("meta") if m.get("http-equiv") == "Content-Security-Policy"]
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    assert rules["default-src"] == "'none'"
    assert rules["img-src"] == "data:"
    running = [
        script
        for script, attributes in zip(seen.scripts, seen.all("script"), strict=True)
        if attributes.get("type") != "application/json"
    ]
    digests = [base64.b64encode(hashlib.sha256(script.encode()).digest()).decode() for script in running]
    assert rules["script-src"].split() == [f"'sha256-{digest}'" for digest in digests]
    assert len(running) == 2


def test_document_structure(seen):
    assert seen.all("html") == [{"lang": "en"}]
    assert len(seen.all("h1")) == 1
    assert [m["id"] for m in seen.all("main")] == ["main"]
    assert seen.all("a")[0] == {"class": "skip", "href": "#main"}
    ids = [found["id"] for _, found in seen.elements if "id" in found]
    assert len(ids) == len(set(ids))
    assert {"width=device-width, initial-scale=1"} == {
        m["content"] for m in seen.all("meta") if m.get("name") == "viewport"
    }
    assert all(cell.get("scope") in ("col", "row") for cell in seen.all("th"))
    assert all(
        box.get("tabindex") == "0" and box.get("aria-label")
        for box in seen.all("div")
        if box.get("class") == "scroll"
    )


def charts_of(seen):
    """The specifications on the page, and the parts they have in common."""
    data = [json.loads(s) for s, a in zip(seen.scripts, seen.all("script"), strict=True) if a.get("type")]
    return data[:-1], data[-1]


def test_what_charts_have_in_common_is_said_once():
    one = {"layer": [{"mark": "bar"}, {"mark": "line"}], "config": {"font": HOSTILE}}
    two = {"layer": [{"mark": "line"}, {"mark": "area"}], "config": {"font": HOSTILE}}
    seen = Reader(built({CHART_MIME: one}, {CHART_MIME: two}))
    specs, parts = charts_of(seen)
    assert [[parts[place] for place in spec["layer"]] for spec in specs] == [one["layer"], two["layer"]]
    assert [parts[spec["config"]] for spec in specs] == [one["config"], two["config"]]
    assert len(parts) == 4
    assert not seen.all("img")


def test_what_is_folded_stands_between_its_title_and_its_end():
    shown = folded(HOSTILE, [words("inside")])
    text = built(*[dict(one.bundle) for one in shown], {"text/markdown": "after"})
    _, _, rest = text.partition('<details class="fold"><summary><h3>')
    title, _, rest = rest.partition("</h3></summary>")
    assert title.startswith("&lt;/script&gt;")
    assert "<" not in title
    assert rest.index("<p>inside</p>") < rest.index("</details>") < rest.index("<p>after</p>")
    assert text.count("</details>") == 1


def test_hostile_text_is_text(seen):
    assert not any("onerror" in found for _, found in seen.elements)
    text = "".join(seen.text)
    assert text.count("alert(2)") == 7  # title, heading, caution, two captions, a cell in each of two tables
    specs, _ = charts_of(seen)
    assert [spec["description"].endswith(HOSTILE) for spec in specs] == [True, True]


def column(packed, count):
    if isinstance(packed, list):
        return packed
    if "plus" in packed:
        first = date.fromisoformat(packed["day"])
        return [(first + timedelta(days=plus)).isoformat() for plus in packed["plus"]]
    return [packed["same"]] * count if "same" in packed else [packed["words"][at] for at in packed["at"]]


def unpacked(packed):
    """What page.js does, in Python."""
    if isinstance(packed, list):
        return packed
    columns = [column(one, packed["count"]) for one in packed["columns"]]
    return [dict(zip(packed["names"], row, strict=True)) for row in zip(*columns, strict=True)]


CELLS = st.one_of(
    st.none(),
    st.integers(-5, 5),
    st.floats(allow_nan=False, allow_infinity=False),
    st.sampled_from(["2026-02-28", "2026-02-30", "2026-03-01", "same", HOSTILE]),
    st.dates(min_value=date(1900, 1, 1)).map(date.isoformat),
)


@given(st.lists(st.fixed_dictionaries({"a": CELLS, "b": CELLS}), max_size=6), st.booleans())
def test_rows_are_packed_without_loss(rows, alike):
    rows = rows[:1] * len(rows) if alike else rows
    assert unpacked(packed_rows(json.dumps(rows))) == rows


def test_the_charts_rows_are_all_in_the_page(seen):
    specs, _ = charts_of(seen)
    given = chart().to_dict()["datasets"]
    assert [{name: unpacked(rows) for name, rows in spec["datasets"].items()} for spec in specs] == [
        given,
        given,
    ]
    assert specs[0]["datasets"][next(iter(given))]["columns"][2] == {"same": HOSTILE}


def test_no_code_is_shown(whole):
    assert "secret_code" not in whole.read_text(encoding="utf-8")


def test_html_of_a_notebook_is_not_passed_on():
    text = built({"text/html": "<b onclick='x()'>bold</b>", "text/plain": "<i>plain</i>"})
    assert "<pre>&lt;i&gt;plain&lt;/i&gt;</pre>" in text
    assert "bold" not in text


def test_markdown_has_no_way_out():
    text = built(
        words(
            "# Top\n\n<script>alert(1)</script> <b>raw</b>\n\n"
            "![photo](https://example.org/a.png) [out](https://example.org) [in](athletes/heron.html) "
            "[run](javascript:alert(1)) [up](../../../etc/passwd)\n\n| a | b |\n|---|---|\n| 1 | 2 |"
        )
    )
    main = text[text.index("<main") : text.index("</main>")]
    assert "<h2>Top</h2>" in main
    assert "<h1" not in main
    assert "&lt;b&gt;raw&lt;/b&gt;" in main
    assert re.findall(r'(?:href|src)="([^"]*)"', main) == ["athletes/heron.html"]
    assert "<td>1</td>" in main


@given(st.text())
def test_only_places_inside_are_linked(address):
    kept = inside(address)
    assert kept in ("", address)
    assert not re.match(r"[a-zA-Z][a-zA-Z0-9+.-]*:|//|\\", kept)


def test_numbers_of_a_table():
    look = Look(decimals={"slope_pct_per_week": 2}, labels={"slope_pct_per_week": "slope, % a week"})
    text = built(table(lifts().select("slope_pct_per_week", "sessions"), look))
    assert '<th scope="col" class="number">slope, % a week</th>' in text
    assert '<td class="number" data-v="-0.25">−0.25</td>' in text
    assert '<td class="number">–</td>' in text
    assert '<td class="number" data-v="40">40</td>' in text


def test_jupyter_gets_a_chart_and_a_table_too():
    bundle = figure(chart(), lifts())._repr_mimebundle_()
    assert bundle[CHART_MIME]["mark"]["type"] == "line"
    assert HOSTILE not in table(lifts())._repr_mimebundle_()["text/html"]


def test_a_page_without_charts_carries_no_library():
    text = marks.with_library(built(words("Nothing drawn.")), "unused")
    assert len(text) < 20_000
    assert "sha256-of" not in text


def test_key_and_note(tmp_path):
    path = tmp_path / "page.html"
    text = marks.with_library(built(words("Good.")), "")
    path.write_text(text, encoding="utf-8")
    assert marks.key_of(path) == FACTS.key
    path.write_text(text[:-20], encoding="utf-8")
    assert marks.key_of(path) == ""
    assert marks.key_of(tmp_path / "none.html") == ""
    noted = marks.noted(marks.noted(text, "an earlier note"), f"second {HOSTILE}")
    path.write_text(noted, encoding="utf-8")
    assert marks.key_of(path) == ""
    assert "an earlier note" not in noted
    assert len(Reader(noted).scripts) == 1
    assert marks.is_plain(plain_page(FACTS, "Nothing yet."))
    assert not marks.is_plain(text)


def browser() -> str:
    found = find_browser()
    if found is None:
        pytest.skip("no browser of the Chromium family is installed")
    return found


@pytest.mark.slow
def test_a_browser_without_a_network_draws_every_chart(whole, tmp_path):
    command = [
        *(browser(), "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
        *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
        *(
            "--enable-logging=stderr",
            "--virtual-time-budget=10000",
            f"--user-data-dir={tmp_path}",
            "--dump-dom",
        ),
        whole.as_uri(),
    ]
    ended = subprocess.run(command, capture_output=True, text=True, timeout=120, check=True)
    drawn = Reader(ended.stdout)
    assert len([s for s in drawn.all("svg") if "marks" in (s.get("class") or "")]) == 2
    assert "CONSOLE" not in ended.stderr
    assert "data-failed" not in ended.stdout.split("</main>")[0]
    sorted_by = [b for b in drawn.all("button") if b.get("type") == "button"]
    assert len(sorted_by) == lifts().width
    assert any(
        found.get("aria-label", "").startswith("Strength over three weeks") for _, found in drawn.elements
    )


@pytest.mark.slow
def test_a_print_is_the_same_each_time(whole):
    prints = []
    for _ in range(2):
        assert print_page(browser(), whole, date(2026, 11, 22)) == ""
        prints.append(whole.with_suffix(".pdf").read_bytes())
    assert prints[0] == prints[1]
    assert b"D:20261122000000" in prints[0]


def test_parts_of_a_print_are_numbered_in_their_order_wherever_the_browser_began():
    one, two = (
        b"/CreationDate (D:20260101120000 /ID (node%08d) /Headers [(node%08d)(node%08d)]" % (n, n + 3, n)
        for n in (7, 188)
    )
    assert _settled(one, date(2026, 11, 22)) == _settled(two, date(2026, 11, 22))
    assert b"/ID (node00000001) /Headers [(node00000002)(node00000001)]" in _settled(one, date(2026, 11, 22))
    assert len(_settled(one, date(2026, 11, 22))) == len(one)


def test_a_browser_that_fails_is_told(whole):
    assert "ended with code 1" in print_page("/bin/false", whole, date(2026, 11, 22))
    assert not (whole.parent / "none.pdf").exists()
