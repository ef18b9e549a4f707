"""One job in any spelling: the same numbers, or one sentence; never a guess, never a traceback."""

import argparse
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapkit import Hole, Tap, Thread, door
from tapkit.cli import build_parser, main
from tapkit.geometry.designation import standard_threads
from tapkit.geometry.drillsize import drill_set, read_size
from tapkit.geometry.tapname import chamfer_length, named_parts
from tapkit.mechanics.workpiece import Workpiece
from tapkit.report import as_dict, job_of_arguments
from tapkit.reporttext import as_text
from tapkit.setupline import parse, tap_values

METRIC = tuple(t for t in standard_threads("metric") if 1.6 <= t.major <= 64)
UNIFIED = tuple(t for t in standard_threads("unified") if t.major <= 1.5 * 25.4 and t.series != "8-UN")


def same(one, other):
    """Whether two reports hold the same numbers to 1e-9, and the same words."""
    if isinstance(one, dict) and "depth_mm" in one:
        one, other = along(one), along(other)
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(same(one[k], other[k]) for k in one)
    if isinstance(one, list):
        return len(one) == len(other) and all(same(a, b) for a, b in zip(one, other))
    if isinstance(one, float) and isinstance(other, float):
        return one == pytest.approx(other, rel=1e-9, abs=1e-9)
    return one == other


def along(curves):
    """Curves over the depth as their areas and ends: rounding may part one corner of a curve in two."""
    depth = np.array(curves["depth_mm"])
    return {
        key: [float(np.trapezoid(value, depth)), float(value[0]), float(value[-1]), max(value)]
        if isinstance(value, list)
        else value
        for key, value in curves.items()
    }


def report_of(*arguments):
    args = build_parser("report").parse_args(["report", *arguments])
    assert isinstance(args, argparse.Namespace)
    return as_dict(job_of_arguments(args))


# --- spellings ----------------------------------------------------------------------------------------


@st.composite
def spaced(draw, *parts):
    """Parts with or without spaces between."""
    return "".join(p + draw(st.sampled_from(["", " "])) for p in parts).strip()


@st.composite
def spelled_thread(draw, thread):
    left = draw(st.sampled_from(["-LH", " LH", " L.H.", " lh"])) if thread.hand == "left" else ""
    if thread.system == "metric":
        numbers = [f"{thread.major:g}", f"{thread.pitch:g}"]
        if draw(st.booleans()):
            numbers = [n.replace(".", ",") for n in numbers]
        cross = draw(st.sampled_from(["x", "X", "×", "*", "-", "/"]))
        text = draw(spaced("M", numbers[0], cross, numbers[1]))
        if thread.series == "coarse" and draw(st.booleans()):
            text = draw(st.sampled_from([f"M{numbers[0]}", f"M {numbers[0]}", f"M{numbers[0]} coarse"]))
        text += draw(st.sampled_from(["", " 6H", "-6H"])) if text[-1] != "e" else ""
    else:
        name = thread.designation.removesuffix("-LH").removesuffix(" " + thread.series)
        size, _, tpi = name.rpartition("-")
        number = size.lstrip("#")
        sizes = [size, size.replace(" ", "-"), f"{thread.major / 25.4:.4f}", f"{thread.major / 25.4:.4f}".lstrip("0")]
        sizes += [f"No. {number}", f"no {number}"] if size[0] == "#" else [size + '"', size + " in"]
        text = draw(spaced(draw(st.sampled_from(sizes)), draw(st.sampled_from("-x")), tpi))
        text += draw(st.sampled_from(["", f" {thread.series}", f" {thread.series}-2B", thread.series]))
    return draw(st.sampled_from([text + left, (text + left).upper(), (text + left).lower()]))


@st.composite
def spelled_length(draw, value):
    """A length [mm] with its unit."""
    text = draw(
        st.sampled_from(
            [f"{value!r} mm", f"{value!r}mm", f"{value / 10!r} cm", f"{value / 25.4!r} in", f'{value / 25.4!r}"']
        )
    )
    return text.replace(".", ",") if draw(st.booleans()) and "e" not in text else text


