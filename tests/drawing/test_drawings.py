"""What the drawings show is what the model says: artists are measured, not looked at."""

import math
import random

import numpy as np
import pytest
from drawn import area, figure, fills, lines, painted, pixels, random_job, texts

from tapkit.drawing import (
    clueviews,
    edgemap,
    endview,
    groove,
    holeview,
    style,
    sweepchart,
    tapside,
    tip,
    toolangles,
    toothbars,
    torquechart,
)
from tapkit.drawing.chart import Chart
from tapkit.drawing.pen import Box, Pen
from tapkit.geometry.solid import solid
from tapkit.geometry.tap import Tap
from tapkit.mechanics import toothload
from tapkit.mechanics.toothload import Faults
from tapkit.operation import Operation
from tapkit.planning.diagnosis import CLUES, clue_values

PLUG = Operation.parse("M10x1.5 spiral-point plug", "through 8.5 mm x 15 mm", "C45")
BLIND = Operation.parse("M10 spiral-flute bottoming", "blind 8.5 mm x 25 mm", "C45")
DRAWINGS = {
    tip.draw_tip: lambda j: (j.tap, j.hole),
    endview.draw_endview: lambda j: (j.tap,),
    **dict.fromkeys((edgemap.draw_edgemap, groove.draw_groove, holeview.draw_holeview), lambda j: (j,)),
    toolangles.draw_toolangles: lambda j: (j,),
}
"""Drawings, and what each is given of a job."""
DESCRIBE = {
    "tip": lambda j: tip.describe_tip(j.tap),
    "endview": lambda j: endview.describe_endview(j.tap),
    "groove": groove.describe_groove,
    "holeview": holeview.describe_holeview,
    "toothbars": toothbars.describe_toothbars,
    "torquechart": torquechart.describe_torquechart,
}


@pytest.mark.parametrize("draw", DRAWINGS)
def test_an_update_gives_the_same_picture_as_a_new_drawing(draw):
    rng, given = random.Random(draw.__name__.removeprefix("draw_")), DRAWINGS[draw]
    _, ax = figure((8.96, 5))
    artists = draw(ax, *given(random_job(rng)))
    for _ in range(6):
        job = random_job(rng)
        draw.update(artists, *given(job))
        _, fresh = figure((8.96, 5))
        draw(fresh, *given(job))
        assert np.array_equal(pixels(ax), pixels(fresh)), f"{job.tap} {job.hole}"


@pytest.mark.parametrize("name", DESCRIBE)
def test_a_description_is_one_or_two_plain_sentences(name):
    rng = random.Random(name)
    for _ in range(40):
        said = DESCRIBE[name](random_job(rng))
        assert said.endswith(".")
        assert 1 <= said.count(". ") + 1 <= 4
        assert "nan" not in said
        assert "inf " not in said
        assert "  " not in said


@pytest.mark.parametrize("system", ["metric", "inch"])
def test_a_drawing_speaks_one_system_of_units(system):
    for draw in (tip.draw_tip, endview.draw_endview, groove.draw_groove, holeview.draw_holeview):
        ax = painted(draw, (8.96, 5), *DRAWINGS[draw](PLUG), system=system).ax
        words = " ".join(t.get_text() for t in texts(ax))
        assert (" mm" in words) == (system == "metric")
        assert (" in" in words) == (system == "inch")


# --- the end view -------------------------------------------------------------------------------------


@pytest.mark.parametrize("rake", [-10, 0, 10, 25])
@pytest.mark.parametrize("flutes", [1, 2, 3, 4, 6])
def test_the_drawn_face_stands_at_the_radial_rake(rake, flutes):
    tap = Tap.make("M10", "straight", "plug", radial_rake=rake, flutes=flutes)
    ax = painted(endview.draw_endview, (8.96, 4.4), tap).ax
    edge, foot = lines(ax, "cutting", style.ACCENT)[0][:2]
    radius = edge - axis_of(ax)
    face, cut = (foot - edge) / np.hypot(*(foot - edge)), np.array([-radius[1], radius[0]]) / np.hypot(*radius)
    assert math.degrees(math.asin(-float(face @ cut))) == pytest.approx(rake, abs=1e-6)


def axis_of(ax) -> np.ndarray:
    """Where the two centre lines cross."""
    level, upright = lines(ax, "centre", style.INK)[0][:4].reshape(2, 2, 2)
    return np.array([upright[0, 0], level[0, 1]])


@pytest.mark.parametrize("flutes", [2, 3, 4, 6])
def test_the_flutes_touch_the_core_circle(flutes):
    tap = Tap.make("M10", "straight", "plug", flutes=flutes)
    radii = np.hypot(*solid(tap).outline().T)
    assert radii.min() == pytest.approx(tap.core_diameter / 2, rel=1e-3)
    assert radii.max() == pytest.approx(5.0)


