"""Taps: names to geometry and back, usual proportions, and what cannot be ground."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import fitting, threads

from tapkit import Tap, Thread, tables
from tapkit.geometry.fluteform import form_for, lettered
from tapkit.geometry.proportions import usual_flutes
from tapkit.geometry.tapname import chamfer_length, chamfer_name, din_form, named_parts, read_tap_name

NAMES = ["taper", "plug", "semi-bottoming", "bottoming"]
FORMS = ["straight", "spiral-point", "spiral-flute", "left-hand-flute"]


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("chamfer", NAMES)
def test_name_to_geometry_and_back(form, chamfer):
    tap = Tap.make("M10x1.5", form, chamfer)
    again = Tap.parse(f"M10x1.5 {tap.name}")
    assert again == tap
    assert tap.chamfer_name == chamfer


@pytest.mark.parametrize(
    ("text", "form", "chamfer"),
    [
        ("M10 spiral point plug tap", "spiral-point", "plug"),
        ("M10 SPIRAL-POINTED PLUG", "spiral-point", "plug"),
        ("bottoming spiral flute M10x1.5", "spiral-flute", "bottoming"),
        ("M10 right-hand spiral-fluted semi bottoming", "spiral-flute", "semi-bottoming"),
        ("M10 left hand flute second", "left-hand-flute", "plug"),
        ("M10 straight taper", "straight", "taper"),
        ("M10", "straight", "plug"),
        ("M10 form B", "spiral-point", 4.0),
        ("M10 DIN 2197 form C spiral-flute", "spiral-flute", 2.5),
        ("1/4-20 UNC form E", "straight", 1.75),
    ],
)
def test_names_people_write(text, form, chamfer):
    read = read_tap_name(text)
    assert (read.form or "straight", read.chamfer or "plug") == (form, chamfer)
    assert read.thread is not None


def test_british_plug_is_american_bottoming():
    assert Tap.make("M10", chamfer="bottoming").british_name == "plug"
    assert Tap.make("M10", chamfer="plug").british_name == "second"
    assert chamfer_length("second") == chamfer_length("plug")


def test_named_parts_leave_out_what_was_not_said():
    assert named_parts("spiral flute")[::2] == (None, None)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("M10 forming tap", "cuts no chip"),
        ("M10 roll tap", "cuts no chip"),
        ("spiral-point plug", "names no thread"),
        ("M10 wobbly plug", "cannot read"),
        ("x" * 400, "short text"),
    ],
)
def test_names_that_name_no_tap(text, says):
    with pytest.raises(ValueError, match=says):
        Tap.parse(text)


@given(st.text(max_size=220))
def test_any_name_gives_a_tap_or_one_sentence(text):
    try:
        Tap.parse(text)
    except ValueError as error:
        said = str(error)
        assert said


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (dict(chamfer_threads=0.0), "threads cannot be ground"),
        (dict(chamfer_threads=25.0), "threads cannot be ground"),
        (dict(point_diameter=10.0), "makes no chamfer"),
        (dict(point_diameter=0.5), "makes no chamfer"),
        (dict(radial_rake=50.0), "radial rake of 50"),
        (dict(axial_rake=20.0), "does not go with a straight-flute tap: it makes a spiral-flute tap"),
        (dict(core_diameter=9.9), "core of 9.9 mm cannot be ground"),
        (dict(core_diameter=math.nan), "core of nan"),
        (dict(land_width=9.0), "do not go with 3 flutes"),
        (dict(flutes=9), "1 to 8 flutes"),
        (dict(flutes=2.5), "whole number"),
        (dict(flutes="three"), "whole number"),
    ],
)
def test_taps_that_cannot_be_ground(change, says):
    with pytest.raises(ValueError, match=says):
        Tap.make("M10x1.5", **change)


@pytest.mark.parametrize(("form", "rake"), [("spiral-point", 10.0), ("spiral-flute", -10.0), ("left-hand-flute", 5.0)])
def test_axial_rake_must_suit_the_flute_form(form, rake):
    with pytest.raises(ValueError, match=f"does not go with a {form} tap"):
        Tap.make("M10x1.5", form, axial_rake=rake)


@given(threads, st.sampled_from(FORMS), st.sampled_from(NAMES))
def test_usual_proportions_need_no_caution_about_the_tap(thread, form, chamfer):
    tap = Tap.make(thread, form, chamfer)
    about = [c for c in tap.cautions() if "DIN 2197 pairs" not in c and "not a size" not in c]
    assert about == []


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (dict(chamfer=0.5), "outside the named lengths"),
        (dict(core_diameter=6.0), "core of 0.60 D is unusual"),
        (dict(land_width=4.5), "lands of 0.45 D are unusual"),
        (dict(radial_rake=25.0), "outside the usual 0° to 20°"),
        (dict(flute_form="spiral-point", chamfer="bottoming"), "form B"),
        (dict(flute_form="spiral-flute", axial_rake=55.0), "steeper than taps are usually ground"),
        (dict(flute_form="spiral-flute", axial_rake=5.0), None),
    ],
)
def test_unusual_taps_carry_a_caution(change, says):
    found = " ".join(map(str, Tap.make("M10x1.5", **change).cautions()))
    assert says is None or says in found


@given(fitting())
def test_chamfer_angle_is_the_cone_through_both_ends(job):
    tap, _ = job
    rise = math.tan(math.radians(tap.chamfer_angle)) * tap.chamfer_length
    assert tap.point_diameter + 2 * rise == pytest.approx(tap.thread.major, rel=1e-12)
    assert tap.tooth_spacing * tap.flutes == pytest.approx(tap.thread.pitch, rel=1e-12)


@pytest.mark.parametrize("row", tables.rows("din2197"), ids=lambda r: r["form"])
def test_din_letters_from_length_and_flute(row):
    low, high = tables.span(row["threads"])
    for form in (f.key for f in lettered(row["form"])):
        assert din_form((low + high) / 2, form) == row["form"]


def test_only_form_b_has_a_spiral_point():
    letters = {din_form(n / 10, "spiral-point") for n in range(8, 90)}
    assert letters == {"B", None}


@pytest.mark.parametrize(
    ("text", "threads_"), [("3.5 threads", 3.5), ("2,5", 2.5), ("TAPER", 8.0), ("semi bottoming", 2.5)]
)
def test_chamfer_lengths_people_write(text, threads_):
    assert chamfer_length(text) == threads_


@pytest.mark.parametrize("text", ["4 mm", "long", ""])
def test_chamfer_lengths_that_are_none(text):
    with pytest.raises(ValueError, match="chamfer"):
        chamfer_length(text)


def test_lengths_between_the_named_ones_take_the_nearer_name():
    assert [chamfer_name(n) for n in (20, 6.2, 5.4, 2.8, 2.2, 0.3)] == [
        "taper", "taper", "plug", "plug", "semi-bottoming", "bottoming",
    ]  # fmt: skip


def test_form_for_an_axial_rake():
    assert form_for(-5, "left-hand-flute") == "left-hand-flute"
    assert form_for(3) == "spiral-flute"


def test_every_size_has_a_usual_number_of_flutes():
    counts = [usual_flutes(Thread("any", float(d), 0.2)) for d in (0.5, 2, 3, 6, 13.9, 14, 30, 60, 150)]
    assert counts == sorted(counts)
    assert usual_flutes(Thread.parse("M4"), "spiral-point") == 2
    assert [usual_flutes(Thread.parse("3/8-16"), form) for form in ("straight", "spiral-flute")] == [4, 3]