FORMS = {
    "straight": ["", "straight", "straight flute", "Straight-Fluted", "hand"],
    "spiral-point": ["spiral-point", "spiral pointed", "gun", "Gun nose", "SPIRAL POINT"],
    "spiral-flute": ["spiral-flute", "spiral fluted", "helical flute", "Spiral Flute"],
}
CHAMFERS = {
    4.0: ["plug", "second", "", "Plug", "plug chamfer", "intermediate"],
    8.0: ["taper", "TAPER"],
    1.5: ["bottoming", "bottom"],
}


@st.composite
def two_spellings(draw):
    """The arguments of one job, spelled twice."""
    thread = draw(st.sampled_from(METRIC + UNIFIED))
    if draw(st.booleans()):
        thread = Thread.parse(thread.designation + "-LH")
    form, chamfer = draw(st.sampled_from(sorted(FORMS))), draw(st.sampled_from(sorted(CHAMFERS)))
    across = round(thread.hole_for_percent(draw(st.floats(55, 85))), 2)
    inch_drills = [
        d for n in ("number", "letter", "fraction") for d in drill_set(n) if 55 < thread.percent(d.diameter) < 90
    ]
    drill = draw(st.sampled_from(inch_drills)) if inch_drills and draw(st.booleans()) else None
    deep = round(thread.major * draw(st.floats(0.5, 2.5)), 1)
    kind = draw(st.sampled_from(["through", "blind"]))
    return [draw(arguments(thread, form, chamfer, kind, across, drill, deep)) for _ in range(2)]


@st.composite
def arguments(draw, thread, form, chamfer, kind, across, drill, deep):
    words = [
        draw(spelled_thread(thread)),
        draw(st.sampled_from(FORMS[form])),
        draw(st.sampled_from(CHAMFERS[chamfer])),
        "tap",
    ]
    size = draw(st.sampled_from(drill_spellings(drill))) if drill else draw(spelled_length(across))
    hole = draw(spaced(kind + " ", size, draw(st.sampled_from("x×*")), draw(spelled_length(deep))))
    speed = draw(st.sampled_from(["9 m/min", f"{9 / 0.3048!r} sfm", "0.15 m/s", f"{9 / 0.3048!r} ft/min", "9,0 m/min"]))
    system = draw(st.sampled_from(["metric", "inch"]))
    return [" ".join(words), "--hole", hole, "--speed", speed, "--units", system]


def drill_spellings(drill):
    inch = f"{drill.diameter / 25.4!r} in"
    if drill.set == "number":
        return [drill.name, f"No. {drill.name[1:]}", f"no {drill.name[1:]}", inch, f"{drill.name} drill"]
    if drill.set == "letter":
        return [drill.name, drill.name.lower(), f"letter {drill.name}", inch]
    return [drill.name.removesuffix(" in") + " in", inch]


@given(two_spellings())
def test_one_job_in_two_spellings_gives_the_same_numbers(pair):
    one, other = (report_of(*arguments) for arguments in pair)
    assert same(one, other), pair


@settings(max_examples=150, deadline=None)
@given(
    st.text(alphabet='M10x8.5,#7F/ -"UNCFLHgunspiralpoint6HBD3', max_size=30),
    st.sampled_from(["through 8.5 x 15", "blind #7 x .5 in"])
    | st.text(alphabet="throughblind 8.5,x/#7Fmin°", max_size=30),
    st.sampled_from(["metric", "inch"]),
)
def test_any_words_at_all_give_a_report_or_one_line(tap, hole, system):
    args = argparse.Namespace(
        **vars(build_parser("report").parse_args(["report", "M10", "--hole", hole.lstrip("-"), "--units", system]))
    )
    args.tap = tap
    try:
        assert as_text(job_of_arguments(args), system)
    except ValueError as error:
        said = str(error)
        assert said
        assert "\n" not in said


