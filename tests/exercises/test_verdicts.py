"""The judges: order of the checks, tolerance, slips, and what each kind of answer is told."""

import pytest

from tapkit.exercises import tolerance, verdict
from tapkit.exercises.bank import exercise_named
from tapkit.exercises.blanks import Blank, BlanksAsked, Request, SettingAsked, Slider
from tapkit.exercises.naming import TapAsked, WordAsked, WrongWord
from tapkit.exercises.number import NumberAsked, Slip, unit_asked
from tapkit.exercises.options import ChoiceAsked, Option, OrderAsked, WrongOrder
from tapkit.geometry.tap import Tap

DEPTH = NumberAsked(
    26.5,
    "length",
    "depth",
    mistakes=(Slip("forgot-chamfer", 20.5, "You forgot the chamfer."), Slip("forgot-clearance", 25.0, "No clearance.")),
)


@pytest.mark.parametrize(
    ("text", "kind", "mistake"),
    [
        ("", verdict.NOT_ATTEMPTED, None),
        (None, verdict.NOT_ATTEMPTED, None),
        (" \u200f ", verdict.NOT_ATTEMPTED, None),
        ("deep", verdict.CANNOT_READ, None),
        ("26.5 bananas", verdict.CANNOT_READ, None),
        ("26.5 N", verdict.WRONG_KIND, "wrong-unit"),
        ("26.5°", verdict.WRONG_KIND, "wrong-unit"),
        ("26.5", verdict.RIGHT, None),
        ("26.5 mm", verdict.RIGHT, None),
        ("2.65 cm", verdict.RIGHT, None),
        ("1.0433 in", verdict.RIGHT, None),
        ("26.58", verdict.RIGHT, None),
        ("1.0433", verdict.MISTAKE, "inch-for-mm"),
        ("1.0433 mm", verdict.MISTAKE, "inch-for-mm"),
        ("265", verdict.MISTAKE, "decimal-point"),
        ("0.265 mm", verdict.MISTAKE, "decimal-point"),
        ("-26.5", verdict.MISTAKE, "sign"),
        ("20.5", verdict.MISTAKE, "forgot-chamfer"),
        ("20.45 mm", verdict.MISTAKE, "forgot-chamfer"),
        ("26.8", verdict.CLOSE, None),
        ("30", verdict.WRONG, None),
        ("0", verdict.WRONG, None),
        ("26,500 mm", verdict.RIGHT, None),
    ],
)
def test_order_of_the_checks(text, kind, mistake):
    said = DEPTH.judge(text)
    assert (said.kind, said.mistake) == (kind, mistake)


def test_only_seven_kinds_each_with_sign_and_heading():
    assert len(verdict.SIGNS) == 7
    assert set(verdict.SIGNS) == set(verdict.HEADINGS)
    assert verdict.SIGNS[verdict.RIGHT] not in {s for k, s in verdict.SIGNS.items() if k != verdict.RIGHT}


def test_an_inch_question_takes_bare_inches_and_tells_mm():
    asked = NumberAsked(5.1054, "length", "diameter", "inch")
    assert asked.judge("0.201").is_right
    assert asked.judge(".2010 in").is_right
    assert asked.judge("5.1 mm").is_right
    assert asked.judge("5.1").mistake == "mm-for-inch"
    assert asked.right_text == "0.201 in"


def test_torque_reads_both_systems():
    asked = NumberAsked(8.0, "torque", "torque")
    assert asked.judge("70.8 in·lbf").is_right
    assert asked.judge("5.9 ft-lb").is_right
    assert asked.judge("70.8").mistake == "inch-for-mm"
    assert unit_asked("torque", "inch")[0] == "in·lbf"


def test_angle_of_the_wrong_sign_has_its_own_sentence():
    asked = NumberAsked(-12.0, "angle", "angle", sign_says="Lifting is negative here.")
    assert asked.judge("12").message == "Lifting is negative here."
    assert asked.judge("−12°").is_right


def test_how_many_times_may_be_said_in_percent():
    asked = NumberAsked(1.87, "times", "ratio")
    assert asked.judge("187 %").is_right
    assert not asked.judge("87 %").is_right


def test_a_count_knows_no_decimal_point_slip():
    asked = NumberAsked(4, "teeth", "count")
    assert asked.judge("40").kind == verdict.WRONG
    assert asked.judge("4 teeth").is_right
    assert asked.judge("4.5").kind == verdict.WRONG


