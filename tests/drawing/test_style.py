"""The palette for colour-blind eyes and grey print; hatches, marks, and the pen's bookkeeping."""

import itertools

import numpy as np
import pytest
from drawn import figure

from tapkit.drawing import style
from tapkit.drawing.pen import Box, Pen

# Machado, Oliveira, Fernandes 2009, "A physiologically-based model for simulation of color vision deficiency", table 1,
# severity 1.0 [memory]: linear RGB to what is seen.
MACHADO = {
    "normal": np.eye(3),
    "protan": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
    ),
    "deutan": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
    ),
    "tritan": np.array(
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]
    ),
}


def lab(colour: str, eyes: str) -> np.ndarray:
    """CIE L*a*b* (D65) of a colour as those eyes see it; CIE 15."""
    rgb = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    linear = np.clip(MACHADO[eyes] @ linear, 0, 1)
    xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]) @ linear
    t = xyz / np.array([0.9505, 1.0, 1.089])
    f = np.where(t > 0.008856, np.cbrt(t), 7.787 * t + 16 / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


@pytest.mark.parametrize("eyes", MACHADO)
def test_flutes_differ_for_all_eyes(eyes):
    for (i, a), (k, b) in itertools.combinations(enumerate(style.FLUTES, 1), 2):
        apart = float(np.linalg.norm(lab(a, eyes) - lab(b, eyes)))
        assert apart > (30 if k <= 4 else 20), f"flutes {i} and {k} look alike to {eyes} eyes: {apart:.0f}"


def test_the_first_four_flutes_differ_in_grey_print():
    greys = sorted(style.lightness(c) for c in style.FLUTES[:4])
    assert min(b - a for a, b in itertools.pairwise(greys)) > 8


def test_every_flute_has_a_mark_and_a_hatch_of_its_own():
    assert len(set(style.MARKS)) == len(set(style.HATCHES)) == len(style.FLUTES) == 8


@pytest.mark.parametrize("colour", [style.INK, style.SOFT_INK, style.WARN, style.ACCENT, style.GOOD])
def test_writing_on_paper_has_the_contrast_of_wcag_aa(colour):
    """At least 4.5 to 1; W3C, Web Content Accessibility Guidelines 2.1, 1.4.3."""

    def luminance(c: str) -> float:
        rgb = np.array([int(c[i : i + 2], 16) for i in (1, 3, 5)]) / 255
        return float(np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4) @ [0.2126, 0.7152, 0.0722])

    assert (luminance(style.PAPER) + 0.05) / (luminance(colour) + 0.05) >= 4.5


def test_line_widths_stand_two_to_one_as_iso_128_2_asks():
    assert style.LINES["edge"].width == pytest.approx(2 * style.LINES["thin"].width)
    assert style.LINES["hidden"].dashes == (12, 3)
    assert style.LINES["centre"].dashes == (24, 3, 0.5, 3)


SQUARE = np.array([[0, 0], [40, 0], [40, 40], [0, 40]], float)


@pytest.mark.parametrize("angle", [0, 30, 45, -45, 90])
def test_hatch_covers_a_polygon_evenly(angle):
    lines = style.hatch_lines([SQUARE], angle, 2.0)
    total = float(np.hypot(*(lines[:, 1] - lines[:, 0]).T).sum())
    assert total * 2.0 == pytest.approx(1600, rel=0.04)  # length times spacing is the area


def test_hatch_spares_a_hole():
    hole = np.array([[10, 10], [30, 10], [30, 30], [10, 30]], float)
    lines = style.hatch_lines([SQUARE, hole], 45, 2.0)
    middle = lines.mean(axis=1)
    assert float(np.hypot(*(lines[:, 1] - lines[:, 0]).T).sum()) * 2.0 == pytest.approx(1200, rel=0.05)
    assert not ((middle > 10.5) & (middle < 29.5)).all(axis=1).any()


def test_hatch_of_a_sliver_is_nothing():
    assert len(style.hatch_lines([np.array([[0, 0.3], [1, 0.3], [1, 0.4], [0, 0.4]])], 0, 7.0)) == 0


def test_a_pen_keeps_its_artists_and_hides_what_is_not_drawn():
    _, ax = figure((4, 3))
    pen = Pen(ax)
    pen.line([(0, 0), (10, 10)])
    pen.text(5, 5, "once")
    pen.flush()
    before = list(pen)
    pen.clear()
    pen.text(9, 9, "again")
    pen.flush()
    after = list(pen)
    assert after == before
    assert [a.get_visible() for a in after] == [False, True]
    assert after[-1].get_text() == "again"


def test_a_sheet_is_measured_in_points():
    _, ax = figure((4, 3), dpi=144)
    pen = Pen(ax)
    assert (pen.width, pen.height) == pytest.approx((288, 216))
    assert pen.sheet == Box(0, 0, pen.width, pen.height)


def test_place_takes_the_first_free_spot_and_draws_nothing_where_none_is():
    _, ax = figure((4, 3))
    pen = Pen(ax)
    pen.text(100, 100, "here first")
    assert pen.place("there", [(100, 100, "left", "bottom")]) is None
    taken = pen.place("there", [(100, 100, "left", "bottom"), (100, 40, "left", "bottom")])
    assert taken is not None
    assert taken.bottom == 40