# --- what the trade says, one by one --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "form", "chamfer"),
    [
        ("gun", "spiral-point", None),
        ("gun nose plug", "spiral-point", "plug"),
        ("M10x1.5 gun tap", "spiral-point", None),
        ("M6x0,75 second", None, "plug"),
        ("second", None, "plug"),
        ("#0-80 hand tap bottom", None, "bottoming"),
        ("helical flute, semi-bottoming", "spiral-flute", "semi-bottoming"),
        ("LH 1/4-20 spiral-point", "spiral-point", None),
        ("left-hand M10x1.5 taper", None, "taper"),
    ],
)
def test_words_of_the_trade(text, form, chamfer):
    assert named_parts(text)[1:] == (form, chamfer)


def test_left_hand_is_read_wherever_it_stands():
    for text in (
        "M10x1.5 LH",
        "M10x1.5-LH",
        "M10 left hand",
        "LH M10x1.5",
        "M10x1.5 LH 6H",
        "M10x1.5-6H-LH",
        "M10x1,5 L.H.",
    ):
        assert Thread.parse(text) == Thread.parse("M10x1.5-LH")
    assert Tap.parse("M10x1.5 LH spiral-flute plug").thread.hand == "left"
    assert Thread.parse("M10x1.5 RH") == Thread.parse("M10")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("M10x1.7", "did you mean 1.5"),
        ("M6x0.8", "did you mean 0.75|special"),
        ("M10 fine", "several fine pitches, 1.25, 1 or 0.75"),
        ("M10x1.5 fine", "among its fine pitches"),
        ("1/4-19", "did you mean 1/4-20"),
        ("10/32", "did you mean #10-32"),
        ("3/7 UNC", "gives no threads per inch"),
        ("M10x1.5 ISO 3", "6H only"),
        ("6H", "class of tolerance"),
        ("3B", "class of tolerance"),
        ("H3", "ground tap's pitch diameter"),
        ("1/4-20 H3", "leave it out"),
        ("M10x1.5 6HX", "6H only"),
        ("M10x1.5 6G", "6H only"),
        ("1/4-20 3B", "2B only"),
        ("1/4 NPT", "pipe thread"),
        ("1/4-18 NPTF", "pipe thread"),
        ("G1/4", "pipe thread"),
        ("Rp 1/2", "pipe thread"),
        ("R 3/8", "pipe thread"),
        ("BSPT 1/4", "pipe thread"),
        ("1/2-10 ACME", "29°"),
        ("Tr10x2", "trapezoidal"),
        ("TR 16x4", "trapezoidal"),
        ("1/4-20 STI", "wire inserts"),
        ("EG M10", "wire inserts"),
        ("M10 wire insert", "wire inserts"),
        ("M10 forming tap", "cuts no chip"),
        ("M10 roll tap", "cuts no chip"),
        ("M10 thread former", "cuts no chip"),
        ("3/8 BSW", "55°"),
        ("MJ10x1.5", "larger minor diameter"),
        ("1/4-28 UNJF", "larger minor diameter"),
        ("M16xPh3P1.5", "several starts"),
    ],
)
def test_what_is_refused_is_refused_by_name(text, says):
    for read in (Thread.parse, Tap.parse):
        if text in ("M6x0.8",):  # an ISO pitch, though not of M6: a special tap
            assert not Thread.parse(text).is_listed
            continue
        with pytest.raises(ValueError, match=says) as caught:
            read(text)
        assert "\n" not in str(caught.value)
        assert len(str(caught.value)) < 330


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("1/4 20", "1/4-20 UNC"),
        ("10 32", "#10-32 UNF"),
        ("1/4-28 NF", "1/4-28 UNF"),
        ("1/4 NC", "1/4-20 UNC"),
        ("#8 UNF", "#8-36 UNF"),
        ("1 1/4 UNEF", "1 1/4-18 UNEF"),
        ("M10x1.5 ISO 2", "M10x1.5"),
        ("M10x1.5 (6H)", "M10x1.5"),
        ("½-13", "1/2-13 UNC"),
        ("M10x1.5mm", "M10x1.5"),
    ],
)
def test_other_spellings_of_a_thread(text, name):
    assert Thread.parse(text).designation == name


