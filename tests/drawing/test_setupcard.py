"""The set-up card: whole, escaped, and one page on A4 and on Letter."""

import re
from html.parser import HTMLParser

import pytest

from tapkit import Thread, tables
from tapkit.drawing.setupcard import setup_card_page
from tapkit.messages import said
from tapkit.planning.candidate import Job
from tapkit.planning.holeask import COUNTERBORE, DrawingAsk
from tapkit.planning.setup import SetUp

PLAIN = DrawingAsk(thread=Thread.parse("M10"), drill=8.5, full_thread=20, thickness=36, floor=3)
FULLEST = DrawingAsk(
    thread=Thread.parse("1/4-20"),
    drill=5.1054,
    full_thread=12.7,
    thickness=30,
    floor=3,
    counterbore_depth=6,
    counterbore_diameter=12,
    countersink_diameter=6.6,
    face=COUNTERBORE,
    center_length=3,
)
SETUPS = {
    "press": lambda: SetUp.make(Job.make(PLAIN, "C45", "drill press", 20)),
    "refused": lambda: SetUp.make(Job.make(FULLEST, "aluminium", "rigid", 500), "spiral-point plug"),
    "hand": lambda: SetUp.make(Job.make(PLAIN, "C45", "hand", 1)),
    "stainless by hand": lambda: SetUp.make(Job.make(FULLEST, "304", "hand", 1), "straight taper"),
    "through": lambda: SetUp.make(
        Job.make(PLAIN.with_(kind="through", full_thread=None, floor=0), "42CrMo4", "rigid"), level="handbook"
    ),
}


class Nesting(HTMLParser):
    """Counts open elements, and keeps the texts."""

    def __init__(self):
        super().__init__()
        self.open, self.texts = [], []

    def handle_starttag(self, tag, attrs):
        if tag not in ("img", "meta", "br"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.texts.append(data)


@pytest.mark.parametrize("name", SETUPS)
@pytest.mark.parametrize("system", ["metric", "inch"])
def test_the_card_is_whole(name, system):
    setup = SETUPS[name]()
    page = setup_card_page(setup, system=system, part="bracket & <arm>")
    nesting = Nesting()
    nesting.feed(page)
    assert nesting.open == []
    text = " ".join(nesting.texts)
    assert "bracket & <arm>" in text
    assert "qualified person" in text
    assert "Check before you run" in text
    for row in tables.rows("cautions"):
        assert row["text"] in text
    for line in (*setup.hole_lines(), *setup.tap_lines(system), *setup.expect_lines()):
        assert said(line.value, system) in text
    for check in setup.checks(system):
        assert said(check, system) in text
        assert "{" not in check
    assert "http:" not in re.sub(r"data:[^\"]*", "", page), "nothing is loaded from elsewhere"
    assert ("do not run this set-up" in text) == (not setup.judged.advised)


def test_the_same_set_up_gives_the_same_card():
    assert setup_card_page(SETUPS["press"]()) == setup_card_page(SETUPS["press"]())


def test_no_tap_and_no_name_is_told():
    with pytest.raises(ValueError, match="No tap will do"):
        SetUp.make(Job.make(PLAIN.with_(thickness=22, floor=1), "C45", "drill press"))
