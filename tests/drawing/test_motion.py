"""The moving picture as text: directions, size, form, time and levels, each against something of another kind."""

import math
import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapkit import Faults, Hole, Operation, Tap, Thread, Workpiece
from tapkit.drawing import motion, motion_heap, motion_words
from tapkit.drawing.motion_view import MotionView
from tapkit.panels.common import thread_names

SVG = "{http://www.w3.org/2000/svg}"
FORMS = {"straight": (0, 0), "spiral-point": (-15, -4), "spiral-flute": (10, 50), "left-hand-flute": (-40, -8)}


def job_of(
    form="spiral-point", chamfer=4.0, *, thread="M10x1.5", kind="through", depth=1.5, work="C45", speed=10, **tap
):
    thread = Thread.parse(thread)
    hole = Hole(kind=kind, diameter=thread.major - thread.pitch, depth=depth * thread.major)
    made = Tap.make(thread, form, chamfer, **tap)
    return Operation(tap=made, hole=hole, workpiece=Workpiece.parse(work), speed=speed)


SOME = settings(max_examples=20)


@st.composite
def jobs(draw):
    form = draw(st.sampled_from(list(FORMS)))
    low, high = FORMS[form]
    return job_of(
        form,
        draw(st.floats(1.25, 9)),
        thread=draw(st.sampled_from(["M10x1.5", "M8x1-LH", "1/4-20", "M16x2", "M6-LH"])),
        kind=draw(st.sampled_from(["through", "blind"])),
        depth=draw(st.floats(0.5, 3.5)),
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


def projected(vector, phi, hand):
    """A vector at the angle φ of a tap seen from the front, by turning the tap a little: x right, y down."""
    ray = lambda a: np.array([math.cos(a), math.sin(a), 0])  # noqa: E731
    cutting = (ray(phi - 1e-6) - ray(phi)) / 1e-6  # a right-hand tap turns clockwise seen from the shank
    space = vector[0] * ray(phi) + vector[1] * cutting + vector[2] * np.array([0, 0, 1])
    return np.array([space[0] if hand == "right" else -space[0], -space[2]])


def first_segment(path):
    return np.array([float(v) for v in re.match(r"M\S+ \S+l(\S+) ([^\sqlz]+)", path.get("d")).groups()])


def angle_between(a, b):
    return math.degrees(math.acos(min(1.0, float(a @ b) / (np.hypot(*a) * np.hypot(*b)))))


def of_class(root, name):
    return [e for e in root.iter() if name in (e.get("class") or "").split()]


@SOME
@given(jobs())
def test_the_arrows_in_the_picture_are_the_computed_chip(job):
    root = ET.fromstring(motion.chips_svg(job))
    arrows = of_class(root, "chip-vector") + of_class(root, "way")
    assert of_class(root, "chip-vector")
    by_hand = chip_by_hand(job)
    for arrow in arrows:
        written = np.array([float(v) for v in arrow.get("data-vector").split()])
        assert written == pytest.approx(job.chip_flow.vector, abs=1e-6)
        seen = projected(by_hand, math.radians(float(arrow.get("data-angle"))), job.tap.thread.hand)
        if np.hypot(*seen) > 0.2:
            assert angle_between(first_segment(arrow), seen) < 0.1


@SOME
@given(jobs())
def test_colwells_arrow_is_the_other_computed_chip(job):
    (arrow,) = of_class(ET.fromstring(motion.chips_svg(job, moving=False)), "chip-colwell")
    assert angle_between(first_segment(arrow), projected(job.chip_flow_colwell.vector, 0, job.tap.thread.hand)) < 0.1


def test_teeth_in_the_metal_have_arrows_and_lost_ones_none():
    job = job_of().with_(faults=Faults(missing_teeth=frozenset({4})))
    root = ET.fromstring(motion.chips_svg(job, moving=False))
    teeth = {int(e.get("data-tooth")) for e in of_class(root, "way")}
    assert teeth
    assert 4 not in teeth
    assert not any(e.get("data-tooth") == "4" for e in of_class(root, "chip"))


# --- form -----------------------------------------------------------------------------------------------

HEAVY = [
    dict(form="straight", chamfer=9, thread="M16x1", flutes=6, depth=3, work="GJL-250"),
    dict(form="straight", chamfer=4.0, thread="M25x1.5", kind="blind", depth=3),
    dict(form="spiral-flute", chamfer=8, thread="M10x0.75", flutes=6, kind="blind", depth=3, work="AlSi"),
    dict(form="spiral-flute", chamfer=2.5, thread="M25x1.5", kind="blind", depth=4, work="brass"),
    dict(form="left-hand-flute", chamfer=4.0, thread="M16x1", depth=3, work="brass"),
    dict(form="spiral-point", chamfer=4.0, thread="M12x1.75", depth=3),
    dict(form="straight", chamfer=9, thread="#6-32", flutes=6, depth=3, work="GJL-250"),
]


@pytest.mark.parametrize("heavy", HEAVY, ids=lambda h: f"{h['thread']}-{h['form']}-{h['chamfer']}")
def test_the_largest_pictures_stay_under_150_kb(heavy):
    assert len(motion.chips_svg(job_of(**heavy)).encode()) < 150_000


@SOME
@given(
    st.sampled_from(thread_names()),
    st.sampled_from(list(FORMS)),
    st.floats(1, 10),
    st.integers(2, 6),
    st.sampled_from(["through", "blind"]),
    st.floats(0.3, 4),
    st.sampled_from(["C45", "AlSi", "brass"]),
)
def test_any_picture_is_small_well_formed_and_whole(thread, form, chamfer, flutes, kind, depth, work):
    svg = motion.chips_svg(
        job_of(form, chamfer, thread=thread, kind=kind, depth=max(depth, 0.8), work=work, flutes=flutes)
    )
    assert len(svg.encode()) < 150_000
    assert_whole(svg)


def assert_whole(svg):
    """Well formed, every name once, every reference met, nothing from outside, no script."""
    root = ET.fromstring(svg)
    names = [e.get("id") for e in root.iter() if e.get("id")]
    assert len(names) == len(set(names))
    style = root.find(f"{SVG}style").text
    used = set(re.findall(r"url\(#(\w+)\)", svg)) | {m[1:] for m in re.findall(r'href="([^"]*)"', svg)}
    assert used <= set(names)
    assert set(re.findall(r"animation(?:-name)?:(k\w+)", svg)) <= set(re.findall(r"@keyframes (\w+)", style))
    assert not re.search(r"<script|https?://(?!www\.w3\.org/2000/svg)|\bon\w+=|nan|inf\b", svg)


def test_every_kind_of_motion_is_one_css_can_stop():
    svg = motion.chips_svg(job_of())
    assert "<animate" not in svg
    frames = re.findall(r"@keyframes \w+\{(.*?\})\}", svg)
    properties = {
        p.split(":")[0] for f in frames for block in re.findall(r"\{([^{}]*)", f) for p in block.split(";") if p
    }
    assert properties <= {"transform", "opacity", "visibility", "d"}


def test_the_still_picture_has_no_motion_and_the_moving_one_yields_to_reduced_motion():
    still, moving = (motion.chips_svg(job_of(), moving=m) for m in (False, True))
    assert "@keyframes" not in still
    assert "animation" not in still
    assert "@media(prefers-reduced-motion:reduce)" in moving


def test_the_same_job_gives_the_same_text():
    assert motion.chips_svg(job_of()) == motion.chips_svg(job_of())


def test_pictures_of_two_jobs_share_no_names():
    one, other = (
        set(re.findall(r'id="(\w+)"', motion.chips_svg(job_of(form)))) for form in ("straight", "spiral-flute")
    )
    assert not one & other


# --- words ----------------------------------------------------------------------------------------------


@SOME
@given(jobs())
def test_title_and_description_say_where_the_chips_go(job):
    root = ET.fromstring(motion.chips_svg(job))
    assert root.find(f"{SVG}desc").text == str(motion.describe_motion(job))
    assert root.find(f"{SVG}title").text == str(motion_words.HEADLINES[job.chip_flow.direction])
    assert root.get("aria-labelledby").split() == [root.find(f"{SVG}{t}").get("id") for t in ("title", "desc")]
    assert str(job.chip_room.goes) in motion.describe_motion(job)


def test_letters_are_ten_points_or_more():
    root = ET.fromstring(motion.chips_svg(job_of()))
    sizes = [float(e.get("font-size")) for e in root.iter(f"{SVG}text")]
    assert min(sizes) >= 10 * 96 / 72


@SOME
@given(jobs())
def test_no_text_runs_out_of_the_column_or_over_another(job):
    from tapkit.drawing.label import text_width

    root, boxes = ET.fromstring(motion.chips_svg(job)), []
    for e in root.iter(f"{SVG}text"):
        if e.get("text-anchor") == "middle":
            continue
        size, x, y = (float(e.get(k)) for k in ("font-size", "x", "y"))
        wide = text_width(e.text, size, e.get("font-weight") == "bold")
        left = x - wide if e.get("text-anchor") == "end" else x
        assert left >= 0, e.text
        assert left + wide <= 862, e.text
        assert y <= 598, e.text
        boxes.append((left, y - 0.76 * size, left + wide, y + 0.24 * size, e.text))
    for i, a in enumerate(boxes):
        for b in boxes[i + 1 :]:
            assert not (a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]), (a[4], b[4])