THREADS = {
    "M8x1.25": "M8 x 1.25 - 6H|M8*1.25|M8×1,25|m8|M 8|M8 1,25|ISO M8|metric M8|metrisch M8|M8 Regelgewinde|M8 grob|M8 std|"
    "thread M8|Gewinde M8|M8 coarse thread|'M8'|M8x1.25;|M8 by 1.25|M8 x 1.25 pitch|M8 pitch 1.25|M8 metric|M8mm|M8 right|М8|M8х1,25",
    "M10x1": "MF10x1|MF 10 x 1|M10x1 Feingewinde|M10 x 1 (fein)|M10x1 fine|M10x1.0|M10 x 1 mm",
    "M3x0.5": "M3|M3x.5|M3x,5|M3X0.50",
    "M20x2.5-LH": "M20 links|M20 Linksgewinde|M20x2,5 LH|LH M20|M20 left-hand thread|M20x2.5 - LH|M20 L.H.",
    "1/4-20 UNC": '1/4-20|1/4"-20 UNC|1/4”-20|1/4″-20 UNC|¼-20|¼"-20|UNC 1/4-20|UNC 1/4|1/4 UNC|1/4" unc 20 tpi|.250-20|0,25-20|'
    "1/4-20 tpi|1/4 x 20|1/4–20|1/4-20 UNC-2B|UNC 1/4-20 2B|1/4 coarse|1/4 by 20|1/4-20 class 2|1/4 inch-20",
    "#10-32 UNF": "10-32|# 10-32|No.10-32|Nr. 10-32|UNF 10-32|#10-32UNF|10 x 32|#10 fine|.190-32",
    "1 1/2-6 UNC": '1½-6|1-1/2-6|1 1/2"-6 UNC|1½" - 6',
}
DRILLS = {
    7.0: "7 mm drill|7mm|Ø7|⌀ 7,0|D7|d 7|7 dia|7ø|Bohrer 7|Bohrer Ø7,0|7 mm Bohrer|drill 7|7.",
    5.1054: "#7|# 7|No. 7|Nr 7|number 7|#7 drill|drill #7|drill size #7|wire 7",
    7.9375: "5/16|5/16 in|5/16-in|5/16 Zoll|5/16″|5/16''|Ø 5/16\"|0.3125 in",
    8.4328: "Q|letter Q|Q drill|q|letter drill Q|size Q",
    28.575: '1 1/8|1⅛"|1-1/8 in',
}
HOLES = {
    (
        "through",
        8.5,
        15,
    ): "8.5 x 15 through|durch 8,5 x 15|Durchgangsloch 8,5 x 15|Ø8.5 thru 15|ø 8,5 durch, 15 tief|dia 8.5 x 15 through|"
    "8.5 mm drill through 15 mm|through 8.5, 15|through hole, 8.5 mm, 15 mm thick|8,5 × 15 mm Durchgang|Bohrung 8,5 x 15 durchgehend|thru all 8.5 x 15|Kernloch 8,5 durch 15",
    (
        "blind",
        8.5,
        20,
    ): "Sackloch 8,5 x 20|Grundloch Ø8,5 x 20 tief|blind 8.5 mm, 20 deep|8.5 x 20 blind hole|blind ⌀8.5 ↧20|blind 8.5 deep 20|Sacklochbohrung 8,5 x 20",
    (
        "through",
        5.1054,
        12.7,
    ): '#7 through 1/2 in|No. 7 thru x 0.5"|#7 thru 1/2|Nr. 7 x 0.5 in through|.201 in thru .5 in',
    (
        "through",
        10.0838,
        11.1,
    ): "through letter Xx11.1 mm|through X x 11.1 mm|letter x thru 11.1 mm|X thru 11.1 mm|through letter X, 11.1 mm|"
    "letter X by 11.1 mm through|Xx11,1 mm through",
    ("blind", 6.5278, 19.05): 'letter F x 3/4" blind|F drill blind .75 in',
}


