"""Reading what people type: every spelling of the brief, both systems of units, and hostile text in time."""

import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapkit.exercises import answer
from tapkit.exercises.answer import MAX_ANSWER, ReadingError

SPELLINGS = [
    ("8.5", None, 8.5, None),
    ("8,5", None, 8.5, None),
    ("8.5 mm", "length", 8.5, "length"),
    ("8.5mm", "length", 8.5, "length"),
    ("8.5 MM.", "length", 8.5, "length"),
    ("Ø 8.5", None, 8.5, None),
    ("d = 8,5 mm", "length", 8.5, "length"),
    ("about 8.5 mm", "length", 8.5, "length"),
    ("≈ 8.5", None, 8.5, None),
    (".335 in", "length", 0.335, "length"),
    ("1/4 in", "length", 0.25, "length"),
    ('1 1/2"', "length", 1.5, "length"),
    ("1-1/2 inch", "length", 1.5, "length"),
    ("1½ in", "length", 1.5, "length"),
    ("6 3/4 threads", "threads", 6.75, "threads"),
    ("6¾ thread", "threads", 6.75, "threads"),
    ("1.2e3", None, 1200.0, None),
    ("1,2E-3", None, 0.0012, None),
    ("−12°", "angle", -12.0, "angle"),
    ("-12 deg.", "angle", -12.0, "angle"),
    ("– 12 degrees", "angle", -12.0, "angle"),
    ("9°30'", "angle", 9.5, "angle"),
    ("77 %", "percent", 77.0, "percent"),
    ("77 per cent", "percent", 77.0, "percent"),
    ("5 N·m", "torque", 5.0, "torque"),
    ("5 Nm", "torque", 5.0, "torque"),
    ("400 rpm", "rotation", 400.0, "rotation"),
    ("600 mm/min", "feed", 600.0, "feed"),
    ("1.5 mm", "feed per turn", 1.5, "feed per turn"),
    ("2x", "times", 2.0, "times"),
    ("2 : 1".replace(" : ", ":"), "times", 2.0, "times"),
    ("tooth 5", "tooth number", 5.0, None),
    ("5 teeth", "teeth", 5.0, "teeth"),
    ("8.5 mm drill", "length", 8.5, "length"),
    ("1 200 rpm", "rotation", 1200.0, "rotation"),
    ("1'200", None, 1200.0, None),
    ("1,200.5", None, 1200.5, None),
    ("1.200,5", None, 1200.5, None),
    ("12,345,678", None, 12345678.0, None),
    ("\u200f8.5\u202c mm", "length", 8.5, "length"),
    ("٨٫٥", None, 8.5, None),
]


@pytest.mark.parametrize(("text", "kind", "value", "read_kind"), SPELLINGS)
def test_spellings(text, kind, value, read_kind):
    read = answer.read_measurement(text, kind)
    assert read.value == pytest.approx(value, rel=1e-12)
    assert read.kind == read_kind


@pytest.mark.parametrize(
    "text",
    [
        "", "  ", "mm", "eight", "8.5 mm or 9 mm", "8 to 9", "3-5 mm", "1/0", "9**9**9**9", "__import__('os')", "nan", "inf",
        "1e999", "8.5 bananas", "8.5\x00", "=", "8.5.5.5 mm", "10^400", "0x10", "1_000", "(((((((((8)))))))))", None, 8.5, b"8.5",
    ],
)  # fmt: skip
def test_what_is_no_number_says_so(text):
    with pytest.raises(ReadingError, match="annot read"):
        answer.read_measurement(text)


def test_a_lone_mark_with_three_digits_may_part_thousands():
    assert answer.read_measurement("1,200 rpm", "rotation").also == 1200
    assert answer.read_measurement("1.200", "rotation").also == 1200
    assert answer.read_measurement("0,200").also is None
    assert answer.read_measurement("1,25").also is None


def test_unit_of_another_kind_is_told_not_refused():
    read = answer.read_measurement("8.5 N", "length")
    assert (read.kind, read.factor) == ("force", None)


@pytest.mark.parametrize(
    ("text", "form", "chamfer"),
    [
        ("spiral point plug", "spiral-point", "plug"),
        ("SPIRAL-POINT PLUG", "spiral-point", "plug"),
        ("Spiralpoint second", "spiral-point", "plug"),
        ("spiral fluted bottoming tap", "spiral-flute", "bottoming"),
        ("straight, taper", "straight", "taper"),
        ("left hand flute semi bottoming", "left-hand-flute", "semi-bottoming"),
        ("form b", "spiral-point", 4.0),
        ("M8 × 1,25 straight flute plug", "straight", "plug"),
    ],
)
def test_tap_names_in_any_case_and_hyphen(text, form, chamfer):
    named = answer.read_tap(text)
    assert (named.form, named.chamfer) == (form, chamfer)


