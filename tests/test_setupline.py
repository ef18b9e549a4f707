"""The set-up line: what is printed is read as the same job, in both systems, and bad lines get one sentence."""

import dataclasses
import json
import math
import re

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tapkit import Operation, setupline
from tapkit.cli import main
from tapkit.mechanics import chiproom, expected, feed, gauges
from tapkit.mechanics.toothload import Faults
from tapkit.mechanics.workpiece import Workpiece
from tapkit.parameters import parameters
from tapkit.report import as_dict
from tests import strategies

EXAMPLE = "M10x1.5 spiral-point 4 threads, 3 flutes, hook 10°, point −12° | through 8.5 mm x 15 mm | C45, 10 m/min, oil"


@st.composite
def any_jobs(draw):
    """Jobs with anything about them unlike the usual."""
    job = draw(strategies.jobs(faulty=draw(st.booleans())))
    faults = dict(runout=st.floats(0, 0.2), runout_angle=st.floats(0, 350), regrind_shorter=st.floats(0, 0.4))
    tap = dict(core_diameter=st.floats(0.3, 0.6), land_width=st.floats(0.1, 0.4))
    more = dict(
        speed=st.none() | st.floats(0.1, 90),
        fluid=st.sampled_from(expected.fluids()),
        tilt=st.floats(0, 2),
        holder=st.sampled_from(feed.holders()),
        feed_error=st.floats(-3, 3),
        wear_factor=st.floats(1, 2),
        shear_at_breakage=st.floats(900, 2000),
        rubbing_thickness=st.floats(1e-5, 0.03),
        rake_percent_per_degree=st.floats(0, 2),
        chip_form=st.none() | st.sampled_from(chiproom.FORMS),
        wrench_length=st.none() | st.floats(100, 500),
        tap_class=st.sampled_from(("", *gauges.class_names())),
        workpiece=st.sampled_from((job.workpiece, Workpiece.parse("E295", "B"))),
    )

    def some(fields):
        return {k: draw(v) for k, v in fields.items() if draw(st.booleans())}

    try:
        wanted = {k: v * job.tap.thread.major for k, v in some(tap).items()}
        wanted |= {"radial_rake": draw(st.floats(-5, 25))}
        job = job.with_(faults=dataclasses.replace(job.faults, **some(faults)), **some(more))
        hole = job.hole.with_(drill_angle=draw(st.sampled_from((118.0, 140.0, 131.5))))
        if draw(st.booleans()):
            hole = hole.with_(clearance=draw(st.floats(0, 0.9)) * hole.depth)
        return job.with_(tap=job.tap.with_(**wanted), hole=hole)
    except ValueError:
        assume(False)


def flat(thing):
    """Every number and word of a job, by name."""
    if dataclasses.is_dataclass(thing):
        return {f"{f.name}.{k}": v for f in dataclasses.fields(thing) for k, v in flat(getattr(thing, f.name)).items()}
    if isinstance(thing, tuple):
        return {f"{i}": v for i, v in enumerate(thing)}
    return {"": thing}


def same(one, other):
    """Whether two jobs are one, to 1e-9."""
    a, b = flat(one), flat(other)
    assert a.keys() == b.keys()
    for key, value in a.items():
        if isinstance(value, float):
            assert math.isclose(value, b[key], rel_tol=1e-9, abs_tol=1e-12), key
        else:
            assert value == b[key], key
    return True


@settings(max_examples=300, deadline=None)
@given(any_jobs(), st.sampled_from(("metric", "inch")))
def test_a_printed_job_is_read_as_the_same_job(job, system):
    text = setupline.line(job, system)
    assert same(setupline.parse(text), job)
    assert setupline.line(setupline.parse(text), system) == text


@pytest.mark.parametrize(
    "hole", ["#7 x 17.6395 mm", "#7 x 0.75 in", "8.5 mm x 15 mm", "8.5 mm x 0.5 in", "17/64 x 12 mm"]
)
@pytest.mark.parametrize("system", ["metric", "inch"])
def test_diameter_and_depth_stand_in_one_unit(hole, system):
    thread = "M10" if "8.5" in hole else "M8" if "17" in hole[:2] else "1/4-20"
    job = setupline.parse(f"{thread} | blind {hole} | C45")
    text = setupline.line(job, system)
    assert len(set(re.findall(r"\d (mm|in)\b", text.split("|")[1]))) == 1, text
    assert ("mm" in text) == (system == "metric" or hole != "#7 x 0.75 in"), text  # 0.472440944882 in nobody reads
    assert same(setupline.parse(text), job)