@pytest.mark.parametrize("name", THREADS)
def test_spellings_of_the_workshop_for_threads(name):
    assert {text: Thread.parse(text).designation for text in THREADS[name].split("|")} == dict.fromkeys(
        THREADS[name].split("|"), name
    )


def test_spellings_of_the_workshop_for_metals_and_speeds():
    for text, name in {
        "C 45": "C45", "Ck45": "C45", "Grauguss": "EN-GJL-250", "GG25": "EN-GJL-250", "Messing": "CuZn40Pb2",
        "Ms58": "CuZn40Pb2", "Kupfer": "Cu-ETP", "Titan": "Ti-6Al-4V", "V2A": "X5CrNi18-10", "Baustahl": "S235JR",
        "alu": "AlCuMg1", "AlMgSi1": "AlMgSi", "EN-GJS-400-15": "EN-GJS-400", "1.7225": "42CrMo4", "4140": "42CrMo4",
        "4140 28-32 HRC": "42CrMo4 30 HRC", "SS304": "X5CrNi18-10", "6061 T651": "AlMgSi", "660 bronze": "CuSn8",
        "Edelstahl": "X5CrNi18-10", "inox": "X5CrNi18-10", "Edelstahl V4A": "X5CrNiMo17-12-2", "Automatenstahl": "11SMn30",
        "Aluguss": "AlSi", "Stahl": "C45", "42CrMo4 vergütet": "42CrMo4 30 HRC", "Werkzeugstahl": "C105U",
        "Kunststoff": "POM",
    }.items():  # fmt: skip
        assert Workpiece.parse(text).name == name, text
    for text in ("10,0 m/min", "10m/min", "10 m/Min.", "10 m per min", f"{10 / 0.3048} sf/min", f"{10 / 0.3048} fpm"):
        assert door.read(text, "speed") == pytest.approx(10), text


@pytest.mark.parametrize("diameter", DRILLS)
def test_spellings_of_the_workshop_for_drills(diameter):
    for text in DRILLS[diameter].split("|"):
        assert read_size(text).diameter == pytest.approx(diameter), text


@pytest.mark.parametrize("wanted", HOLES)
def test_spellings_of_the_workshop_for_holes(wanted):
    for text in HOLES[wanted].split("|"):
        hole = Hole.parse(text)
        assert (hole.kind, hole.diameter, hole.depth) == (wanted[0], *map(pytest.approx, wanted[1:])), text