def test_the_question_gives_nothing_away():
    for form in FORMS:
        svg = motion.question_svg(job_of(form))
        root = ET.fromstring(svg)
        for name in ("chip-vector", "chip-colwell", "way", "way-out", "chip", "heap", "packed"):
            assert not of_class(root, name)
        told = " ".join(e.text or "" for e in root.iter() if e.tag != f"{SVG}style")
        assert not any(str(w) in told for w in (*motion_words.HEADLINES.values(), "inclined", "Stabler", "Full"))
        assert_whole(svg)


# --- time -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("thread", ["M3", "M10x1.5", "M24x3", "1/4-20"])
def test_twice_the_cutting_speed_turns_twice_as_fast_on_the_screen(thread):
    slow, fast = (MotionView(job_of(thread=thread, speed=v)) for v in (6, 12))
    assert slow.turn == pytest.approx(2 * fast.turn)
    assert slow.slowed == fast.slowed


@pytest.mark.parametrize("speed", [2, 10, 35])
def test_the_picture_says_how_slowed_it_is_and_keeps_to_it(speed):
    job = job_of(speed=speed)
    svg = motion.chips_svg(job)
    said = float(re.search(r"([\d.]+) times slowed", str(motion.describe_motion(job)))[1])
    turn = float(re.search(r"face\{;animation:\w+ ([\d.]+)s", svg)[1])
    in_life = math.pi * job.tap.thread.major / (1000 * speed / 60)  # seconds of one turn: way over speed
    assert turn / in_life == pytest.approx(said, rel=0.005)