def test_mistakes_too_near_are_not_apart():
    near = NumberAsked(26.5, "length", "depth", mistakes=(Slip("near", 26.62, ""),))
    same = NumberAsked(26.5, "length", "depth", mistakes=(Slip("one", 20.0, ""), Slip("two", 20.1, "")))
    slip = NumberAsked(26.5, "length", "depth", mistakes=(Slip("tenfold", 265.0, ""),))
    assert DEPTH.is_apart
    assert not near.is_apart
    assert not same.is_apart
    assert not slip.is_apart


def test_every_tolerance_has_a_reason():
    for name in tolerance.tolerance_names():
        rule = tolerance.tolerance(name)
        assert rule.reason
        assert rule.absolute > 0
        assert rule.close >= 1
        assert rule.band(0.0) > 0
    with pytest.raises(ValueError, match="no tolerance"):
        tolerance.tolerance("guess")


CHOICE = ChoiceAsked(
    (Option("more"), Option("less", "less", "Not less."), Option("the same", "same", "Not the same.")),
    (Option("thicker"), Option("thinner", "thin", "Not thinner.")),
)


def test_choice_with_a_reason():
    assert CHOICE.judge("A 1").is_right
    assert CHOICE.judge("A").kind == verdict.CANNOT_READ
    assert CHOICE.judge("A 2").mistake == "thin"
    assert CHOICE.judge("A 2").message.startswith("The choice is right")
    assert CHOICE.judge("B 1").mistake == "less"
    assert CHOICE.judge("B").kind == verdict.CANNOT_READ
    assert CHOICE.judge("more").kind == verdict.CANNOT_READ
    assert CHOICE.judge("").kind == verdict.NOT_ATTEMPTED


def test_choice_shuffles_the_same_way_every_time():
    assert CHOICE.shuffled("x") == CHOICE.shuffled("x")
    shuffled = [CHOICE.shuffled(str(i)) for i in range(20)]
    assert len({c.right_text for c in shuffled}) == 6
    assert all(c.judge(c.right_text).is_right for c in shuffled)


def test_choice_needs_exactly_one_right_option():
    with pytest.raises(ValueError, match="exactly one"):
        ChoiceAsked((Option("a"), Option("b")))


def test_order():
    order = OrderAsked(
        ("x", "y", "z"), "from first to last", (WrongOrder("yx", ("y", "x", "z"), "Swapped."),)
    ).shuffled("k")
    assert order.judge(order.right_text).is_right
    assert order.judge(", ".join(reversed(order.right_text.split(", ")))).mistake == "opposite-order"
    assert order.judge(" ".join(order.letters_of(("y", "x", "z")))).mistake == "yx"
    assert order.judge(" ".join(order.letters_of(("x", "z", "y")))).kind == verdict.WRONG
    assert order.judge("A B").kind == verdict.CANNOT_READ
    assert not OrderAsked(("x", "y"), "", values=(1.0, 1.01)).is_apart


@pytest.mark.parametrize(
    ("text", "kind", "mistake"),
    [
        ("M10x1.5 spiral-flute bottoming", verdict.RIGHT, None),
        ("m10 SPIRAL FLUTE Bottoming", verdict.RIGHT, None),
        ("spiral-flute bottoming", verdict.CANNOT_READ, None),
        ("M10", verdict.CANNOT_READ, None),
        ("M10 spiral-flute", verdict.CANNOT_READ, None),
        ("M10 spiral-flute plug", verdict.MISTAKE, "british-plug"),
        ("M10 spiral-flute taper", verdict.MISTAKE, "wrong-chamfer-word"),
        ("M10 spiral-point bottoming", verdict.MISTAKE, "spiral-point-or-spiral-flute"),
        ("M10 left-hand-flute bottoming", verdict.MISTAKE, "hand-of-the-flutes"),
        ("M10 straight bottoming", verdict.MISTAKE, "wrong-flutes"),
        ("M12 spiral-flute bottoming", verdict.MISTAKE, "wrong-diameter"),
        ("M10x1 spiral-flute bottoming", verdict.MISTAKE, "wrong-pitch"),
        ("M10-LH spiral-flute bottoming", verdict.MISTAKE, "wrong-hand"),
        ("M10 spiral-flute form E", verdict.RIGHT, None),
        ("M10 form B", verdict.MISTAKE, "wrong-din-letter"),
        ("", verdict.NOT_ATTEMPTED, None),
    ],
)
def test_tap_names(text, kind, mistake):
    said = TapAsked(Tap.parse("M10x1.5 spiral-flute bottoming"), with_thread=True).judge(text)
    assert (said.kind, said.mistake) == (kind, mistake)


