"""Inch is whole: in an inch job no metric unit is shown that is not a name, or marked as such."""

import re

import crawl
import pytest

from tapkit import units
from tapkit.geometry.drillsize import drill_set, read_size, usual_sets
from tapkit.messages import _, length, said, stress, torque

METRIC = re.compile(r"(?<![\w/])(mm[²³23]?|N·m|N/mm[²2]|m/min|MPa|GPa|kN|kW|µm|cm³?)(?!\w)|\d\s?[NW](?![\w·/])")
MARKED = re.compile(
    r"""
    [\d.,]+\smm\s\([\d.]+\sin\)             # a metric drill by its name, with its inches
    | (?m:^.*\bmetric\b.*$)                 # said to be metric
    | in\sinches\sor\sin\smm.*'[^']*\smm'     # asked about
    | \b1\smm\sby\s1\smm\b
    """,
    re.VERBOSE,
)


def metric_in(text: str) -> list[str]:
    """Metric units in a text that are neither in a name nor marked as metric."""
    return [found[0] for found in METRIC.finditer(MARKED.sub(" ", crawl.NAMES_OF_THREADS.sub(" ", text)))]


METRIC_BY_NATURE = {"plates", "sheets", "quiz", "final test", "class pages", "room", "command line"}
"""Files drawn once, in metric; sheets, quizzes and questions to a class with the units of their exercises, of which those
in inch are tried alone; the help of options, which shows both."""


@pytest.mark.parametrize("area", sorted(crawl.AREAS.keys() - METRIC_BY_NATURE))
def test_an_inch_job_shows_no_metric_unit(area):
    left = {}
    for text in crawl.texts(area, "inch"):
        for line in text.splitlines():
            if found := metric_in(line):
                left[line.strip()[:160]] = found
    assert not left, f"{len(left)} lines: {list(left)[:12]}"


def test_the_crawl_sees_metric_units():
    assert metric_in("a hole 8.5 mm wide needs 8 N·m, 250 N") == ["mm", "N·m", "0 N"]
    assert metric_in("torque, N·m") == ["N·m"]
    assert metric_in("M10x1.5 in 0.335 in, drill 8.5 mm (0.3346 in)") == []
    assert metric_in("30 sfm, 12 in·lbf, 203000 psi, 0.2 hp, UNC, N1") == []


def test_units_of_an_inch_shop():
    shown = {kind: units.unit_label(kind, "inch") for kind in units.UNIT}
    assert (shown["stress"], shown["torque"], shown["speed"], shown["power"]) == ("psi", "in·lbf", "sfm", "hp")
    assert stress(1400.0).said("inch") == "203000 psi"
    assert torque(8.0).said("inch") == "70.8 in·lbf"
    assert said(_("a hole {d}", d=length(5.1054)), "inch") == "a hole 0.201 in"


def test_drills_of_an_inch_shop_are_letters_numbers_and_fractions():
    assert usual_sets("metric", "inch") == usual_sets("unified", "metric") == ("fraction", "number", "letter")
    assert usual_sets("metric", "metric") == ("metric",)
    assert drill_set("number")[6].said("inch") == "#7 (0.2010 in)"
    assert read_size("8.5").said("inch") == "8.5 mm (0.3346 in)"
