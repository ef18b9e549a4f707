"""Set-up cards printed by a real Chromium: one page on A4 and on Letter, nothing past the sides; and their code, as the
browser draws it, read by a decoder that is not ours (ISO/IEC 18004)."""

import io
import itertools
import re
import sys
from pathlib import Path

import pytest
import zxingcpp
from PIL import Image

from tapkit import setupline
from tapkit.drawing.setupcard import setup_card_page

sys.path.append(str(Path(__file__).parents[1] / "drawing"))

from test_setupcard import SETUPS


@pytest.mark.parametrize("name", SETUPS)
def test_one_page_on_a4_and_on_letter(chromium, tmp_path, name):
    sheet = chromium.new_page(device_scale_factor=3)  # as fine as a printer of 300 dpi
    for system, (paper, wide) in itertools.product(("metric", "inch"), (("A4", 210), ("Letter", 216))):
        file = tmp_path / f"card-{system}.html"
        file.write_text(setup_card_page(SETUPS[name](), system=system, part="crosshead"), encoding="utf-8")
        sheet.goto(file.as_uri())
        assert len(re.findall(rb"/Type\s*/Page\b", sheet.pdf(format=paper))) == 1, (system, paper)
        sheet.set_viewport_size({"width": int((wide - 24) / 25.4 * 96), "height": 900})
        assert sheet.evaluate("document.documentElement.scrollWidth <= innerWidth"), (system, paper)
        shown = sheet.locator("img[alt*=code]").screenshot()
        (read,) = zxingcpp.read_barcodes(Image.open(io.BytesIO(shown)))
        assert read.text == sheet.locator(".end code").inner_text()
        job = setupline.parse(read.text, system)
        assert setupline.line(job, system) == read.text
        assert job.tap.thread == SETUPS[name]().judged.tap.thread
    sheet.close()
