"""Controls as data: values in tapkit's units whatever is shown."""

import math

import pytest

from tapkit.panels import common
from tapkit.panels.controls import Controls, Pick, Slider, Tick

HOLE = Slider(key="d", label="Hole", kind="length", start=8.5, low=8, high=9.4, step=0.05)
SIZE = Pick(key="size", label="Size", options=(("ten", 10), ("twenty", 20)), start=10)
HALF = Slider(
    key="half",
    label="Half",
    start=lambda v: v.size / 2,
    low=lambda v: v.size / 4,
    high=lambda v: v.size,
    step=0.5,
    follows=("size",),
)
COUNT = Slider(key="n", label="Count", start=3, low=1, high=8, step=1, whole=True)
FLAG = Tick(key="on", label="On")


def test_starts_and_labels():
    controls = Controls((HOLE, COUNT, FLAG))
    assert vars(controls.values) == {"d": 8.5, "n": 3, "on": False}
    assert [w.description for w in controls.widgets] == ["Hole, mm", "Count", "On"]
    assert isinstance(controls.values.n, int)


@pytest.mark.parametrize("noise", [-3e-15, 3e-15, 4e-10])
def test_a_value_is_on_a_step_of_the_scale(noise):
    controls = Controls((HOLE,))
    controls.widgets[0].value = 8 + 7 * 0.05 + noise
    assert controls.values.d == 8.35


def test_inches_are_shown_and_millimetres_given():
    controls = Controls((HOLE,))
    controls.set_system("inch")
    slider = controls.widgets[0]
    assert slider.description == "Hole, in"
    assert slider.step == 0.001
    assert math.isclose(slider.value, 0.335)
    assert controls.values.d == 8.5, "a switch of units changes nothing"
    slider.value = 0.340
    assert math.isclose(controls.values.d, 0.340 * 25.4, rel_tol=1e-12)
    controls.set_system("metric")
    assert math.isclose(controls.values.d, 0.340 * 25.4, rel_tol=1e-12)
    assert math.isclose(slider.value, 8.636)


def test_a_new_range_is_a_new_slider_and_the_old_one_is_heard_no_more():
    told = []
    controls = Controls((HOLE,), on_change=lambda: told.append(1))
    old = controls.widgets[0].slider
    controls.set_system("inch")
    new = controls.widgets[0].slider
    assert new is not old
    assert old.comm is None, "closed"
    told.clear()
    old.value = 9.0
    assert controls.values.d == 8.5
    new.value = 0.340
    assert told == [1]


def test_the_same_range_keeps_its_slider():
    controls = Controls((HOLE,))
    before = controls.widgets[0].slider
    controls.set(d=9)
    controls.reset()
    assert controls.widgets[0].slider is before


def test_angles_and_counts_know_no_inches():
    controls = Controls((common.axial_rake_slider(), common.flutes_slider(), common.chamfer_slider()))
    before = vars(controls.values)
    controls.set_system("inch")
    assert vars(controls.values) == before
    assert [w.step for w in controls.widgets] == [1, 1, 0.25]


def test_what_follows_is_set_anew():
    controls = Controls((SIZE, HALF))
    controls.views["half"].widget.value = 8
    controls.views["size"].widget.value = 20
    assert controls.values.half == 10
    assert (controls.views["half"].low, controls.views["half"].high) == (5, 20)


def test_set_keeps_what_is_given_with_it():
    controls = Controls((SIZE, HALF))
    controls.set(size=20, half=7)
    assert vars(controls.values) == {"size": 20, "half": 7}


def test_one_change_is_told_once():
    told = []
    controls = Controls((SIZE, HALF, HOLE), on_change=lambda: told.append(1))
    controls.views["size"].widget.value = 20
    assert len(told) == 1
    controls.set(size=10, half=3, d=9)
    assert len(told) == 2
    controls.reset()
    assert len(told) == 3
    controls.set_system("inch")
    assert len(told) == 4


def test_reset_brings_everything_back():
    controls = Controls((SIZE, HALF, HOLE, COUNT, FLAG))
    before = vars(controls.values)
    controls.set(size=20, half=7, d=9, n=5, on=True)
    assert vars(controls.values) != before
    controls.reset()
    assert vars(controls.values) == before


def test_out_of_range_is_held_at_the_end():
    controls = Controls((HOLE,))
    controls.set(d=100)
    assert controls.values.d == 9.4


def test_an_unknown_control_is_told():
    with pytest.raises(ValueError, match="no control 'x'; there are d"):
        Controls((HOLE,)).set(x=1)


@pytest.mark.parametrize("thread", common.thread_names())
def test_the_hole_starts_where_every_thread_can_be_cut(thread):
    controls = Controls((common.thread_pick(), common.work_pick(), common.chamfer_slider(), common.hole_slider()))
    controls.set(thread=thread)
    job = common.job_from(controls.values)
    assert 65 < job.tap.thread.percent(job.hole.diameter) < 90
