"""The film of a cut as numbers and words, and its still: directions against the tool angles, time against the speed."""

import io
import math

import numpy as np
import pytest
from drawn import figure, lines
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from tapkit import Hole, Operation, Tap, Thread, Workpiece, tables
from tapkit.drawing import filmwords, style
from tapkit.drawing.chipway import ARROW, SHARE, SIZE, draw_chipway
from tapkit.drawing.film import METALS, film
from tapkit.geometry.fluteform import FLUTE_FORMS
from tapkit.mechanics.chiproom import LEAVES
from tapkit.panels.common import thread_names

FORMS = {"straight": (0, 0), "spiral-point": (-15, -4), "spiral-flute": (10, 50), "left-hand-flute": (-40, -8)}


def sheet():
    return figure((SIZE[0] / 96, SIZE[1] / 96))


def job_of(
    form="spiral-point", chamfer=4.0, *, thread="M10x1.5", kind="through", depth=1.5, work="C45", speed=10, **tap
):
    thread = Thread.parse(thread)
    hole = Hole(kind=kind, diameter=thread.major - thread.pitch, depth=depth * thread.major)
    made = Tap.make(thread, form, chamfer, **tap)
    return Operation(tap=made, hole=hole, workpiece=Workpiece.parse(work), speed=speed)


@st.composite
def jobs(draw):
    form = draw(st.sampled_from(list(FORMS)))
    low, high = FORMS[form]
    return job_of(
        form,
        draw(st.floats(1.25, 9)),
        thread=draw(st.sampled_from(["M10x1.5", "M8x1-LH", "1/4-20", "M16x2", "M6-LH"])),
        kind=draw(st.sampled_from(["through", "blind"])),
        depth=draw(st.floats(0.8, 3.5)),
        work=draw(st.sampled_from(["C45", "GJL-250", "AlSi"])),
        axial_rake=draw(st.floats(low, high)),
        radial_rake=draw(st.floats(0, 20)),
    )


def chip_by_hand(job):
    """Stabler's chip in (radial, cutting, axial), from the tool angles alone: the face's own plane, MODEL of the tap."""
    tap = job.tap
    gp, gf, k = (math.radians(a) for a in (tap.radial_rake, tap.axial_rake, tap.chamfer_angle))
    normal = np.array([-math.tan(gp), 1, math.tan(gf)])
    edge = np.array([math.sin(k), 0, math.cos(k)])
    edge[1] = -(normal @ edge) / normal[1]
    inclination = math.atan(edge[1])
    edge, normal = edge / np.linalg.norm(edge), normal / np.linalg.norm(normal)
    across = np.cross(edge, normal)
    across *= -np.sign(across[0])
    return math.cos(inclination) * across - math.sin(inclination) * edge


@settings(max_examples=15)
@given(jobs())
def test_arrows_of_the_still_point_as_the_chip_does(job):
    """Seen from the side the height of an arrow is its share along the axis, whatever way its tooth faces; and of
    all directions with that share none lies farther across than the arrow could."""
    _fig, ax = sheet()
    pen, by_hand = draw_chipway(ax, job).pen, chip_by_hand(job)
    for start, end in np.concatenate(lines(ax, "bold", style.ACCENT)).reshape(-1, 2, 2):
        if start[0] > SHARE * pen.width:
            continue  # in the key
        rise, across = (end - start)[1] / (0.8 * ARROW), abs(end - start)[0] / (0.8 * ARROW)
        assert rise == pytest.approx(by_hand[2], abs=0.01)
        assert across <= math.sqrt(1 - by_hand[2] ** 2) + 0.01


@settings(max_examples=10)
@given(
    st.sampled_from(thread_names()),
    st.sampled_from(list(FORMS)),
    st.floats(1.5, 9),
    st.sampled_from(["through", "blind"]),
    st.floats(0.8, 4),
    st.sampled_from(["C45", "AlSi", "brass"]),
)
def test_words_of_the_still_stay_on_the_sheet_and_apart(thread, form, chamfer, kind, depth, work):
    pen = draw_chipway(sheet()[1], job_of(form, chamfer, thread=thread, kind=kind, depth=depth, work=work)).pen
    for i, a in enumerate(pen.boxes):
        assert a.inside(pen.sheet)
        assert not any(a.meets(b) for b in pen.boxes[i + 1 :])