@pytest.mark.parametrize(
    ("read", "text", "says"),
    [
        (Tap.parse, "M10 Fertigschneider", "one of a set"),
        (Tap.parse, "M10 Vorschneider Satz", "one of a set"),
        (Tap.parse, "DIN 352 M10", "one of a set"),
        (Tap.parse, "M10 Muttergewindebohrer", "long chamfer"),
        (Tap.parse, "M10 Sacklochgewindebohrer", "not how it is ground"),
        (Tap.parse, "M10 spiral point for through holes", "not how it is ground"),
        (Tap.parse, "M10 TiN coated plug", "coatings"),
        (Tap.parse, "M10 VHM Form C", "carbide"),
        (Tap.parse, "M10 fast spiral flute", "by its angle"),
        (Tap.parse, "M10 Gewindeformer", "cuts no chip"),
        (Tap.parse, "M10 stubby plug", "cannot read 'stubby' in"),
        (Tap.parse, "M10 extra long", "cannot read 'extra long' in"),
        (Tap.parse, "M10 2-3 Gänge", "are two numbers"),
        (Tap.parse, "M10 9 flutes", "1 to 8 flutes"),
        (Tap.parse, "M10 0 threads", "chamfer of 0 threads"),
        (Tap.parse, "-1-20", "cannot read '-1-20' as a thread"),
        (Workpiece.parse, "Vergütungsstahl", "C45 is the plain one"),
        (Workpiece.parse, "Stahlguss", "the nearest there is C35"),
        (Workpiece.parse, "Holz", "nothing there is near it"),
        (Thread.parse, "5/16 in", "write 5/16-18, 5/16-24 or"),
        (Thread.parse, "#8", "write #8-32 or #8-36"),
        (Thread.parse, "10 mm", "did you mean M10?"),
        (Thread.parse, "10x1,5", "did you mean M10x1.5?"),
        (Thread.parse, "M10-6g", "class of screws"),
        (Thread.parse, "3/8-16 UNC-2A", "class of screws"),
        (Thread.parse, "Rd 20", "round thread"),
        (Thread.parse, "S 20x2", "buttress"),
        (Thread.parse, "BA 4", "BA threads"),
        (Hole.parse, "blind 8.5 x 2 cm", "bears no unit"),
        (Hole.parse, "Ø8,5", "through or blind"),
        (read_size, "8 1/2", "did you mean 8.5 mm"),
        (Thread.parse, "8/32 UNC", "did you mean #8-32?"),
        (Thread.parse, "1/8-27", "pipe thread"),
        (Thread.parse, "M12x175", "did you mean M12x1.75?"),
        (Thread.parse, "m5x08", "did you mean M5x0.8?"),
        (Tap.parse, "M10 sprial point", "did you mean 'spiral point'?"),
        (Tap.parse, "M10 botoming", "did you mean 'bottoming'?"),
        (Tap.parse, "M8 45° spiral flute", "behind a comma of the set-up"),
        (Tap.parse, "M8 die", "tapkit draws taps"),
        (Hole.parse, "8.5 THRU ALL", "with an x between"),
        (Hole.parse, "thruogh 8.5 x 15", "through or blind"),
        (Hole.parse, "through 8½ x 15", "did you mean 8.5 mm?"),
        (Hole.parse, "blind hole 8.5 25", "with an x between"),
        (Tap.parse, "M10 2-3 threads", "like 2.5 threads"),
        (Tap.parse, "M10 form C 2 to 3 threads", "like 2.5 threads"),
        (Tap.parse, "M10 plug taper", "two chamfers"),
        (Thread.parse, "M½", "metric threads begin at M1"),
        (Thread.parse, "M8½", "like M8.5x1.25"),
        (lambda text: Hole.parse(text, "inch"), "through 6.8 x 15", "did you mean 6.8 mm?"),
        (lambda text: door.read(text, "speed", system="inch"), "1,000 sfm", "may be 1000 or 1.000"),
        (lambda text: door.read(text, "speed"), "10-12 m/min", "two numbers"),
        (Workpiece.parse, "50 HRC", "not for harder ones"),
        (Workpiece.parse, "D2 annealed", "the nearest there is C105U"),
    ],
)
def test_what_would_be_right_is_said(read, text, says):
    with pytest.raises(ValueError, match=re.escape(says)) as caught:
        read(text)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("text", "form", "chamfer", "flutes"),
    [
        ("M10 spiral-point plug 3 flutes", "spiral-point", 4, 3),
        ("M10 4-flute bottoming", "straight", 1.5, 4),
        ("M10 2 FL SP PT plug", "spiral-point", 4, 2),
        ("M10 spiral flt bott", "spiral-flute", 1.5, 3),
        ("M10 DIN 371 B", "spiral-point", 4, 3),
        ("M10 mod bottoming", "straight", 2.5, 3),
        ("M10 starter tap", "straight", 8, 3),
        ("3 fl gun M10", "spiral-point", 4, 3),
        ("M10 2.5 threads", "straight", 2.5, 3),
        ("M10 chamfer 3 1/2 threads", "straight", 3.5, 3),
        ("M10 chamfer 4", "straight", 4, 3),
        ("M10 spiralgenutet Form C, 3 Nuten", "spiral-flute", 2.5, 3),
        ("M10 Maschinengewindebohrer HSSE DIN 371 geradgenutet mit Schälanschnitt", "spiral-point", 4, 3),
        ("M10 geradegenutet Form B", "spiral-point", 4, 3),
        ("M10 straight flute form D", "straight", 4, 3),
        ("M10 linksgenutet", "left-hand-flute", 4, 3),
        ("M10 Linksgewinde rechtsgenutet", "left-hand-flute", 4, 3),
        ("M10 dreinutig Anschnitt 4 Gänge", "straight", 4, 3),
        ("Einschnittgewindebohrer M10x1,5 vier Nuten", "straight", 4, 4),
    ],
)
def test_taps_as_a_workshop_names_them(text, form, chamfer, flutes):
    tap = Tap.parse(text)
    assert (tap.flute_form, tap.chamfer_threads, tap.flutes) == (form, chamfer, flutes)
    said = tap_values(text)
    assert (said["form"], said.get("chamfer", 4), said.get("flutes", 3)) == (form, chamfer, flutes)


