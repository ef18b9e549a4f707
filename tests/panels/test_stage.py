"""The stage: one figure that stays, the last move always drawn, memory flat."""

import asyncio
import gc
import io
import itertools
import sys
import threading

import numpy as np
import psutil
import pytest
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.figure import Figure
from PIL import Image

from tapkit.panels.stage import DPI, REST_SECONDS, REST_SHARE, SHARP, Latest, Stage, png


def draw(figure, model, system):
    axes = figure.add_axes((0.1, 0.1, 0.8, 0.8))
    axes.set(xlim=(0, 10), ylim=(0, model["top"]))
    (line,) = axes.plot([0, model["x"]], [0, 1], animated=True)
    return axes, line


def update(artists, model):
    axes, line = artists
    line.set_data([0, model["x"]], [0, 1])
    if axes.get_ylim()[1] != model["top"]:
        axes.set_ylim(0, model["top"])


@pytest.fixture
def stage():
    return Stage(draw, update, size=(300, 200))


def pixels(picture):
    return np.asarray(Image.open(io.BytesIO(bytes(picture))).convert("RGB"))


def fresh(model):
    """The same picture by a figure of its own."""
    other = Stage(draw, update, size=(300, 200))
    other.show(model)
    return pixels(other.widget.value)


def test_png_holds_exactly_the_pixels():
    rng = np.random.default_rng(1)
    rgba = rng.integers(0, 256, (37, 53, 4), dtype=np.uint8)
    assert np.array_equal(pixels(png(rgba)), rgba[..., :3])


def test_size_on_screen_and_of_the_picture(stage):
    stage.show({"x": 5, "top": 1})
    assert pixels(stage.widget.value).shape == (200, 300, 3)
    assert (stage.widget.width, stage.widget.height) == ("300", "200")
    stage.sharpen()
    assert pixels(stage.widget.value).shape == (200 * SHARP, 300 * SHARP, 3)
    assert (stage.widget.width, stage.widget.height) == ("300", "200")


def test_projector_size_grows_evenly(stage):
    stage.show({"x": 5, "top": 1}, scale=1.5)
    assert pixels(stage.widget.value).shape == (300, 450, 3)
    assert stage.figure.dpi == 1.5 * DPI
    assert stage.widget.width == "450"


def test_a_blitted_picture_equals_a_fresh_one(stage):
    stage.show({"x": 2, "top": 1})
    for x in (3, 9, 4):
        stage.show({"x": x, "top": 1})
        assert np.array_equal(pixels(stage.widget.value), fresh({"x": x, "top": 1}))


def test_changed_limits_make_a_new_background(stage):
    stage.show({"x": 2, "top": 1})
    stage.show({"x": 2, "top": 5})
    assert np.array_equal(pixels(stage.widget.value), fresh({"x": 2, "top": 5}))


def test_background_is_kept_while_nothing_behind_changes(stage, monkeypatch):
    stage.show({"x": 2, "top": 1})
    stage.show({"x": 3, "top": 1})
    drawn = []
    monkeypatch.setattr(stage.canvas, "draw", lambda: drawn.append(1))
    for x in range(10):
        stage.show({"x": x, "top": 1})
    assert drawn == []


def test_after_a_fine_picture_the_next_move_is_whole(stage):
    stage.show({"x": 2, "top": 1})
    stage.sharpen()
    stage.show({"x": 7, "top": 1})
    assert np.array_equal(pixels(stage.widget.value), fresh({"x": 7, "top": 1}))


def test_the_large_canvas_of_a_fine_picture_is_let_go(stage):
    stage.show({"x": 3, "top": 1})
    stage.still()
    gc.collect()
    width = stage.canvas.get_width_height()[0]
    assert [r.width for r in gc.get_objects() if isinstance(r, RendererAgg) and r.width == SHARP * width] == []


def test_the_picture_is_named_by_its_text(stage):
    stage.show({"x": 2, "top": 1}, alt="a line")
    assert stage.widget.tooltip == "a line"
    stage.sharpen()
    assert stage.widget.tooltip == "a line"


def test_nothing_of_pyplot(stage):
    stage.show({"x": 2, "top": 1})
    pyplot = sys.modules.get("matplotlib.pyplot")
    assert pyplot is None or pyplot.get_fignums() == []