# --- the tap seen from the side -----------------------------------------------------------------------


@pytest.mark.parametrize("flutes", [1, 2, 3, 4])
def test_teeth_stand_where_the_load_sum_has_them(flutes):
    """On flute j's edge the ridge stands at (f + j − 1) P/Z, one pitch apart."""
    tap = Tap.make("M10x1.5", "straight", "taper", flutes=flutes)
    env = toothload.envelope(tap, PLUG.hole, Faults(first_tooth=0.7))
    for z, flute in zip(env.position, env.flute):
        place = solid(tap, 0.7).ridge(-2 * np.pi * (flute - 1) / flutes)
        assert (z - float(place)) / 1.5 == pytest.approx(round((z - float(place)) / 1.5), abs=1e-9)


def test_the_ridge_is_the_outline_of_the_load_sum_cut_by_the_cone():
    tap, s = BLIND.tap, solid(BLIND.tap)
    z = np.linspace(0.1, 9, 400)
    x = (z - float(s.ridge(0.0)) + 0.75) % 1.5 - 0.75
    wanted = np.minimum(np.maximum(toothload.tooth_outline(x, tap.thread), s.root), s.cone(z))
    assert s.thread(0.0, z) == pytest.approx(wanted, abs=1e-12)


def test_a_left_hand_tap_is_the_mirror_image():
    right, left = Tap.parse("M8x1 spiral-flute plug"), Tap.parse("M8x1-LH spiral-flute plug")
    _, a = figure((8, 4))
    _, b = figure((8, 4))
    views = []
    for ax, tap in ((a, right), (b, left)):
        tip.draw_tip(ax, tap)
        views.append(np.vstack(fills(ax, style.STEEL, 1.4)))
    middle = (views[0][:, 1].max() + views[0][:, 1].min()) / 2
    axis = 48 + (4 * 72 - 96) / 2
    assert np.allclose(views[0][:, 0], views[1][:, 0])
    assert np.allclose(views[0][:, 1] - axis, axis - views[1][:, 1]), middle


def test_the_side_view_shows_the_full_diameter():
    for flutes in range(2, 7):
        tap = Tap.make("M10", "straight", "plug", flutes=flutes)
        s = solid(tap)
        view = tapside.SideView(0, 0, 1, 15, tapside.best_turn(s))
        top, bottom = tapside.silhouette(view, s, tapside.lands_of(view, s))
        assert top.max() > 0.93 * 5
        assert bottom.min() < -0.93 * 5


# --- the edge map -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name", ["spiral-point plug", "spiral-flute bottoming", "straight taper", "left-hand-flute plug"]
)
def test_the_chip_arrows_lean_by_the_computed_axial_angle(name):
    job = Operation.parse(f"M10 {name}", "through 8.5 mm x 15 mm")
    ahead, up = edgemap.chip_on_map(job.chip_flow.vector)
    assert math.hypot(ahead, up) == pytest.approx(1)
    assert math.degrees(math.atan2(up, ahead)) == pytest.approx(job.chip_flow.axial_angle)
    ax = painted(edgemap.draw_edgemap, (8.96, 4.4), job).ax
    heads = fills(ax, style.CHIP, 4)
    assert len(heads) == int((job.tooth_loads.area > 0).sum())
    for tip_, a, b in heads:
        drawn = tip_ - (a + b) / 2  # the arrow's axis; the cut runs to the left on a right-hand tap
        assert math.degrees(math.atan2(drawn[1], -drawn[0])) == pytest.approx(job.chip_flow.axial_angle, abs=1e-6)


def test_the_edge_map_numbers_every_tooth_and_crosses_the_lost():
    job = PLUG.with_(faults=Faults(missing_teeth=frozenset([5])))
    ax = painted(edgemap.draw_edgemap, (8.96, 5), job).ax
    shown = {t.get_text() for t in texts(ax)}
    assert {str(n) for n in range(1, 14) if n != 5} <= shown
    assert "5" not in shown


def below_legend(pen, flute: int) -> list[np.ndarray]:
    """What is filled in a flute's colour, but for the legend at the top."""
    return [r for r in fills(pen.ax, style.flute_colour(flute), 1) if r[:, 1].max() < pen.height - 30]