def test_the_still_shows_the_tap_before_the_part_and_no_sign_of_the_way_when_it_asks():
    pictures = []
    for asking in (False, True):
        fig, ax = sheet()
        pen = draw_chipway(ax, job_of(), asking=asking).pen
        for artist in ax.get_children():
            artist.set_animated(False)
        file = io.BytesIO()
        fig.savefig(file, format="png", dpi=96)
        pictures.append(np.asarray(Image.open(file).convert("RGB"), float))
        assert bool(lines(ax, "bold", style.ACCENT)) is not asking
        told = " ".join(t.get_text() for t in pen._texts if t.get_visible())
        assert ("Stabler" in told) is not asking
    assert pictures[1][250:, :300].std() > 20, "tap and part are there"
    assert (pictures[0] != pictures[1]).any()


@pytest.mark.parametrize("form", FLUTE_FORMS)
def test_a_film_that_asks_holds_nothing_that_tells(form):
    asked, whole = film(job_of(form), asking=True), film(job_of(form))
    assert not any(asked[key] for key in ("chips", "torque", "room", "packs"))
    assert "openFrom" not in asked
    assert "mayPack" not in asked
    assert asked["levels"] == whole["levels"], "the tap and its hole are the same"
    assert whole["chips"]["vector"] == pytest.approx(chip_by_hand(job_of(form)))


def test_the_ledger_goes_along_where_chips_stay():
    job = job_of("straight", kind="blind", depth=2.5)
    told = film(job)["room"]
    assert told["low"] == pytest.approx(job.chip_room.loose_low, abs=1e-3)
    assert np.interp(film(job)["packs"], told["depth"], told["low"]) == pytest.approx(
        np.interp(film(job)["packs"], told["depth"], told["room"]), rel=0.01
    )
    assert job_of("spiral-flute").chip_room.fate == LEAVES
    assert film(job_of("spiral-flute"))["room"] is None


# --- words and time -------------------------------------------------------------------------------------


@settings(max_examples=20)
@given(jobs())
def test_the_words_say_where_the_chips_go_and_the_question_does_not(job):
    words = str(filmwords.describe_film(job))
    headline = str(filmwords.HEADLINES[job.chip_flow.direction])
    assert words.startswith(headline)
    assert str(job.chip_room.goes) in words
    asked = str(filmwords.question(job))
    assert str(filmwords.QUESTION) in asked
    assert not any(str(w) in asked for w in (*filmwords.HEADLINES.values(), "inclined", "Full"))


@pytest.mark.parametrize("thread", ["M3", "M10x1.5", "M24x3", "1/4-20"])
def test_twice_the_cutting_speed_turns_twice_as_fast_on_the_screen(thread):
    slow, fast = (job_of(thread=thread, speed=v) for v in (6, 12))
    assert film(slow)["secondsPerTurn"] == pytest.approx(2 * film(fast)["secondsPerTurn"])
    assert filmwords.slowed(slow) == filmwords.slowed(fast)


@pytest.mark.parametrize("speed", [2, 10, 35])
def test_it_says_how_slowed_it_is_and_keeps_to_it(speed):
    job = job_of(speed=speed)
    in_life = math.pi * job.tap.thread.major / (1000 * speed / 60)  # seconds of one turn: way over speed
    times = film(job)["secondsPerTurn"] / in_life
    assert f"{times:.0f} times slowed" in str(filmwords.describe_film(job))


def test_a_job_without_a_speed_says_so():
    assert "No speed is set" in str(filmwords.describe_film(job_of(speed=None)))


def test_chips_have_the_colour_of_their_own_metal():
    """Copper, bronze, brass, iron, aluminium and plastics never turn blue; steel does, fast and dry, not slow in oil."""
    groups = {r["group"]: r["name"] for r in tables.rows("workpieces")}
    assert groups.keys() <= METALS.keys()
    shown = {}
    for group, name in groups.items():
        job = Operation.parse("M10x1.5 straight plug", "through 8.5 mm x 15 mm", name)
        slow, fast = (film(job.with_(speed=v, fluid=f))["chips"]["shade"] for v, f in ((4, "oil"), (50, "dry")))
        assert slow == pytest.approx(METALS[group].shade)
        turns_blue = fast[2] / fast[0] > 1.2 * slow[2] / slow[0]
        assert turns_blue == (METALS[group].hot is not None), group
        shown[group] = slow
    red = {g for g, (r, _g, b) in shown.items() if r > 1.5 * b}
    assert red == {"leaded brass", "bronze", "copper"}
