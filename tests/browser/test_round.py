"""The tap in the round, on a card in a real browser: the same tap as on the plates, turned by hand and key without a
kernel; its film shows the computed groove and lets chips leave by the computed direction; without WebGL, the still."""

import base64
import io
import json
import math
import re
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from drawn import look
from opening import soon
from PIL import Image

from tapkit.drawing.packed import packed
from tapkit.drawing.photo import render
from tapkit.drawing.raster import Camera
from tapkit.geometry.solid import solid
from tapkit.mechanics import toothload
from tapkit.operation import Operation
from tapkit.panels.card import card

JOBS = {
    "point": ("M10x1.5 spiral-point plug", "through 8.5 mm x 15 mm", "C45"),
    "flute": ("M10x1.5 spiral-flute bottoming", "blind 8.5 mm x 22 mm", "304"),
    "left": ("M8x1.25-LH straight plug", "through 6.8 mm x 10 mm", "grey iron"),
}
ROUND = "document.getElementById('tap').tapkitRound"


@cache
def written(name):
    """The card of a job, made once."""
    return card(Operation.parse(*JOBS[name]))


def opened(page, tmp_path, name):
    place = tmp_path / f"{name}.html"
    place.write_text(written(name), encoding="utf-8")
    page.goto(place.as_uri())
    page.wait_for_function(f"{ROUND} && ({ROUND}.ok === false || {ROUND}.scene.frames > 0)")
    return page


@pytest.fixture
def shown(page, tmp_path):
    page.set_viewport_size({"width": 700, "height": 1100})
    return lambda name: opened(page, tmp_path, name)


def settle(page):
    page.evaluate("() => new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(r)))")


MASK = f"""() => {{
    const s = {ROUND}.scene, gl = s.gl, out = new Uint8Array(s.width * s.height * 4);
    gl.bindFramebuffer(gl.FRAMEBUFFER, s.targets[0].frame.x);
    gl.readBuffer(gl.COLOR_ATTACHMENT1);
    gl.readPixels(0, 0, s.width, s.height, gl.RGBA, gl.UNSIGNED_BYTE, out);
    gl.readBuffer(gl.COLOR_ATTACHMENT0);
    let text = '';  // of each pixel the part, 255 where the tap is not
    for (let i = 0; i < s.width * s.height; i++) text += String.fromCharCode(out[4 * i + 3] > 0 ? out[4 * i + 1] : 255);
    return {{ width: s.width, height: s.height, parts: btoa(text) }};
}}"""


def seen(page):
    """Where the tap is in the picture, and which part of it, (height, width) each."""
    found = page.evaluate(MASK)
    part = np.frombuffer(base64.b64decode(found["parts"]), np.uint8).reshape(found["height"], found["width"])[::-1]
    return part < 255, part


@pytest.mark.parametrize("name", JOBS)
def test_its_outline_and_parts_are_those_of_the_plates(shown, name):
    page, tap = shown(name), Operation.parse(*JOBS[name]).tap
    for view in ((0, 18), (40, -20), (130, 0), (0, 90)):
        page.evaluate(f"([turn, tilt]) => {ROUND}.look({{turn, tilt, zoom: 1}})", list(view))
        settle(page)
        there, part = seen(page)
        parts = look(Camera(tap, *map(float, view), *part.shape[::-1])).part
        assert np.mean(there != (parts >= 0)) < 0.01 * max(there.mean(), 0.2), view
        assert np.mean((part != parts)[there & (parts >= 0)]) < 0.06, view


def means(picture, part, there):
    """Mean colour of each part that takes a hundredth of the tap, by part."""
    large = [p for p in np.unique(part[there]) if (there & (part == p)).sum() > 0.01 * there.sum()]
    return {int(p): picture[there & (part == p)].mean(0) for p in large}


@pytest.mark.parametrize("name", JOBS)
def test_faces_lands_and_flutes_are_as_bright_as_on_the_plates(shown, name):
    page = shown(name)
    page.add_style_tag(content=".tapkit-round-label {display: none !important}")
    there, part = seen(page)
    height, width = part.shape
    plate = means(render(Camera(Operation.parse(*JOBS[name]).tap, width=width, height=height))[..., :3], part, there)
    canvas = page.locator(".tapkit-round canvas").first

    def farthest():
        shot = np.array(Image.open(io.BytesIO(canvas.screenshot())).convert("RGB"))[:height, :width]
        ours = means(shot, part, there)
        return max(np.abs(ours[p] - plate[p]).max() for p in plate)

    assert {0, 1, 2} <= plate.keys(), "flutes, faces and lands"
    assert soon(farthest, lambda most: most < 20) < 20, "of 255"