# --- the groove ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("faults", [Faults(), Faults(runout=0.04), Faults(missing_teeth=frozenset([4, 5]))])
def test_every_slice_is_drawn_as_large_as_it_is_cut(faults):
    job = PLUG.with_(faults=faults)
    pen = painted(groove.draw_groove, (8.96, 4.4), job)
    scale = groove._Page(pen, job, toothload.envelope(job.tap, job.hole, faults).swept[-1].max()).scale
    for flute in (1, 2, 3):
        drawn = sum(area(r) for r in below_legend(pen, flute)) / scale**2
        wanted = float(job.slices.area[job.slices.flute == flute].sum())
        assert drawn == pytest.approx(wanted, rel=1e-6)


def test_the_groove_fills_tooth_by_tooth():
    pen = painted(groove.draw_groove, (8.96, 4.4), PLUG, upto=0)
    seen = []
    for count in range(0, 14):
        groove.draw_groove.update(pen, PLUG, count)
        seen.append(sum(area(r) for k in (1, 2, 3) for r in below_legend(pen, k)))
    assert seen[0] == 0
    assert (np.diff(seen) >= -1e-9).all()


# --- bars, torque, hole -------------------------------------------------------------------------------


def test_bars_stand_as_high_as_the_force_and_keep_their_scale():
    pen = painted(toothbars.draw_toothbars, (8.96, 3), PLUG)
    top = pen.memory["top"]
    bars = [r for k in (1, 2, 3) for r in fills(pen.ax, style.flute_colour(k), 1) if r[:, 1].min() < pen.height / 2]
    high = max(np.ptp(r[:, 1]) for r in bars)
    box = toothbars._plot_box(pen)
    assert high / (box.top - box.bottom) * top == pytest.approx(float(PLUG.tooth_loads.force.max()), rel=1e-6)
    toothbars.draw_toothbars.update(pen, PLUG.with_(wear_factor=0.8))
    assert pen.memory["top"] == top, "a small change must show as growth, not as another scale"


def test_lost_and_rubbing_teeth_are_not_drawn_as_cutting():
    job = Operation.parse("M10 taper", "through 8.5 mm x 15 mm", rubbing_thickness=0.5)
    pen = painted(toothbars.draw_toothbars, (8.96, 3), job)
    assert not [r for k in range(1, 5) for r in below_legend(pen, k)]


@pytest.mark.parametrize("system", ["metric", "inch"])
def test_the_torque_curve_is_drawn_to_scale(system):
    pen = painted(torquechart.draw_torquechart, (6, 4), PLUG, system=system)
    chart: Chart = torquechart._chart(pen, PLUG)
    found, turns = PLUG.expected_torque, {"metric": 1.0, "inch": 8.850745791}[system]  # NIST SP 811, appendix B
    drawn = np.concatenate([line[:, 1] for line in lines(pen.ax, "hidden")])
    for peak in (found.low.total.max(), found.high.total[found.closed].max()):
        assert np.abs(drawn - chart.up(peak * turns)).min() < 1e-3


def test_a_hole_too_shallow_to_cut_in_has_an_empty_chart():
    job = Operation.parse("M10 spiral-flute 8 threads", "blind 8.5 mm x 2 mm")
    assert job.expected_torque.high.total.max() == 0
    painted(torquechart.draw_torquechart, (6, 4), job)


def test_the_tap_in_the_hole_meshes_with_the_thread_it_has_cut():
    """At any depth the wall of the hole is nowhere inside the silhouette of the tap's lands."""
    for depth in (3.0, 8.0, 11.3, 20.0):
        pen = painted(holeview.draw_holeview, (4.6, 5.4), BLIND, depth=depth)
        page = holeview._Page(pen, BLIND, depth)
        for side in (-1, 1):
            wall = page.wall(side)
            t = (page.face - wall[:, 1]) / page.scale
            r = side * (wall[:, 0] - page.x) / page.scale
            z = page.depth - t
            theta = -side * page.view.up * math.pi / 2 - page.view.turn
            inside = (z >= 0) & (t <= page.hole.depth)
            assert (r[inside] >= page.solid.thread(theta, z[inside]) - 1e-6).all()
            assert r.max() <= 5.0 + 1e-6
            assert r.min() >= 4.25 - 1e-6


def test_the_hole_view_names_full_and_incomplete_thread():
    pen = painted(holeview.draw_holeview, (4.6, 5.4), BLIND)
    told = [t.get_text() for t in pen.ax.texts]
    chain = [float(told[told.index(name) + 1].split()[0]) for name in ("full thread", "incomplete", "clearance")]
    assert f"drilled {sum(chain):.2f} mm" in told, "printed lengths add up as printed"
    spans = {str(w): b - a for a, b, w in holeview._spans(holeview._Page(pen, BLIND, None))}
    assert spans["full thread"] == pytest.approx(25 - 1.5 - 1.5 * 1.5)
    assert spans["incomplete"] == pytest.approx(2.25)
    assert spans["clearance"] == pytest.approx(1.5)
    assert spans["drill point"] == pytest.approx(4.25 / math.tan(math.radians(59)))