def test_a_set_up_line_in_a_workshops_words():
    tap = "M10 Schälanschnitt, 3 Nuten, Anschnitt 3,5, Spanwinkel 8°"
    line = f"{tap} | Durchgang 8,5 x 15 | V2A, vc 6 m/min, trocken, von Hand"
    ours = "M10 spiral-point, 3 flutes, chamfer 3.5, hook 8° | through 8.5 x 15 | 304, 6 m/min, dry, holder hand"
    assert parse(line) == parse(ours)


def test_a_spiral_alone_is_asked_about():
    with pytest.raises(ValueError, match="'spiral-point' or 'spiral-flute'"):
        Tap.parse("M10 spiral plug")


def test_special_pitches_can_still_be_had():
    odd = Thread.parse("M10x1.7 special")
    assert (odd.pitch, odd.is_listed) == (1.7, False)
    assert Thread.parse(odd.designation) == odd
    assert Thread.parse("1/4-19 UNS").threads_per_inch == pytest.approx(19)


@pytest.mark.parametrize(
    ("text", "system", "diameter", "depth"),
    [
        ("through .201 x .5", "inch", 0.201, 0.5),
        ("through #7 x .5", "inch", 0.201, 0.5),
        ("through 3/64 x 1/8", "metric", 3 / 64, 1 / 8),
        ("through 3/64 x 1/8", "inch", 3 / 64, 1 / 8),
        ("blind F x 3/4", "metric", 0.257, 0.75),
        ("blind 27/64 x 1", "inch", 27 / 64, 1),
        ("thru .201 x 1/2", "inch", 0.201, 0.5),
        ("through hole .201 by .5 in", "metric", 0.201, 0.5),
        ("through .201 x 12.7 mm", "inch", 0.201 / 25.4, 0.5),
        ("through 8.5 mm x 12.7", "metric", 8.5 / 25.4, 0.5),
        ("blind ø8.5 x 12.7 mm deep", "metric", 8.5 / 25.4, 0.5),
    ],
)
def test_bare_numbers_are_in_the_units_asked_for(text, system, diameter, depth):
    hole = Hole.parse(text, system)
    assert (hole.diameter / 25.4, hole.depth / 25.4) == pytest.approx((diameter, depth))


@pytest.mark.parametrize(
    ("text", "system"),
    [
        ("through 27/64 x 1", "metric"),
        ("through #7 x 15", "metric"),
        ("through F x 15", "metric"),
        (".201 in x .5", "metric"),
        ("through .201 in x .5", "metric"),
        ("through 8.5 mm x .5", "inch"),
        ("through 8.5 x 1/2", "metric"),
    ],
)
def test_mixed_bare_numbers_are_asked_about(text, system):
    with pytest.raises(ValueError, match=r"in inches or in mm|through or blind"):
        Hole.parse(text, system)


def test_a_bare_drill_number_in_inches_is_asked_about():
    with pytest.raises(ValueError, match="did you mean #7 or 7 mm"):
        read_size("7", bare="in")
    assert read_size("7").diameter == 7


