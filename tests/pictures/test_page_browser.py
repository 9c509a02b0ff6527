"""The report in a real headless browser: offline, without a fault, on a phone, on A4, by keyboard, and for all."""

import json
import re
import shutil
from dataclasses import replace

import pytest

from femdrum import report
from femdrum.report import page as page_module

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome", "chrome"))), None)
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(CHROMIUM is None, reason="no chromium is installed, so the page was not opened in a browser"),
]
SOFTWARE_GL = ["--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"]
A4_TEXT = 688  # pixels between the margins of an A4 page: 210 - 2 x 14 mm
LARGEST = 8e6
POINTS = {
    "width": 400,
    "height": 200,
    "points": [[100, 50, "second: 2.5 MPa"], [20, 150, "first: 1.5 MPa"], [380, 20, "third: 3.5 MPa"]],
}
WIDER = """wide => [...document.querySelectorAll("body *")].filter(e => {
    const box = e.getBoundingClientRect();
    return box.width > 0 && box.right > wide + 1;
}).map(e => `${e.tagName} in ${e.closest("section")?.id}: ${e.textContent.slice(0, 40)}`)"""


@pytest.fixture(scope="module")
def browser():
    playwright = pytest.importorskip("playwright.sync_api")
    with playwright.sync_playwright() as running:
        opened = running.chromium.launch(executable_path=CHROMIUM, args=SOFTWARE_GL)
        yield opened
        opened.close()


def written(results):
    """The report, its first chart with points that are known here."""
    real = page_module.shown_figures

    def with_points(chosen, done):
        first, *rest = real(chosen, done)
        return [replace(first, points=json.dumps(POINTS)), *(replace(s, points="") for s in rest)]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(page_module, "shown_figures", with_points)
        return report.write(results)


@pytest.fixture(scope="module")
def paths(plate, ring):
    return {"plate": written(plate), "ring": written(ring)}


@pytest.fixture
def opened(browser, paths):
    """open(which, width) -> page, with what it complained of and what it asked for."""
    contexts = []

    def open_(which, width=1200):
        context = browser.new_context(viewport={"width": width, "height": 900}, offline=True)
        contexts.append(context)
        page = context.new_page()
        page.faults, page.asked = [], []
        page.on("console", lambda m: page.faults.append(m.text) if m.type == "error" else None)
        page.on("pageerror", lambda e: page.faults.append(str(e)))
        page.on("request", lambda r: page.asked.append(r.url))
        page.goto(paths[which].as_uri())
        return page

    yield open_
    for context in contexts:
        context.close()


@pytest.mark.parametrize("which", ["plate", "ring"])
def test_it_opens_offline_without_a_fault(opened, paths, which):
    page = opened(which)
    page.wait_for_load_state("load")
    assert page.faults == []
    assert [url for url in page.asked if not url.startswith(("data:", "blob:"))] == [paths[which].as_uri()]
    assert page.evaluate("[...document.images].every(i => i.complete && i.naturalWidth > 100)")
    assert paths[which].stat().st_size < LARGEST


@pytest.mark.parametrize("which", ["plate", "ring"])
def test_a_phone_scrolls_downward_only(opened, which):
    page = opened(which, 390)
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    assert page.evaluate(
        "[...document.querySelectorAll('p, li, dd')].every(e => parseFloat(getComputedStyle(e).fontSize) >= 13)"
    )


@pytest.mark.parametrize("which", ["plate", "ring"])
def test_nothing_is_cut_on_paper(opened, which, tmp_path):
    page = opened(which, A4_TEXT)
    page.emulate_media(media="print")
    assert page.evaluate(WIDER, A4_TEXT) == []
    pdf = page.pdf(prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) >= 8
    boxes = {tuple(round(float(v)) for v in box.split()) for box in re.findall(rb"/MediaBox\s*\[([^\]]*)\]", pdf)}
    assert boxes == {(0, 0, 595, 842)}
    first = page.evaluate(
        "(() => { const box = document.querySelector('.first').getBoundingClientRect(); return box.bottom; })()"
    )
    assert first < 265 / 25.4 * 96  # answer, table, caution and contents fit on one page


def seen(page):
    return page.locator(".plot.readable output").evaluate("e => e.hidden ? '' : e.textContent")


