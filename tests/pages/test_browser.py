"""Every page in a real browser with the network cut off: drawn, silent, reachable, readable, printable."""

import json

import pytest
from axe_playwright_python.sync_playwright import Axe

from analytics.cli import main
from analytics.publish.packing import packed_rows

pytestmark = [pytest.mark.slow, pytest.mark.filterwarnings("ignore::DeprecationWarning")]
DESK, PHONE = 1280, 380
MOST_BYTES = 1_200_000


@pytest.fixture(scope="module")
def week(demo_folder, tmp_path_factory):
    out = tmp_path_factory.mktemp("reports")
    assert main(["weekly", str(demo_folder), "--out", str(out)]) == 0
    return out / "2026-W47"


def pages(week):
    return [week / "index.html", *sorted((week / "athletes").glob("*.html"))]


@pytest.fixture
def visit(browser):
    """Open a page at a width; what it said to the console and asked from elsewhere comes with it."""
    contexts = []

    def open_page(path, width):
        context = browser.new_context(viewport={"width": width, "height": 900}, offline=True)
        contexts.append(context)
        page, said = context.new_page(), []
        page.on("console", lambda message: said.append(f"{message.type}: {message.text}"))
        page.on("pageerror", lambda error: said.append(f"error: {error}"))
        page.on(
            "request",
            lambda request: said.append(request.url) if not request.url.startswith("file:") else None,
        )
        page.goto(path.as_uri())
        page.wait_for_function("[...document.querySelectorAll('figure')].every(f => f.querySelector('svg'))")
        return page, said

    yield open_page
    for context in contexts:
        context.close()


@pytest.mark.parametrize("width", [DESK, PHONE])
def test_every_chart_is_drawn_and_nothing_is_asked_from_outside(week, visit, width):
    for path in pages(week):
        page, said = visit(path, width)
        assert page.locator("figure").count() == page.locator("figure svg").count() > 0
        assert said == []
        assert page.evaluate("document.documentElement.scrollWidth") <= width, f"{path.name} scrolls sideways"
        assert path.stat().st_size <= MOST_BYTES


def test_no_finding_of_an_accessibility_check(week, visit):
    for path in (pages(week)[0], pages(week)[1]):
        page, _ = visit(path, DESK)
        found = Axe().run(page).response["violations"]
        assert [rule["id"] for rule in found] == []


def test_the_roster_page_sorts_and_filters_by_keyboard(week, visit):
    page, _ = visit(pages(week)[0], DESK)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    table = page.locator("table.sortable", has=page.locator("th", has_text="hard sets with RIR"))
    before = table.locator("tbody tr th").all_inner_texts()
    table.locator("thead button", has_text="athlete").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    assert table.locator("tbody tr th").all_inner_texts() == sorted(before, reverse=True)


def test_links_lead_to_every_athlete_and_back(week, visit):
    page, _ = visit(pages(week)[0], DESK)
    athlete = pages(week)[1]
    page.locator(f'a[href="athletes/{athlete.name}"]').first.click()
    page.wait_for_url(f"{athlete.as_uri()}#walk=*")
    page.get_by_text("All athletes").click()
    page.wait_for_url(pages(week)[0].as_uri())


def test_one_walks_from_athlete_to_athlete_in_the_order_of_the_roster_page(week, visit):
    page, said = visit(pages(week)[0], DESK)
    table = page.locator("table", has=page.locator("th", has_text="weeks to stage"))
    order = [link.get_attribute("href") for link in table.locator("tbody a").all()]
    table.locator("tbody a").nth(0).click()
    for address in order[1:]:
        page.locator("nav a", has_text="Next: ").click()
        page.wait_for_url(f"**/{address}#walk=*")
    assert page.locator("nav a", has_text="Next: ").count() == 0
    page.locator("nav a", has_text="Previous: ").click()
    page.wait_for_url(f"**/{order[-2]}#walk=*")
    assert said == []


def test_a_walk_that_somebody_forged_is_not_taken(week, visit):
    page, _ = visit(pages(week)[1], DESK)
    for forged in ("#walk=../../x,y", "#walk=<img>,heron", "#walk=javascript:alert(1)"):
        page.goto(pages(week)[1].as_uri() + forged)
        page.reload()
        assert page.locator("header nav >> nth=0").locator("a").count() == 1


def test_the_page_unpacks_what_was_packed(week, visit):
    rows = [
        {"day": f"{year}-{month:02d}-28", "file": "one.csv", "kg": 2.5 * month, "role": "ab"[month % 2]}
        for year in (1999, 2026)
        for month in range(1, 13)
    ]
    packed = packed_rows(rows)
    assert len(json.dumps(packed)) < len(json.dumps(rows)) / 3
    page, _ = visit(pages(week)[0], DESK)
    assert page.evaluate("unpacked", packed) == rows
    assert page.evaluate("unpacked", [*rows[:1], {}]) == [*rows[:1], {}]


def test_contents_lead_to_every_part_by_keyboard(week, visit):
    page, _ = visit(pages(week)[1], PHONE)
    links = page.locator("nav[aria-label=Contents] a")
    assert links.all_inner_texts() == page.locator("main h2").all_inner_texts()
    links.last.focus()
    page.keyboard.press("Enter")
    assert page.locator("main h2").last.bounding_box()["y"] < 900


def test_what_is_folded_is_drawn_opens_by_keyboard_and_is_printed(week, visit):
    held = [path for path in pages(week)[1:] if 'details class="fold"' in path.read_text(encoding="utf-8")]
    assert held, "the demo has lifts that go well"
    page, said = visit(held[0], DESK)
    fold = page.locator("details.fold").first
    assert fold.get_attribute("open") is None
    width = fold.locator("figure svg").first.evaluate("e => Number(e.getAttribute('width'))")
    assert width > DESK / 2, "drawn as wide as the page although nobody sees it yet"
    page.evaluate(
        "addEventListener('beforeprint', () => {"
        " window.printed = [...document.querySelectorAll('.fold')].every(f => f.open); })"
    )
    page.pdf(format="A4")
    assert page.evaluate("window.printed")
    assert fold.get_attribute("open") is None, "as it was after the print"
    fold.locator("summary").first.focus()
    page.keyboard.press("Enter")
    assert fold.locator("figure").first.is_visible()
    assert said == []


def test_charts_are_not_shrunk_on_a_phone(week, visit):
    page, _ = visit(pages(week)[1], PHONE)
    page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
    scales = page.evaluate(
        "[...document.querySelectorAll('figure .chart svg')]"
        ".map(e => e.getBoundingClientRect().width / e.viewBox.baseVal.width)"
    )
    assert min(scales) > 0.8, "labels of 12 pixels stay above 9"


def test_a_page_prints_on_a4_with_its_cautions(week, visit, tmp_path):
    page, _ = visit(pages(week)[1], DESK)
    page.pdf(path=tmp_path / "page.pdf", format="A4")
    assert (tmp_path / "page.pdf").read_bytes().startswith(b"%PDF")
    assert "no medical advice" in page.inner_text("footer")


def test_no_page_holds_another_athletes_data(week, demo_tables):
    people = demo_tables["athlete"]
    for path in pages(week)[1:]:
        text = path.read_text(encoding="utf-8")
        for athlete, name in people.filter(people["athlete"] != path.stem).select("athlete", "name").rows():
            assert f"exports/{athlete}/" not in text
            assert f">{name}<" not in text