@pytest.mark.parametrize(
    "text", ["B, A, C", "b a c", "bac", "B > A > C", "b;a;c", "B→A→C", "B then A then C", "B\nA\nC"]
)
def test_orders(text):
    assert answer.read_letters(text, "ABC") == ("B", "A", "C")


@pytest.mark.parametrize(
    ("text", "says"), [("A, B", "C is missing"), ("A, A, B", "twice"), ("A, B, D", "D"), ("1 2 3", "1")]
)
def test_orders_that_are_none(text, says):
    with pytest.raises(ReadingError, match=says):
        answer.read_letters(text, "ABC")


@pytest.mark.parametrize(
    ("text", "picked"),
    [
        ("B2", (1, 1)),
        ("b 2", (1, 1)),
        ("(b) 2", (1, 1)),
        ("B because 2", (1, 1)),
        ("B, 2", (1, 1)),
        ("b", (1, None)),
        ("less", (1, None)),
    ],
)
def test_picks(text, picked):
    assert answer.read_pick(text, ("more", "less"), ("thick", "thin")) == picked


@pytest.mark.parametrize("text", ["C1", "B9", "2", "AB", "B 2 3", "%"])
def test_picks_that_are_none(text):
    with pytest.raises(ReadingError):
        answer.read_pick(text, ("more", "less"), ("thick", "thin"))


def test_fields_by_order_and_by_name():
    assert answer.read_fields("1;2", ("a", "b", "c")) == ("1", "2", "")
    assert answer.read_fields("c = 3; 1", ("a", "b", "c")) == ("1", "", "3")
    with pytest.raises(ReadingError, match="2 blanks"):
        answer.read_fields("1;2;3", ("a", "b"))


READERS = [
    lambda t: answer.read_measurement(t),
    lambda t: answer.read_measurement(t, "length"),
    answer.read_tap,
    lambda t: answer.read_letters(t, "ABCD"),
    lambda t: answer.read_pick(t, ("more", "less"), ("thick", "thin")),
    lambda t: answer.read_fields(t, ("a", "b")),
]

HOSTILE = [
    "9" * 1_000_000,
    "9**" * 100,
    "((((" * 70,
    " " * MAX_ANSWER,
    "A" + " , " * 95,
    "A" + " because reason " * 18,
    "1 " * 149,
    "1," * 149,
    "1/" * 149,
    "\u202e" * 1_000_000,
    "\u202e8.5\u202c" * 30,
    "\x00" * 200,
    "\ud800",
    "M" + "1" * 299,
    "spiral " * 42,
    "- " * 149,
    "é" * 300,
    "½" * 300,
    "=" * 300,
    "8.5" + "\n" * 290,
    "{}" * 150,
    "%s%n" * 70,
    "'; DROP TABLE taps; --",
    "<script>alert(1)</script>",
]


def _outcome(reader, text):
    try:
        return reader(text), ""
    except ReadingError as error:
        return None, str(error)


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_is_answered_in_time(reader, text):
    _outcome(reader, "8.5")
    best = min(_timed(reader, text) for _ in range(3))
    assert best < 0.05, f"{best:.3f} s"


def _timed(reader, text):
    start = time.thread_time()
    _outcome(reader, text)
    return time.thread_time() - start


@settings(max_examples=400, deadline=None)
@given(
    st.one_of(st.text(max_size=400), st.text(alphabet="0123456789.,/ -+eE'\"°%mMinxABC;=→>()\u200f\x00½", max_size=320))
)
def test_any_text_is_read_or_refused(text):
    for reader in READERS:
        read, said = _outcome(reader, text)
        assert (read is None) == (0 < len(said) < 400)


@settings(max_examples=300, deadline=None)
@given(
    st.floats(-1e6, 1e6).map(lambda v: round(v, 4)),
    st.sampled_from(
        [("mm", "length"), ("in", "length"), ("°", "angle"), ("N·m", "torque"), ("%", "percent"), ("", None)]
    ),
    st.sampled_from([".", ","]),
    st.sampled_from(["-", "−", "–"]),
)
def test_a_number_written_is_the_number_read(value, unit, point, minus):
    text = f"{value:.4f}".replace(".", point).replace("-", minus) + " " + unit[0]
    read = answer.read_measurement(text, unit[1])
    assert read.value == pytest.approx(value, abs=1e-9)
    assert read.kind == unit[1]


def test_messages_are_short_and_harmless():
    with pytest.raises(ReadingError) as refused:
        answer.read_measurement("\x1b[31m" + "A" * 100)
    assert "\x1b" not in str(refused.value)
    assert len(str(refused.value)) < 200