def test_hundreds_of_moves_leave_one_figure_and_flat_memory(stage):
    def left_after(moves):
        for x in np.linspace(0, 10, moves):
            stage.show({"x": x, "top": 1 + x // 0.2 % 2})  # the background changes too, now and then
        gc.collect()
        return sum(isinstance(o, Figure) for o in gc.get_objects()), psutil.Process().memory_info().rss

    (figures, before), (more, after) = left_after(100), left_after(400)
    assert more == figures
    assert after - before < 400 * 12_000, "a picture has 240 000 bytes"


# --- moves that come faster than pictures -----------------------------------------------------------


def test_without_an_event_loop_every_ask_is_done():
    done = []
    latest = Latest(lambda: done.append(1))
    for _ in range(3):
        latest.ask()
    assert len(done) == 3


async def until(holds):
    async with asyncio.timeout(60):
        while not holds():
            await asyncio.sleep(0.01)


def test_asks_in_one_burst_are_done_once_and_last(monkeypatch):
    monkeypatch.setattr(Latest, "PATIENCE", 3600)
    state, done = {}, []
    latest = Latest(lambda: done.append(state["x"]))

    async def burst():
        for x in range(50):
            state["x"] = x
            latest.ask()
            await asyncio.sleep(0)
        await until(lambda: done)

    asyncio.run(burst())
    assert done == [49]


def test_a_steady_stream_is_not_starved():
    done = []
    latest = Latest(lambda: done.append(1))

    async def stream():
        loop, milliseconds = asyncio.get_running_loop(), itertools.count()
        loop.time = lambda: next(milliseconds) / 1000  # each look at the clock takes one
        while loop.time() < 0.5:
            latest.ask()
            await asyncio.sleep(0)
        for _turn in range(2 * Latest.TURNS):
            await asyncio.sleep(0)

    asyncio.run(stream())
    assert 0.5 / Latest.PATIENCE * 0.5 <= len(done) <= 0.5 / Latest.PATIENCE + 2


def test_an_ask_during_the_action_is_done_after_it():
    state, done = {"x": 0}, []

    def action():
        done.append(state["x"])
        if state["x"] == 0:
            state["x"] = 1
            latest.ask()

    latest = Latest(action)

    async def once():
        latest.ask()
        await until(lambda: len(done) == 2)

    asyncio.run(once())
    assert done == [0, 1]


def test_rest_comes_once_after_the_last_move(monkeypatch):
    monkeypatch.setattr("tapkit.panels.stage.REST_SECONDS", 0.5)
    events = []
    latest = Latest(lambda: events.append("move"), lambda: events.append("rest"))

    async def moves():
        for number in range(3):
            latest.ask()
            while len(events) <= number:
                await asyncio.sleep(0)
        await until(lambda: len(events) > 3)

    asyncio.run(moves())
    assert events == ["move"] * 3 + ["rest"]


def test_what_takes_long_to_make_fine_waits_for_a_longer_rest(stage, monkeypatch):
    stage.show({"x": 2, "top": 1})
    clock = iter((1.0, 1.01, 10.0, 14.0))
    monkeypatch.setattr("tapkit.panels.stage.time.monotonic", lambda: next(clock))
    stage.sharpen()
    assert stage.rest() == REST_SECONDS
    stage.sharpen()
    assert stage.rest() == REST_SHARE * 4.0


def test_two_threads_never_draw_one_figure_at_once(stage):
    """A page's messages may come in another thread than the one that ran the cells and now makes its fine pictures."""
    failed = []

    def move():
        try:
            stage.show({"x": next(places), "top": 1})
        except Exception as error:
            failed.append(error)

    places = iter(range(10_000))
    latest = Latest(move, stage.sharpen, lambda: 0.0)

    async def moves():
        for _i in range(25):
            latest.ask()
            await asyncio.sleep(0.002)

    latest.ask()
    others = [threading.Thread(target=lambda: asyncio.run(moves())) for _i in range(3)]
    for thread in others:
        thread.start()
    for thread in others:
        thread.join()
    assert failed == []
    assert stage.pictures > 25
