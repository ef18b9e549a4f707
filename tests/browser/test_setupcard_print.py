"""Set-up cards printed by a real Chromium: one page on A4 and on Letter, nothing past the sides."""

import itertools
import re
import sys
from pathlib import Path

import pytest

from tapkit.drawing.setupcard import setup_card

sys.path.append(str(Path(__file__).parents[1] / "drawing"))

from test_setupcard import SETUPS


@pytest.mark.parametrize("name", SETUPS)
def test_one_page_on_a4_and_on_letter(chromium, tmp_path, name):
    sheet = chromium.new_page()
    for system, (paper, wide) in itertools.product(("metric", "inch"), (("A4", 210), ("Letter", 216))):
        file = tmp_path / f"card-{system}.html"
        file.write_text(setup_card(SETUPS[name](), system=system, part="crosshead"), encoding="utf-8")
        sheet.goto(file.as_uri())
        assert len(re.findall(rb"/Type\s*/Page\b", sheet.pdf(format=paper))) == 1, (system, paper)
        sheet.set_viewport_size({"width": int((wide - 24) / 25.4 * 96), "height": 900})
        assert sheet.evaluate("document.documentElement.scrollWidth <= innerWidth"), (system, paper)
    sheet.close()