@pytest.mark.parametrize(
    ("name", "threads"),
    [("second", 4), ("bottom", 1.5), ("form C", 2.5), ("E", 1.75), ("plug chamfer", 4), ("4 thds", 4)],
)
def test_chamfers_by_name(name, threads):
    assert chamfer_length(name) == threads


def test_every_thread_of_the_trade_is_there():
    """M1.6 to M64 coarse and fine (ISO 262), #0 to 1 1/2 in UNC, UNF and UNEF (ASME B1.1) [memory]."""
    coarse = {t.major for t in METRIC if t.series == "coarse"}
    assert {1.6, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 16, 20, 24, 30, 36, 42, 48, 56, 64} <= coarse
    assert all(any(t.major == d and t.series == "fine" for t in METRIC) for d in coarse)
    for name in ("#0-80 UNF", "1 1/2-6 UNC", "1 1/2-12 UNF", "1 1/2-18 UNEF", "#12-32 UNEF", "1-12 UNF", "#1-64 UNC"):
        assert Thread.parse(name) in UNIFIED
        assert Thread.parse(name + "-LH").hand == "left"


# --- what the report says -------------------------------------------------------------------------------

JOB = ["report", "M10x1.5 spiral-point plug", "--hole", "through 8.5 mm x 15 mm"]


def said(capsys, *arguments):
    code = main([*arguments])
    out = capsys.readouterr()
    return code, " ".join((out.out + out.err).split())


def test_the_speed_given_changes_what_is_said(capsys):
    slow, fast = said(capsys, *JOB, "--speed", "10"), said(capsys, *JOB, "--speed", "20")
    assert "10 m/min at the major diameter is 318 rpm" in slow[1]
    assert "20 m/min at the major diameter is 637 rpm" in fast[1]
    assert " W " in slow[1]
    assert "a shop runs 8 to 15 m/min every day, 250 to 480 rpm" in slow[1]
    assert "more than a shop runs every day: 8 to 15 m/min, 250 to 480 rpm" in fast[1]
    usual = said(capsys, *JOB)[1]
    assert "a shop runs 8 to 15 m/min every day, 250 to 480 rpm" in usual
    assert "at the major diameter" not in usual
    assert " W " not in usual
    assert "98.2 sfm" not in slow[1]
    _code, text = said(capsys, *JOB, "--speed", "30", "--units", "inch")
    assert "30 sfm" in text
    assert " hp " in text


def test_a_margin_on_scrap_is_told(capsys):
    code, text = said(capsys, *JOB[:3], "through 9.9 mm x 15 mm")
    assert code == 0
    assert "margin on scrap" in text
    assert "outside its class is scrap" in text
    assert "scrap" not in said(capsys, *JOB)[1]


def test_a_hand_tap_too_large_for_a_hand_is_told(capsys):
    _code, text = said(capsys, "report", "M36 straight plug", "--hole", "through 32 mm x 40 mm")
    assert "of each hand, more than hands push without strain (up to 100 N): tap this size by machine" in text
    assert "by feel" not in text
    _code, text = said(capsys, "report", "M36 straight plug", "--hole", "through 32 mm x 40 mm", "--holder", "hand")
    assert "Too large a tap for two hands" in text
    assert "Too large" not in said(capsys, *JOB, "--holder", "hand")[1]
    small = said(capsys, "report", "M6 straight plug", "--hole", "through 5 mm x 6 mm")[1]
    assert "of each hand" in small
    assert "without strain" not in small


def test_bare_numbers_of_the_other_system_are_asked_about(capsys):
    code, text = said(capsys, "report", "1/4-20 gun", "--hole", "through .201 x .5")
    assert code == 2
    assert "did you mean 'through 0.201 in x 0.5 in'" in text
    code, text = said(capsys, *JOB[:3], "through 8.5 x 15", "--units", "inch")
    assert code == 2
    assert "8.5 mm" in text
