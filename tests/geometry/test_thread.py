"""Threads: designations in every spelling, basic profile, limits, percent of thread."""

import math
import re
import string

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from strategies import threads

from tapkit import Thread
from tapkit.geometry.designation import number_sizes, read_thread, standard_threads
from tapkit.geometry.thread import minor_tolerance_iso, pitch_tolerance_iso, round_r40

SPELLINGS = {
    "M10x1.5": ["M10", "m10", "M10X1.5", "M 10 x 1.5", "m10 × 1,5", "M10*1.5", "M10-1.5", " M10x1.5 6H", "M10x1.50"],
    "M8x1-LH": ["M8x1 LH", "m8X1-lh", "M8×1LH"],
    "M1.6x0.35": ["M1.6", "m1,6", "M1.6x.35"],
    "1/4-20 UNC": ["1/4-20", "1/4 - 20 UNC", '1/4"-20', "0.250-20 UNC-2B", ".25-20", "1/4-20UNC", "1/4 in-20 tpi"],
    "#10-32 UNF": ["10-32", "#10-32", "No. 10-32 UNF", "NO 10-32 UNF-2B", "0.190-32"],
    "1-8 UNC": ["1-8", '1"-8', "1.0-8 UNC 2B", "1 in-8"],
    "1 1/8-7 UNC": ["1 1/8-7", "1-1/8-7 UNC", "1.125-7"],
    "#8-32 UNC": ["8-32", "#8-32 UNC", "0.164-32"],
}


@pytest.mark.parametrize(("name", "text"), [(n, t) for n, many in SPELLINGS.items() for t in [n, *many]])
def test_spellings_of_one_thread(name, text):
    assert Thread.parse(text) == Thread.parse(name)
    assert Thread.parse(text).designation == name


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("M10x5", "too coarse"),
        ("M10x9", "outside 0.05 to 8"),
        ("M10x0.01", "outside 0.05"),
        ("M11.3", "ISO 261 has no coarse pitch"),
        ("M10x1.5 4G", "6H only"),
        ("1/4-20 UNF", "did you mean 1/4-28 UNF"),
        ("1/4-20-3B", "2B only"),
        ("#7-32", "no number size #7"),
        ("1/0-20", "fraction"),
        ("1/4-200", "threads per inch"),
        ("bananas", "cannot read"),
        ("", "cannot read"),
        ("M" * 500, "characters"),
        (None, "not a thread designation"),
        ("M0x1", "outside 0.25"),
        ("M10x1.5; import os", "cannot read"),
    ],
)
def test_what_is_no_thread_is_refused_in_one_sentence(text, says):
    with pytest.raises(ValueError, match=says) as caught:
        read_thread(text)
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 300


@given(st.text(max_size=70))
@example("M१०x१.५")
@example("1/4-20\x00")
@example("M" + "9" * 50)
@example("1" * 30 + "/" + "1" * 20 + "-20")
def test_any_text_gives_a_thread_or_one_sentence(text):
    try:
        thread = read_thread(text)
    except ValueError as error:
        said = str(error)
    else:
        said = ""
        assert math.isfinite(thread.major)
        assert thread.pitch > 0
    assert "\n" not in said.replace(repr(text)[1:-1], "")


@given(threads, st.sampled_from(["", " ", "  "]), st.booleans(), st.sampled_from("x×*X"))
def test_every_listed_thread_reads_back_in_any_case_and_spacing(thread, space, upper, cross):
    text = space + thread.designation.replace("x", f"{space}{cross}{space}") + space
    assert read_thread(text.upper() if upper else text.lower()) == thread


@given(st.sampled_from(list(standard_threads("unified"))), st.integers(3, 6))
def test_unified_sizes_as_decimals(thread, places):
    inch = thread.major / 25.4
    shown = f"{inch:.{max(places, 4)}f}"
    assert read_thread(f"{shown}-{thread.threads_per_inch:g}").pitch == pytest.approx(thread.pitch)


@given(st.text(alphabet=string.digits + "-/#. xXMmUNCFLHB", max_size=20))
def test_a_thread_that_reads_says_its_own_name_back(text):
    try:
        thread = read_thread(text)
    except ValueError:
        return
    again = read_thread(thread.designation)
    assert again.major == pytest.approx(thread.major, rel=1e-3)
    assert again.pitch == pytest.approx(thread.pitch, rel=1e-3)
    assert again.hand == thread.hand