def test_the_pointer_reads_the_nearest_value(opened):
    page = opened("plate")
    plot = page.locator(".plot.readable")
    assert plot.count() == 1
    plot.scroll_into_view_if_needed()
    box = plot.locator("img").bounding_box()

    def point(x, y):
        page.mouse.move(box["x"] + x / 400 * box["width"], box["y"] + y / 200 * box["height"])
        return seen(page)

    assert point(103, 52) == "second: 2.5 MPa"
    assert point(376, 22) == "third: 3.5 MPa"
    mark = page.locator(".plot.readable .mark").bounding_box()
    assert mark["x"] + mark["width"] / 2 == pytest.approx(box["x"] + 0.95 * box["width"], abs=1.0)
    assert mark["y"] + mark["height"] / 2 == pytest.approx(box["y"] + 0.1 * box["height"], abs=1.0)
    words = page.locator(".plot.readable output").bounding_box()
    assert words["x"] + words["width"] <= box["x"] + box["width"] + 200  # it stays within the page
    assert point(220, 190) == ""  # too far from all


def test_the_keys_step_through_the_values(opened):
    page = opened("plate")
    page.locator(".plot.readable").focus()
    found = []
    for key in ("Home", "ArrowRight", "ArrowRight", "ArrowRight", "ArrowLeft", "End", "Escape"):
        page.keyboard.press(key)
        found.append(seen(page).split(":")[0])
    assert found == ["first", "second", "third", "third", "second", "third", ""]


def test_a_chart_without_points_is_just_a_picture(opened):
    page = opened("plate")
    assert page.locator(".plot").count() > 3
    assert page.locator(".plot[tabindex]").count() == 1


def test_the_body_turns_by_mouse_and_by_keys(opened):
    page = opened("ring")
    assert page.locator("#turn .space").is_hidden()
    page.locator("#turn button").click()
    page.wait_for_selector("#turn[data-ready]", timeout=60_000)
    assert page.locator("#turn").get_attribute("data-ready") == "yes"
    space = page.locator("#turn .space")
    space.scroll_into_view_if_needed()
    page.wait_for_timeout(500)

    def eye():
        return page.evaluate(
            "(() => { const e = document.querySelector('#turn .space')._fullLayout.scene.camera.eye; return [e.x, e.y, e.z]; })()"
        )

    pictures, eyes = [space.screenshot()], [eye()]
    box = space.bounding_box()
    page.mouse.move(box["x"] + 0.4 * box["width"], box["y"] + 0.5 * box["height"])
    page.mouse.down()
    page.mouse.move(box["x"] + 0.55 * box["width"], box["y"] + 0.4 * box["height"], steps=4)
    page.mouse.up()
    page.wait_for_timeout(500)
    pictures.append(space.screenshot())
    eyes.append(eye())
    space.focus()
    page.keyboard.press("ArrowLeft")
    page.wait_for_timeout(500)
    pictures.append(space.screenshot())
    eyes.append(eye())
    page.keyboard.press("+")
    page.wait_for_timeout(500)
    pictures.append(space.screenshot())
    assert len(set(pictures)) == 4
    assert all(abs(a - b) > 0.02 for a, b in zip(eyes[0][:1], eyes[1][:1], strict=True))
    assert eyes[1] != eyes[2]
    assert page.faults == []
    assert [url for url in page.asked if not url.startswith(("data:", "blob:", "file:"))] == []
    assert page.locator("#turn .modebar, #turn a[href^='http']").count() == 0  # no maker's mark
    assert (
        "principal stress, MPa" in space.inner_text()
        or space.locator("text", has_text="principal stress, MPa").count() == 1
    )


@pytest.mark.parametrize(("which", "width"), [("plate", 1200), ("plate", 390), ("ring", 1200), ("ring", 390)])
def test_the_accessibility_audit_finds_nothing_serious(opened, which, width):
    audit = pytest.importorskip("axe_playwright_python.sync_playwright")
    page = opened(which, width)
    if which == "ring" and width > 1000:
        page.locator("#turn button").click()
        page.wait_for_selector("#turn[data-ready]", timeout=60_000)
    found = audit.Axe().run(page).response
    assert len(found["passes"]) > 20  # it did look
    serious = [
        (v["id"], v["nodes"][0]["html"][:200]) for v in found["violations"] if v["impact"] in ("serious", "critical")
    ]
    assert serious == []


def test_without_scripts_all_is_there_but_what_moves(browser, paths):
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(paths["ring"].as_uri())
    assert page.locator("#turn button").is_hidden()
    assert page.locator("#turn .space").is_hidden()
    assert page.locator("#answer table").is_visible()
    context.close()
