"""`tapkit report`: its keys, its agreement with the model, its refusals."""

import json
import re

import pytest

from tapkit import Operation, Thread
from tapkit.cli import main
from tapkit.planning.holeask import DrawingAsk
from tapkit.planning.holeplan import HolePlan

JOB = ["report", "M10x1.5 spiral-point plug", "--hole", "through 8.5 mm x 15 mm", "--work", "C45"]
KEYS = {
    "thread": {"designation", "major_mm", "pitch_mm", "pitch_diameter_mm", "minor_diameter_mm"},
    "tap": {
        "name", "flutes", "chamfer_threads", "chamfer_length_mm", "chamfer_angle_deg", "point_diameter_mm",
        "radial_rake_deg", "axial_rake_deg", "core_diameter_mm",
    },
    "percent_thread": {"custom", "iso"},
    "torque_curve": {"depth_mm", "torque_Nm"},
    "chip_flow": {"inclination_deg", "normal_rake_deg", "axial_angle_deg", "direction"},
    "section": {"J_mm4", "stress_MPa_per_Nm"},
    "torque": {"cutting_Nm", "expected_Nm", "published_Nm", "going_back_Nm", "basis"},
    "breakage": {"torque_Nm", "torque_range_Nm", "margin_range"},
}  # fmt: skip
TOOTH = {"number", "flute", "position_mm", "area_mm2", "width_mm", "thickness_mm", "force_N", "rubbing"}
TOP = {*KEYS, "teeth", "groove_area_mm2", "peak_torque_Nm", "chip_room", "gauges", "cautions", "set_up", "clutch"}


def report(capsys, *more):
    assert main([*JOB, "--json", *more]) == 0
    return json.loads(capsys.readouterr().out)


def text_of(capsys, arguments):
    """What is printed, its lines run together."""
    assert main(arguments) == 0
    return " ".join(capsys.readouterr().out.split())


def test_keys_are_exactly_those_of_the_design(capsys):
    data = report(capsys)
    assert set(data) == TOP
    for part, keys in KEYS.items():
        assert set(data[part]) == keys
    assert all(set(tooth) == TOOTH for tooth in data["teeth"])


def test_numbers_are_those_of_the_model(capsys):
    data = report(capsys)
    job = Operation.parse(*JOB[1:2], JOB[3], JOB[5])
    assert data["peak_torque_Nm"] == pytest.approx(job.torque_curve.peak)
    assert sum(t["area_mm2"] for t in data["teeth"]) == pytest.approx(data["groove_area_mm2"], rel=1e-12)
    assert data["percent_thread"]["custom"] == pytest.approx(100 * 1.5 / (1.299038 * 1.5), rel=1e-5)
    assert max(data["torque_curve"]["torque_Nm"]) == data["peak_torque_Nm"]
    assert data["breakage"]["torque_range_Nm"] == pytest.approx(job.breakage.torque_range)


def test_every_option_reaches_the_model(capsys):
    plain = report(capsys)
    for option, value, part, key in [
        ("--flutes", "4", "tap", "flutes"),
        ("--chamfer", "5", "tap", "chamfer_threads"),
        ("--core", "0.2 in", "tap", "core_diameter_mm"),
        ("--radial-rake", "5 deg", "tap", "radial_rake_deg"),
        ("--axial-rake", "-14", "tap", "axial_rake_deg"),
        ("--point-diameter", "8.2", "tap", "point_diameter_mm"),
        ("--land", "2.5 mm", "section", "stress_MPa_per_Nm"),
        ("--core", "3.5 mm", "breakage", "torque_Nm"),
    ]:
        assert report(capsys, option, value)[part][key] != plain[part][key], option
    assert report(capsys, "--core", "0.2 in")["tap"]["core_diameter_mm"] == pytest.approx(5.08)


def test_faults_move_the_load_and_keep_the_sum(capsys):
    plain, lost = report(capsys), report(capsys, "--missing-tooth", "5")
    assert lost["teeth"][4]["area_mm2"] == 0
    assert lost["teeth"][5]["area_mm2"] > 1.8 * plain["teeth"][5]["area_mm2"]
    assert sum(t["area_mm2"] for t in lost["teeth"]) == pytest.approx(plain["groove_area_mm2"], rel=1e-12)
    assert any("missing" in caution for caution in lost["cautions"])
    out = report(capsys, "--runout", "0.03 mm @ 0 deg")
    flutes = [sum(t["area_mm2"] for t in out["teeth"] if t["flute"] == f) for f in (1, 2, 3)]
    assert flutes[0] > 1.5 * flutes[1]