def test_words():
    word = WordAsked(("#7", "0.2010"), "Type the drill.", (WrongWord("small", ("#8",), "Too small."),))
    for text in ("#7", "No. 7", "number 7", "7", "0.201 in", '.2010"'):
        assert word.judge(text).is_right or text in ("0.201 in", '.2010"')
    assert word.judge("# 8").mistake == "small"
    assert word.judge("F").kind == verdict.WRONG
    assert word.judge("?!").kind == verdict.CANNOT_READ
    assert word.is_apart


BLANKS = BlanksAsked(
    (Blank("drill", "Drill depth", DEPTH), Blank("turns", "Turns", NumberAsked(12.0, "turns", "turns")))
)


@pytest.mark.parametrize(
    ("text", "kind", "starts"),
    [
        ("26.5; 12", verdict.RIGHT, "All 2"),
        ("turns = 12; drill = 26,5 mm", verdict.RIGHT, "All 2"),
        ("26.5", verdict.NOT_ATTEMPTED, "Turns: still empty"),
        ("; ", verdict.NOT_ATTEMPTED, "Fill"),
        ("20.5; 12", verdict.MISTAKE, "Drill depth: You forgot the chamfer. 1 of 2"),
        ("26.5; 12 mm", verdict.WRONG_KIND, "Turns"),
        ("26.5; x", verdict.CANNOT_READ, "Turns"),
        ("26.5; 12; 3", verdict.CANNOT_READ, "Cannot read"),
    ],
)
def test_blanks(text, kind, starts):
    said = BLANKS.judge(text)
    assert said.kind == kind
    assert said.message.startswith(starts)


def test_blanks_write_what_they_read():
    assert BLANKS.judge(BLANKS.text_of({"drill": "26.5 mm", "turns": "12"})).is_right
    assert BLANKS.judge(BLANKS.text_of({"drill": "26.5; 99", "turns": "12"})).kind != verdict.RIGHT


SETTING = SettingAsked(
    (Slider("x", "X (mm)", -5, 5, 1, 0), Slider("y", "Y", 0, 10, 1, 0)),
    (
        Request("x is positive", lambda m: m[0] > 0, "x-low", "X is too low."),
        Request("y over 3", lambda m: m[1] > 3, "y-low", "Y is too low."),
    ),
    lambda v: (v["x"], 1 / 0 if v["y"] == 7 else v["y"]),
    {"x": 1, "y": 5},
    "tip",
)


def test_setting():
    assert SETTING.is_apart
    assert SETTING.judge("x = 2; y = 4").is_right
    assert SETTING.judge("x = −2; y = 4").mistake == "x-low"
    assert SETTING.judge("2; 3").mistake == "y-low"
    assert SETTING.judge("x = 2").kind == verdict.CANNOT_READ
    assert "only" in SETTING.judge("x = 20; y = 4").message
    assert SETTING.judge("").kind == verdict.NOT_ATTEMPTED


@pytest.mark.parametrize(
    ("asked", "text", "mistake", "told"),
    [
        (DEPTH, "6 threads", "wrong-unit", "You count threads"),
        (DEPTH, "26.5 in", "unit-mixed", "its unit does not"),
        (DEPTH, "26.5 cm", "unit-mixed", "you wrote cm, not mm"),
        (NumberAsked(5.1054, "length", "diameter", "inch"), "0.201 mm", "unit-mixed", "you wrote mm, not in"),
        (NumberAsked(4, "tooth number", "count"), "7", None, "Not this tooth"),
        (NumberAsked(4, "tooth number", "count"), "40", None, "Not this tooth"),
        (NumberAsked(2, "flute number", "count"), "1", None, "Not this flute"),
    ],
)
def test_feedback_names_what_went_wrong(asked, text, mistake, told):
    said = asked.judge(text)
    assert not said.is_right
    assert said.mistake == mistake
    assert told in said.message


def test_threads_typed_for_mm_are_told_as_that():
    for name in ("chamfer-length", "drill-depth", "fill-the-hole-plan"):
        asks = [q.ask for q in exercise_named(name).questions]
        numbers = [n for a in asks for n in ([p.number for p in a.parts] if isinstance(a, BlanksAsked) else [a])]
        slips = [(n, m) for n in numbers for m in n.mistakes if m.name == "threads-for-mm"]
        assert len(slips) > len(asks) / 2, name
        assert all("threads" in n.judge(f"{m.value / n.own:.9g}").message for n, m in slips)