def test_seconds_set_the_turn_and_the_words_follow():
    job = job_of()
    assert MotionView(job, 6.0).turn == pytest.approx(6.0)
    assert f"{6 * MotionView(job).rpm / 60:.3g} times slowed" in motion.describe_motion(job, seconds=6.0)


def test_a_job_without_a_speed_says_so():
    assert "No speed is set" in motion.describe_motion(job_of(speed=None))


def test_the_tap_sinks_by_a_pitch_a_turn():
    view = MotionView(job_of())
    assert view.tip(0) - view.tip(view.turn) == pytest.approx(view.pitch)


# --- room -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("share", [0.1, 0.3, 0.5])
def test_the_heap_below_a_spiral_point_holds_what_the_ledger_says(share):
    job = job_of("spiral-point", kind="blind", depth=2.5)
    view = MotionView(job)
    time = share * view.loop
    level, depth = motion_heap.level_below(view, time), view.depth_at(time)
    assert depth < job.chip_room.packs_at
    r, cone = job.hole.diameter / 2, job.hole.cone_depth
    z = np.linspace(-job.hole.depth - cone, level, 20001)
    radius = np.minimum(r, (z + job.hole.depth + cone) / cone * r)
    volume = np.trapezoid(np.pi * radius**2, z)
    assert volume == pytest.approx(np.interp(depth, job.chip_room.depth, job.chip_room.loose_low), rel=0.01)


def test_the_heap_meets_the_point_when_the_ledger_is_full():
    view = MotionView(job_of("spiral-point", kind="blind", depth=2.5))
    time = (view.job.chip_room.packs_at - view.first) / view.pitch * view.turn
    assert 0 < time < view.loop
    assert motion_heap.level_below(view, time * 0.999) == pytest.approx(view.tip(time), abs=0.02)


@pytest.mark.parametrize("form", ["spiral-flute", "left-hand-flute"])
def test_chips_that_leave_fill_nothing(form):
    root = ET.fromstring(motion.chips_svg(job_of(form)))
    assert not of_class(root, "heap") + of_class(root, "packed")


def test_chips_that_stay_pack_the_flutes():
    root = ET.fromstring(motion.chips_svg(job_of("straight")))
    assert of_class(root, "packed")


# --- a page ---------------------------------------------------------------------------------------------


def test_the_saved_page_keeps_to_what_notebooks_let_through():
    page = motion.saved_html(job_of())
    tags = set(re.findall(r"<([a-z]+)", page))
    assert tags <= {"figure", "details", "summary", "div", "picture", "source", "img", "figcaption", "p"}
    assert "<details open" in page
    assert page.count("data:image/svg+xml;base64,") == 2
    assert "http" not in re.sub(r"base64,[^\"]*", "", page)