@pytest.mark.parametrize("system", ["metric", "inch"])
def test_text_for_people(capsys, system):
    text = text_of(capsys, [*JOB, "--units", system])
    for words in ("ahead of the point", "machine's manual", "US plug; British second"):
        assert words in text
    assert ("in·lbf" in text) == (system == "inch")


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["report", "M10x1.5 spiral-point plug"], "--hole"),
        (["report", "M10x1.5 banana", "--hole", "through 8.5 x 15"], "banana"),
        ([*JOB[:2], "--hole", "through 10.2 mm x 15 mm"], "wider than the thread's 10 mm"),
        ([*JOB[:2], "--hole", "sideways 8"], "through 8.5 mm x 15 mm"),
        ([*JOB, "--flutes", "2.5"], "whole number"),
        ([*JOB, "--flutes", "three"], "--flutes 'three'"),
        ([*JOB, "--runout", "2 kg"], "--runout '2 kg'"),
        ([*JOB, "--missing-tooth", "-1"], "tooth"),
        ([*JOB, "--work", "cheese"], "C45"),
        ([*JOB, "--axial-rake", "12"], "spiral-flute"),
        ([*JOB, "--first-tooth", "0"], "0 to 1"),
        ([*JOB, "--speed", "0"], "m/min"),
        ([*JOB, "--core", "nan"], "number"),
        (["repport"], "choose from"),
    ],
)
def test_bad_input_gets_one_line_and_exit_code_2(capsys, arguments, says):
    try:
        code = main(arguments)
    except SystemExit as stop:
        code = stop.code
    captured = capsys.readouterr()
    assert code == 2
    assert captured.out == ""
    assert says in captured.err
    assert captured.err.count("\n") == 1


def test_a_hole_too_shallow_to_cut_in_is_still_json(capsys):
    text = text_of(capsys, ["report", "M10x1.5 plug", "--hole", "blind 8.5 mm x 0.8 mm", "--json"])
    assert "Infinity" not in text
    assert json.loads(text)["breakage"]["margin_range"] == [None, None]
    assert "over the torque to expect that is far above" in text_of(
        capsys, ["report", "M10x1.5 plug", "--hole", "blind 8.5 mm x 0.8 mm"]
    )


def test_torque_is_a_range_with_the_published_value_beside_it(capsys):
    data = report(capsys)
    torque, broken = data["torque"], data["breakage"]
    assert torque["cutting_Nm"] == data["peak_torque_Nm"]
    assert torque["expected_Nm"][0] < torque["published_Nm"] < torque["expected_Nm"][1]
    assert 0 <= torque["going_back_Nm"][0] < torque["going_back_Nm"][1]
    assert len(torque["basis"]) >= 3
    assert all(isinstance(sentence, str) for sentence in torque["basis"])
    assert broken["margin_range"] == pytest.approx(
        [
            broken["torque_range_Nm"][0] / torque["expected_Nm"][1],
            broken["torque_range_Nm"][1] / torque["expected_Nm"][0],
        ]
    )