GHOST = f"""([vertices, about]) => {{
    const s = {ROUND}.scene, gl = s.gl, all = s.width * s.height * 4;
    const beside = () => {{  // pixels with something in the picture where the tap is not
        const tap = new Uint8Array(all), picture = new Uint8Array(all);
        s.quick();
        gl.bindFramebuffer(gl.FRAMEBUFFER, s.targets[0].frame.x);
        gl.readPixels(0, 0, s.width, s.height, gl.RGBA, gl.UNSIGNED_BYTE, tap);
        gl.bindFramebuffer(gl.FRAMEBUFFER, null);
        gl.readPixels(0, 0, s.width, s.height, gl.RGBA, gl.UNSIGNED_BYTE, picture);
        let found = 0;
        for (let i = 3; i < all; i += 4) if (picture[i] > 0 && tap[i] === 0) found += 1;
        return found;
    }};
    const before = beside();
    {ROUND}.update({{ vertices: Uint8Array.from(atob(vertices), (c) => c.charCodeAt(0)), about }});
    const ghost = beside();
    s.dropOutline();
    return [before, ghost, beside()];
}}"""


def test_a_change_is_seen_against_the_outline_of_the_tap_before(shown):
    page = shown("point")
    more = packed(replace(Operation.parse(*JOBS["point"]).tap, chamfer_threads=6.0))
    before, ghost, after = page.evaluate(GHOST, [base64.b64encode(more.vertices).decode(), more.about])
    assert before == after == 0
    assert ghost > 50
    assert not page.problems


def test_mouse_and_keys_turn_it_and_bring_it_home(shown):
    page = shown("point")
    box = page.locator(".tapkit-round-view").bounding_box()
    middle = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(*middle)
    page.mouse.down()
    page.mouse.move(middle[0] + 60, middle[1] + 30, steps=6)
    page.mouse.up()
    turned = page.evaluate(f"{ROUND}.scene.view")
    assert abs(turned["turn"]) == pytest.approx(30, abs=2)
    assert turned["tilt"] == pytest.approx(28.5, abs=1)
    page.mouse.wheel(0, -400)
    page.wait_for_function(f"{ROUND}.scene.view.zoom > 1.5")
    page.locator(".tapkit-round-view").press("Home")
    assert page.evaluate(f"{ROUND}.scene.view") == {"turn": 0, "tilt": 18, "zoom": 1}
    page.locator(".tapkit-round-view").press("ArrowRight")
    page.locator(".tapkit-round-view").press("n")
    assert page.evaluate(f"[{ROUND}.scene.view.turn, {ROUND}.scene.pointed]") == [-22, 1], "tooth 1 comes in sight"
    page.mouse.dblclick(*middle)
    assert page.evaluate(f"{ROUND}.scene.view.turn") == 0
    page.get_by_role("button", name="Point", exact=True).click()
    assert page.evaluate(f"{ROUND}.scene.view.tilt") == 90
    assert not page.problems


def test_numbers_stand_at_teeth_in_sight(shown):
    page = shown("point")
    settle(page)
    numbers = [int(n) for n in page.locator(".tapkit-round-label").all_inner_texts()]
    assert 1 in numbers
    assert len(set(numbers)) == len(numbers) >= 4
    assert 2 not in numbers  # flute 2 faces away


@pytest.mark.parametrize("name", JOBS)
def test_chips_leave_by_the_computed_direction(shown, name):
    page, job = shown(name), Operation.parse(*JOBS[name])
    page.evaluate(f"{ROUND}.to(6.0)")
    chips = page.evaluate(f"{ROUND}.chips()")
    about = page.evaluate(f"{ROUND}.scene.current.about")
    fresh = [c for c in chips if c["grown"] < 1]
    assert fresh
    side = -1.0 if about["hand"] == "right" else 1.0
    for chip in fresh:
        tip = np.array(about["teeth"][min(chip["tooth"], len(about["teeth"])) - 1]["at"])
        angle = math.atan2(side * tip[1], tip[0]) + 2 * math.pi * 6.0 / about["pitch"]
        out = np.array([math.cos(angle), side * math.sin(angle), 0.0])
        fore = np.array([-math.sin(angle), side * math.cos(angle), 0.0])
        wanted = job.chip_flow.vector[0] * out + job.chip_flow.vector[1] * fore
        wanted[2] += job.chip_flow.vector[2]
        assert math.degrees(math.acos(min(float(wanted @ np.array(chip["vector"])), 1.0))) < 1.0
        line = np.array(chip["line"])
        at_edge = line[0] - [tip[0] * 0, 0, tip[2] - 6.0]
        assert abs(np.hypot(*at_edge[:2]) - np.hypot(*tip[:2])) < 0.05 * about["outer"]


def test_no_chip_stands_in_the_metal_around_the_hole(shown):
    page = shown("point")
    for depth in (3.0, 7.5, 12.0):
        page.evaluate(f"{ROUND}.to({depth})")
        for chip in page.evaluate(f"{ROUND}.chips()"):
            line = np.array(chip["line"][1:])
            inside = (line[:, 2] < -0.1) & (line[:, 2] > -15)
            assert (np.hypot(line[inside, 0], line[inside, 1]) <= 4.25).all()