def test_the_example_is_read_as_a_machinist_means_it():
    job = setupline.parse(EXAMPLE)
    usual = Operation.parse("M10x1.5 spiral-point plug", "through 8.5 mm x 15 mm", "C45", speed=10.0)
    assert same(job, usual)
    assert setupline.line(job) == "M10x1.5 spiral-point 4 threads | through 8.5 mm x 15 mm | C45, 10 m/min"


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("1/4-20 bottoming; 4 flutes | blind #7 x 0.75 in | 1045, 30 sfm, dry", {"speed": 9.144, "fluid": "dry"}),
        ("M8x1-LH spiral-flute 2½ threads | through 7 x 12", {"speed": None}),
        ("M10 form B, Hook 12°, core 4,2 mm\n| through 8,5 x 15 | C45, holder float", {"holder": "float"}),
        ("M10 plug, tooth 3 lost, tooth 5 lost | through 8.5 x 15 | C45", {"faults": Faults(missing_teeth={3, 5})}),
    ],
)
def test_spellings(text, what):
    job = setupline.parse(text)
    for name, value in what.items():
        assert getattr(job, name) == (pytest.approx(value) if isinstance(value, float) else value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("M10 plug | through 8.5 x 15 | C45, hok 10", "did you mean 'hook …'"),
        ("M10 plug, hook 10 mm | through 8.5 x 15 | C45", "an angle is wanted"),
        ("M10 plug, hook 10, hook 12 | through 8.5 x 15 | C45", "said twice"),
        ("M10 plug | 8.5 x 15 | C45", "through or blind"),
        ("M10 plug | through 8.5 x 15 | cheese", "no workpiece"),
        ("M10 plug | through 8.5 x 15 | C45 | more", "between bars"),
        ("plug | through 8.5 x 15", "names no thread"),
        ("|", "between bars"),
        ("M10 plug, 2.5 flutes | through 8.5 x 15 | C45", "not a whole number"),
        ("M10 plug, hook 99° | through 8.5 x 15 | C45", "cannot be ground"),
        ("M10 plug, banana | through 8.5 x 15 | C45", "what differs from the usual"),
        ("M10 plug | through 8.5 x 15 | C45, chips square", "they are fine, broken"),
    ],
)
def test_bad_lines_get_one_sentence(text, words):
    with pytest.raises(ValueError, match=re.escape(words)) as found:
        setupline.parse(text)
    assert "\n" not in str(found.value)


@pytest.mark.parametrize("value", ["-1", "0", "nan", "inf", "1e999", "-1e999", "1e-308", "-5 mm", "1e308", "∞"])
@pytest.mark.parametrize("of", [p for p in parameters() if p.line and p.owner != "hole"], ids=lambda p: p.key)
def test_no_number_that_can_be_no_setting_gets_in(of, value):
    """Whatever is written for a setting, in a line or in code: a job whose numbers are finite, or one sentence."""
    at = {"tap": 0, "faults": 0, "job": 2}[of.owner]
    for words in of.line:
        parts = ["M10", "blind 8.5 x 25", "C45"]
        parts[at] += f", {words.format(value)}"
        try:
            told = as_dict(setupline.parse("|".join(parts)))["torque"]
        except ValueError:
            continue
        assert np.isfinite([told["cutting_Nm"], *told["expected_Nm"]]).all(), parts
        assert told["expected_Nm"][0] > 0, parts


@settings(max_examples=300, deadline=None)
@given(st.text("M10x1.5 spiral|,;°−holething/#flutes%", max_size=60))
def test_any_text_is_a_job_or_a_sentence(text):
    try:
        told = setupline.line(setupline.parse(text))
    except ValueError as error:
        told = str(error)
    assert told
    assert "\n" not in told


def test_a_metal_of_no_table_is_refused():
    job = Operation.parse("M10 plug", "through 8.5 x 15")
    odd = job.with_(workpiece=dataclasses.replace(job.workpiece, kc11=2345.0))
    with pytest.raises(ValueError, match="in no table"):
        setupline.line(odd)
    assert "in no table" in str(setupline.Line(odd))


def test_the_report_takes_a_line_and_prints_one(capsys):
    assert main(["report", EXAMPLE, "--json", "--radial-rake", "14", "--hole", "blind 8.5 mm x 25 mm"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["set_up"] == "M10x1.5 spiral-point 4 threads, hook 14° | blind 8.5 mm x 25 mm | C45, 10 m/min"
    assert main(["report", "M10 plug"]) == 2
    assert "no hole is given" in capsys.readouterr().err
