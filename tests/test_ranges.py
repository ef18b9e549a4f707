"""No view tells one number where only a range is known: torque to expect, torque at breakage, margin."""

import re

import pytest

from tapkit import Operation
from tapkit.exercises.bank import exercise_named, exercises
from tapkit.messages import said
from tests.language import crawl

TORQUE = re.compile(r"(?<![\d.,])(\d[\d.]*)\s(N·m|in·lbf)(?!\w)")
RANGE = re.compile(r"(\d[\d.]*)(?: to |–)(\d[\d.]*)(?:\s(?:N·m|in·lbf|times)|\s(?:until|times|the))")
MARGIN = re.compile(r"(?:margin(?: is)?:? |bears (?:only )?)(\d[\d.]*)(?! to|\d|\.\d| N| in| lbf)")
EXACT = re.compile(
    r"published|sum of the tooth forces|hands that pull|your hands|low end|high end|least|most\b|Clutch|set to",
    re.IGNORECASE,
)
"""What is one number: a formula's own value, the sum that is exact, what two hands give, an end that is named one."""
MEASURED = ("measured_torque",)
"""Panels that tell what was measured: that is one number, beside the range to expect."""
PANELS = [f"panel {name}" for name in crawl.PANELS if name not in MEASURED]
VIEWS = ("report", "line drawings", "set-up card", *PANELS)


def lone(text: str) -> list[str]:
    """Torques and margins of a text that are no range, no end of a range told in it, and nothing exact."""
    ends = {end for found in RANGE.finditer(text) for end in found.groups()}
    out = []
    for pattern in (TORQUE, MARGIN):
        for found in pattern.finditer(text):
            before = text[max(0, found.start() - 80) : found.start()]
            if pattern is MARGIN and "tooth" in before:
                continue  # a tooth's share of the load is exact
            if found[1] not in ends and not re.search(r"\d (?:to|–) $", before) and not EXACT.search(before):
                out.append(before[-60:] + found[0])
    return out


@pytest.mark.parametrize(
    ("text", "is_lone"),
    [("the tap breaks at 38.75 N·m", True), ("margin 4.9", True), ("it bears 4.9 times the torque", True),
     ("would break at 24 in·lbf", True), ("to expect: 6.1 to 11 N·m", False), ("margin 1.9 to 8.4 until 12 mm", False),
     ("published formula: 7.7 N·m", False), ("needs 6 to 11 N·m. The most is 11 N·m.", False)],
)  # fmt: skip
def test_a_lone_value_is_found(text, is_lone):
    assert bool(lone(text)) == is_lone


@pytest.mark.parametrize("system", ["metric", "inch"])
@pytest.mark.parametrize("view", VIEWS)
def test_no_view_tells_a_lone_torque_or_margin(view, system):
    found = [one for text in crawl.AREAS[view](system) for one in lone(text)]
    assert found == []


GIVEN = {
    "torque-of-two-hands": "what two hands give",
    "torque-of-a-tooth": "force times radius, both given",
    "handbook-torque": "the handbook's own rule",
    "core-stress": "stress of a torque that is given",
    "duty-of-the-hardest-tooth": "work, not torque",
    "order-by-wear": "work, not torque",
    "set-the-torque": "an end that the range is to keep",
}
"""Exercises whose torque is given or exact, and why."""


@pytest.mark.parametrize("name", [e.name for e in exercises() if e.name not in GIVEN])
def test_no_exercise_tells_a_lone_torque_or_margin(name):
    for seed in (1, 2, 3):
        one = exercise_named(name).variant(seed)
        text = "\n".join(said(part) for part in (one.text, *one.lines, *one.solution))
        text = re.sub(r"(?m)^.*= .*$", "", text)  # arithmetic with the ends of ranges told before
        assert lone(text) == [], (name, seed)


def test_data_for_other_programs_has_ranges_too():
    from tapkit.report import as_dict

    found = as_dict(Operation.parse("M10x1.5 straight plug", "through 8.5 mm x 20 mm", "C45"))
    assert set(found["breakage"]) == {"torque_Nm", "torque_range_Nm", "margin_range"}
    assert set(found["torque"]) == {"cutting_Nm", "expected_Nm", "published_Nm", "going_back_Nm", "basis"}
    low, high = found["torque"]["expected_Nm"]
    assert low < found["torque"]["published_Nm"] < high
    assert (
        found["breakage"]["torque_range_Nm"][0]
        < found["breakage"]["torque_Nm"]
        < found["breakage"]["torque_range_Nm"][1]
    )