def test_the_groove_is_the_computed_envelope(shown):
    page, job = shown("point"), Operation.parse(*JOBS["point"])
    page.evaluate(f"{ROUND}.to(6.0)")
    film = page.evaluate(f"(() => {{ const f = {ROUND}.scene.film.data; return {{...f, levels: [...f.levels]}} }})()")
    levels = np.array(film["levels"], np.uint8).tobytes()
    radius = np.frombuffer(levels, "<u2").reshape(film["rows"], film["samples"]) / 65535
    radius = film["hole"] + radius * (film["groove"] - film["hole"])
    x = np.linspace(-0.75, 0.75, film["samples"])
    assert np.abs(radius - toothload.envelope(job.tap, job.hole, job.faults, x).swept).max() < 2e-5
    assert film["first"] == pytest.approx(solid(job.tap).first_tooth)


def tap_pixels(page):
    settle(page)
    there, part = seen(page)
    return (there & (part < 6)).sum()


def test_the_film_plays_stops_and_steps(shown):
    page = shown("flute")
    page.get_by_role("button", name="Film of the cut").click()
    page.wait_for_function(f"{ROUND}.scene.film.depth > 0.4")
    page.get_by_role("button", name="Stop").click()
    before = page.evaluate(f"{ROUND}.scene.film.depth")
    page.get_by_role("button", name="One tooth on").click()
    page.get_by_role("button", name="One turn on").click()
    assert page.evaluate(f"{ROUND}.scene.film.depth") == pytest.approx(before + 0.5 + 1.5)
    page.get_by_role("slider", name="Depth of the point").press("ArrowLeft")
    assert page.evaluate(f"{ROUND}.scene.film.depth") == pytest.approx(before + 1.5)
    assert "N·m" in page.locator(".tapkit-round-said").inner_text()
    page.get_by_role("button", name="Cut open").click()
    plane, tap = page.get_by_role("slider", name="Where the tap is cut open"), []
    for key in ("End", "Home"):  # nearest to the eye, farthest away
        plane.press(key)
        tap.append(tap_pixels(page))
    assert tap[0] > 1.5 * tap[1] > 0, "the plane goes through the tap"
    page.get_by_role("button", name="Film of the cut").click()
    assert page.evaluate(f"{ROUND}.scene.film") is None
    assert not page.problems


def test_who_wants_no_motion_gets_steps(shown, page):
    page.emulate_media(reduced_motion="reduce")
    try:
        shown("point").get_by_role("button", name="Film of the cut").click()
        depth = page.evaluate(f"{ROUND}.scene.film.depth")
        settle(page)
        assert page.evaluate(f"{ROUND}.scene.film.depth") == depth
        page.get_by_role("button", name="Play").click()
        assert page.evaluate(f"{ROUND}.scene.film.depth") == pytest.approx(depth + 1.5)
    finally:
        page.emulate_media(reduced_motion="no-preference")


def test_without_webgl_the_still_picture_and_a_sentence_stay(chromium, tmp_path):
    page = chromium.new_page(viewport={"width": 500, "height": 900})
    page.add_init_script("HTMLCanvasElement.prototype.getContext = () => null")
    opened(page, tmp_path, "point")
    assert "WebGL 2 is missing" in page.locator(".tapkit-round-none").inner_text()
    assert page.locator("figure.still img").is_visible()
    page.close()


def test_a_card_is_one_file_below_a_megabyte_that_asks_for_nothing(chromium, tmp_path):
    text = card(Operation.parse(*JOBS["flute"]), "inch")
    assert len(text.encode()) < 1_000_000
    place = tmp_path / "card.html"
    place.write_text(text, encoding="utf-8")
    page = chromium.new_page()
    asked = []
    page.on("request", lambda r: asked.append(r.url) if not r.url.startswith(("file:", "data:")) else None)
    page.goto(place.as_uri())
    page.wait_for_function(f"{ROUND}?.ok")
    assert asked == []
    told = json.loads(
        page.locator("#told").inner_text() or page.evaluate("document.getElementById('told').textContent")
    )
    assert told["units"]["torque"]["unit"] == "in·lbf"
    for _tooth in range(5):
        page.get_by_role("application").press("n")
    assert re.fullmatch(r"tooth 5, flute 2: \S+ in², \S+ lbf", page.locator(".tapkit-round-told").inner_text())
    page.evaluate(f"{ROUND}.update({{teeth: [{{number: 5, words: 'tooth 5: missing'}}]}})")
    assert page.locator(".tapkit-round-told").inner_text() == "tooth 5: missing", "what is said follows every change"
    page.get_by_role("button", name="Cut open").press("Enter")
    cut = page.get_by_role("slider", name="Where the tap is cut open")
    cut.press("End")
    assert cut.get_attribute("aria-valuetext") == "0.193 in from the axis"
    cut.press("Home")
    assert cut.get_attribute("aria-valuetext") == "−0.193 in from the axis"
    page.close()