@given(threads)
def test_profile_by_another_way(thread):
    """The 60° triangle, put together from flats and flanks instead of the standard's ratios."""
    flank = math.tan(math.radians(60))
    assert thread.major - thread.pitch_diameter == pytest.approx(
        2 * (thread.pitch / 2 - thread.pitch / 8) / 2 * flank, rel=1e-12
    )
    assert thread.groove_width(thread.pitch_diameter / 2) == pytest.approx(thread.pitch / 2, rel=1e-12)
    assert thread.groove_width(thread.minor_diameter / 2) == pytest.approx(thread.pitch * 3 / 4, rel=1e-12)
    assert thread.groove_width(thread.major / 2) == pytest.approx(thread.pitch / 8, rel=1e-12)


@given(threads, st.floats(30, 110), st.sampled_from(["custom", "iso"]))
def test_percent_and_hole_are_each_others_reverse(thread, percent, basis):
    hole = thread.hole_for_percent(percent, basis)
    assert thread.percent(hole, basis) == pytest.approx(percent, rel=1e-12)


def test_the_two_ways_to_count_percent_of_thread():
    """D − P is 77 % by handbook custom and 92.4 % of the ISO height; follows from 1/1.299 and 1/1.0825."""
    thread = Thread.parse("M10x1.5")
    assert thread.percent(8.5) == pytest.approx(77.0, abs=0.05)
    assert thread.percent(8.5, "iso") == pytest.approx(92.4, abs=0.05)
    with pytest.raises(ValueError, match="say 'custom' or 'iso'"):
        thread.percent(8.5, "other")


@given(threads)
def test_limits_are_in_order(thread):
    low, high, pitch_low, pitch_high = thread.limits
    assert low < high < pitch_high
    assert low < pitch_low < pitch_high < thread.major


@pytest.mark.parametrize(("pitch", "micron"), [(0.5, 140), (0.8, 200), (1.0, 236), (1.25, 265), (1.5, 300), (2.0, 375)])
def test_minor_tolerance_table_and_formula_agree(pitch, micron):
    """ISO 965-1 T_D1 grade 6 [memory], and its formula rounded to R40, computed here."""
    assert minor_tolerance_iso(pitch) == micron / 1000
    raw = 230 * pitch**0.7 if pitch >= 1 else 433 * pitch - 190 * pitch**1.22
    assert round_r40(raw) == pytest.approx(micron, rel=0.061)


def test_tolerance_of_a_pitch_off_the_table_follows_the_formula():
    assert minor_tolerance_iso(1.1) == pytest.approx(230 * 1.1**0.7 / 1000, rel=0.035)
    assert pitch_tolerance_iso(1.1, 10) == pytest.approx(
        1.32 * 90 * 1.1**0.4 * math.sqrt(5.6 * 11.2) ** 0.1 / 1000, rel=0.035
    )


def test_pitch_diameter_of_m10():
    """ISO 965-2 [memory]: M10 6H pitch diameter 9.026 to 9.206 mm, minor diameter 8.376 to 8.676 mm."""
    assert Thread.parse("M10").limits == pytest.approx((8.376, 8.676, 9.026, 9.206), abs=5e-4)


def test_odd_threads_are_special_and_say_so():
    odd = Thread.parse("M10x1.1 special")
    assert not odd.is_listed
    assert "special tap" in odd.cautions()[0]
    assert Thread.parse("0.27-20").designation == "0.27-20 UNS"
    assert Thread.parse("M10").cautions() == ()


def test_a_thread_built_by_hand_is_checked_too():
    for bad in (
        dict(major=math.nan, pitch=1.0),
        dict(major=10.0, pitch=math.inf),
        dict(major=10.0, pitch=1.0, hand="both"),
    ):
        with pytest.raises(ValueError, match=r"outside|hand"):
            Thread("odd", **bad)


def test_number_sizes_follow_their_rule():
    """ASME B1.1: number n is 0.060 in + 0.013 in × n."""
    assert all(d == pytest.approx(0.060 + 0.013 * n, abs=1e-9) for n, d in number_sizes().items())


def test_lead_is_the_pitch_and_inch_threads_know_their_count():
    thread = Thread.parse("1/2-13")
    assert thread.lead == thread.pitch
    assert thread.threads_per_inch == pytest.approx(13)
    assert re.fullmatch(r"1/2-13 UNC", thread.designation)


def test_pitch_limits_of_2b_are_the_printed_ones():
    """ASME B1.1 as transcribed by screw-thread-lib: every unified size it has, to the last digit."""
    data = pytest.importorskip("screw_thread_lib.data")
    for size, row in data.ASME_UN_2A2B_dict.items():
        limits = Thread.parse(size).limits
        for ours, printed in zip(limits, (row["D1min"], row["D1max"], row["D2min"], row["D2max"])):
            assert ours / 25.4 == pytest.approx(printed, abs=1e-9), size