@pytest.mark.parametrize("system", ["metric", "inch"])
def test_the_hole_view_marks_where_chips_jam(system):
    """The line lies at the depth of the point from which the ledger says they jam; none where they do not."""
    jams = Operation.parse("M10x1.5 spiral-point plug", "blind 8.5 mm x 25 mm", "C45")
    pen = painted(holeview.draw_holeview, (4.6, 5.4), jams, system=system)
    page = holeview._Page(pen, jams, None)
    [mark] = lines(pen.ax, "phantom", style.WARN)
    assert (page.face - mark[:, 1]) / page.scale == pytest.approx(jams.chip_room.jams_at, abs=0.05)
    assert any("chips jam" in text.get_text() for text in texts(pen.ax))
    holeview.draw_holeview.update(pen, BLIND)
    assert not any("chips jam" in text.get_text() for text in texts(pen.ax))
    assert "chips jam" in holeview.describe_holeview(jams)
    assert "jam" not in holeview.describe_holeview(BLIND)


def test_the_what_if_chart_leaves_the_band_open_where_chips_jam():
    x, y = np.linspace(0, 10, 11), np.full(11, 5.0)
    curve = sweepchart.Curve("A", x, y, None, x > 5)
    for end, words in (("up", "no upper end"), ("down", "A: chips jam"), ("", None)):
        _, ax = figure((7, 4))
        picture = sweepchart.SweepPicture([curve], "x", "y", end)
        sweepchart.draw_sweepchart(ax, picture)
        assert any("chips jam" in text.get_text() for text in texts(ax)) == bool(end)
        assert any(words in text.get_text() for text in texts(ax)) if words else True
        assert ("chips jam from 6 to 10" in sweepchart.describe_sweepchart(picture)) == bool(end)


def test_the_what_if_chart_marks_where_the_thread_is_scrap():
    x, y = np.linspace(8, 10, 11), np.linspace(9, 1, 11)
    ends = [sweepchart.Scrap(8.7, 10, sweepchart.OVER)]
    curves = [sweepchart.Curve(name, x, y, None, scrap=ends) for name in "AB"]
    for shown, words in (
        (curves, ["A and B: scrap"]),
        ([curves[0], curves[1]._replace(scrap=[ends[0]._replace(low=8)])], ["A: scrap", "B: scrap"]),
    ):
        ax = painted(sweepchart.draw_sweepchart, (7, 4), sweepchart.SweepPicture(shown, "hole", "torque")).ax
        assert [t.get_text() for t in texts(ax) if "scrap" in t.get_text()] == words
    told = sweepchart.describe_sweepchart(sweepchart.SweepPicture(shown, "hole", "torque"))
    assert "With A the thread is scrap above 8.7" in told
    assert "With B the thread is scrap everywhere" in told
    by_gauge = [sweepchart.Scrap(8, 8.4, sweepchart.NO_GO), sweepchart.Scrap(8.6, 9, sweepchart.MAYBE)]
    told = sweepchart.describe_sweepchart(sweepchart.SweepPicture([curves[0]._replace(scrap=by_gauge)], "", ""))
    assert "the thread is scrap below 8.4: the NO-GO gauge goes in" in told
    assert "may go in from 8.6 to 9" in told
    fine = sweepchart.SweepPicture([curves[0]._replace(scrap=())], "hole", "torque")
    assert "scrap" not in sweepchart.describe_sweepchart(fine)


def test_every_clue_that_can_be_seen_has_its_sketch():
    for clue in CLUES:
        there = {value for value, _ in clue_values(clue) if (clue, value) in clueviews.SKETCHES}
        assert there == (set() if clue == "sound" else {value for value, _ in clue_values(clue)})
    for clue, value in clueviews.SKETCHES:
        _, ax = figure((2, 2))
        pen = Pen(ax)
        clueviews.draw_clue(pen, clue, value, Box(10, 10, 130, 130))
        pen.flush()
        assert len(lines(ax, "thin")) > 1, (clue, value)


def test_tool_angles_are_drawn_at_their_size():
    ax = painted(toolangles.draw_toolangles, (8.96, 3), BLIND).ax
    path = lines(ax, "cutting", style.ACCENT)[0]
    way = path[1] - path[0]
    assert math.degrees(math.atan2(way[1], way[0])) == pytest.approx(BLIND.tap.chamfer_angle)
    shaft = lines(ax, "cutting", style.CHIP)[0]
    way = shaft[1] - shaft[0]
    assert math.degrees(math.atan2(-way[0], way[1])) == pytest.approx(BLIND.chip_flow.flow_angle)