def test_the_fluid_is_an_option(capsys):
    oil, dry = (report(capsys, "--fluid", fluid)["torque"] for fluid in ("cutting oil", "dry"))
    assert dry["expected_Nm"][1] > oil["expected_Nm"][1]
    assert dry["published_Nm"] == oil["published_Nm"]
    assert main([*JOB, "--fluid", "beer"]) == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_metals_without_published_torque_give_null(capsys):
    assert main(["report", "M10 straight plug", "--hole", "through 8.5 x 15", "--work", "titanium", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["torque"]["published_Nm"] is None


def test_text_shows_ranges_and_no_lone_margin(capsys):
    text = text_of(capsys, JOB)
    for words in (
        "to expect",
        "of it cut ",
        "crowding chips ",
        "friction of the flanks ",
        "published formula: ",
        "turning back takes ",
    ):
        assert words in text
    assert " to " in text.split("Strength")[1].split("if the")[0]
    assert "forming tap" in text
    assert "thread mill" in text


def test_usual_rakes_and_flutes_follow_metal_and_standard(capsys):
    """One rule for report, choice and panels: radial rake by metal, four flutes on inch hand taps from 1/4 in."""
    assert main(["report", "1/4-20 plug", "--hole", "through 0.201 in x 0.4 in", "--work", "grey iron", "--json"]) == 0
    tap = json.loads(capsys.readouterr().out)["tap"]
    assert tap["flutes"] == 4
    assert tap["radial_rake_deg"] == 2.5


def test_a_crooked_start_and_its_holder(capsys):
    margins = []
    for holder in ("float", "hand", "rigid"):
        data = report(capsys, "--tilt", "1 deg", "--holder", holder)
        assert data["crooked_start"]["side_force_N"] > 0
        margins.append(data["breakage"]["margin_range"][0])
    assert margins == sorted(margins, reverse=True)
    assert "as a dial reads it, so 0.015 mm off the axis" in text_of(capsys, [*JOB, "--runout", "0.03 mm"])


def test_shares_add_up_to_the_torque_to_expect_also_where_chips_jam(capsys):
    """The ends of the three shares, each at its place, add up to the ends of the range."""
    assert (
        main(["report", "M10x1.5 spiral-point plug", "--hole", "blind 8.5 x 25", "--work", "304", "--fluid", "dry"])
        == 0
    )
    told = " ".join(capsys.readouterr().out.split())
    whole = re.search(r"to expect \(dry\): ([\d.]+) to ([\d.]+) N·m until", told)
    one = r" ([\d.]+) to ([\d.]+) N·m"
    parts = re.search(f"cut{one}, crowding chips{one}, friction of the flanks{one}", told)
    numbers = [float(n) for n in parts.groups()]
    for i in (0, 1):
        assert sum(numbers[i::2]) == pytest.approx(float(whole[i + 1]), rel=0.06)


def test_what_the_name_left_out_is_told(capsys):
    """ASME B94.9: a plug chamfer has 3 to 5 threads; a name that says its chamfer is told nothing."""
    hole = ["--hole", "through 8.5 mm x 15 mm"]
    told = []
    for tap in ("M10", "M10 spiral-point", "M10 plug", "M10 form C", "M10 plug | through 8.5 mm x 15 mm | C45"):
        assert main(["report", tap, *([] if "|" in tap else hole)]) == 0
        told.append("no chamfer was named, so 4 threads are taken: a US plug chamfer" in capsys.readouterr().out)
    assert told == [True, True, False, False, False]


def test_hard_steel_is_not_pressed_and_grey_iron_is_tapped_dry(capsys):
    for work, has, lacks in (("42CrMo4 40 HRC", "hardened steel", "forming tap"), ("grey iron", "dry", "forming tap")):
        said = text_of(capsys, ["report", "M10 plug", "--hole", "through 8.5 mm x 15 mm", "--work", work])
        assert " Metal " in said
        assert has in said
        assert lacks not in said
        assert ("dry, as is usual in this metal:" in said) == (work == "grey iron")


def test_a_left_hand_tap_is_said_to_turn_left(capsys):
    assert "A left-hand thread: the tap turns left (anticlockwise) on the way in" in text_of(
        capsys, ["report", "M10x1.5-LH plug", "--hole", "through 8.5 mm x 15 mm"]
    )
    assert "anticlockwise" not in text_of(capsys, JOB)


def test_where_no_full_thread_is_cut_nothing_is_gauged(capsys):
    shallow = ["report", "M10 plug", "--hole", "blind 8.5 mm x 15 mm", "--chamfer"]
    told = text_of(capsys, [*shallow, "20"])
    assert "nothing to gauge: no full thread is cut" in told
    assert "GO goes in" not in told
    assert "GO goes in" in text_of(capsys, [*shallow, "4"])


@pytest.mark.parametrize("written", ["-12°", "-12", "−12°", "-12 deg"])
def test_a_negative_value_is_no_option(capsys, written):
    assert "axial rake −12°" in text_of(capsys, [*JOB, "--axial-rake", written])


def test_clearing_that_changes_nothing_is_said_once(capsys):
    told = text_of(capsys, [*JOB, "--back-turns", "1"])
    assert "chips jam nowhere, with it or without" in told


def test_a_blind_hole_as_planned_gives_the_full_thread_that_was_planned(capsys):
    plan = HolePlan(DrawingAsk(thread=Thread.parse("M10"), drill=8.5, full_thread=20, thickness=40, floor=4), 4)
    told = text_of(capsys, ["report", "M10 spiral-flute 4 threads", "--hole", f"blind 8.5 mm x {plan.cylinder} mm"])
    assert "depth full thread to 20 mm at most: the tap's point goes 26 mm deep, 17.3 turns, its last 6 mm" in told


def test_an_option_that_is_not_known_is_named_with_its_command(capsys):
    with pytest.raises(SystemExit):
        main([*JOB, "--metal", "304"])
    assert capsys.readouterr().err.startswith("tapkit report: it does not know '--metal 304'; 'tapkit report --help'")
