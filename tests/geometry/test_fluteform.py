"""Flute forms: one record for each row, its names with either hand of thread, and its ranges."""

import pytest

from tapkit import Tap
from tapkit.geometry.fluteform import flute_forms, form_of
from tapkit.geometry.tapname import chamfer_length
from tapkit.mechanics.chipflow import AHEAD, TO_SHANK, UNDECIDED, chip_flow


@pytest.mark.parametrize("form", flute_forms(), ids=lambda f: f.key)
@pytest.mark.parametrize("hand", ["", "-LH"])
def test_a_name_reads_back_as_the_same_form_with_either_hand_of_thread(form, hand):
    tap = Tap.make(f"M10x1.5{hand}", form.key)
    again = Tap.parse(f"M10x1.5{hand} {tap.name}")
    assert again == tap


def test_a_left_hand_thread_has_no_left_hand_flute_that_winds_to_the_right():
    against = Tap.make("M10x1.5-LH", "left-hand-flute")
    assert against.name == "right-hand-flute plug"
    assert "against the thread" in against.form.shape
    assert Tap.parse("M10x1.5-LH left-hand flute semi-bottoming").flute_form == "spiral-flute"
    assert Tap.parse("M10x1.5 right-hand spiral flute").flute_form == "spiral-flute"


@pytest.mark.parametrize("form", flute_forms(), ids=lambda f: f.key)
def test_the_usual_tap_of_a_form_sends_its_chips_where_the_row_says(form):
    tap = Tap.make("M10x1.5", form.key, form.usual_chamfer)
    flow = chip_flow(radial_rake=tap.radial_rake, axial_rake=tap.axial_rake, chamfer_angle=tap.chamfer_angle)
    assert flow.direction == form.chips
    assert {1: TO_SHANK, -1: AHEAD, 0: UNDECIDED}[form.sign] == form.chips


@pytest.mark.parametrize("form", flute_forms(), ids=lambda f: f.key)
def test_the_range_of_axial_rakes_holds_the_usual_one_and_can_be_ground(form):
    least, most = form.axial_rakes
    assert least <= form.axial_rake <= most
    for rake in (least, most):
        tap = Tap.make("M10x1.5", form.key, form.usual_chamfer, axial_rake=rake)
        assert not any("steeper" in c for c in tap.cautions())
    assert all(chamfer_length(word) for word in form.chamfers)


def test_an_unknown_form_is_told_which_there_are():
    with pytest.raises(ValueError, match="straight, spiral-point"):
        form_of("wavy")
