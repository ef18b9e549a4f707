"""The panels of the line drawings: groove, section, hole, load, lean."""

import numpy as np
import pytest
from drawn import texts

from tapkit import panels

NAMES = ("groove", "section", "hole", "load", "lean")


@pytest.mark.parametrize("name", NAMES)
def test_it_starts_on_an_ordinary_case_and_the_inch_switch_reaches_every_text(name):
    panel = getattr(panels, name)()
    assert panel.problem is None
    assert panel.sentence.endswith(".")
    assert not panel.spec.cautions(panel.model)
    assert panel.stage.widget.tooltip == panel.sentence
    panel.set_system("inch")
    panel.set()
    words = " ".join(t.get_text() for ax in panel.stage.figure.axes for t in texts(ax)) + panel.sentence
    for unit in (" mm", "N·m", "N/mm²"):
        assert unit not in words.replace("in·lbf", "")


def test_a_lost_tooth_and_a_runout_show_in_the_groove():
    panel = panels.groove(missing=6)
    assert panel.model.job.faults.missing_teeth == frozenset([6])
    panel.set(missing=0, runout=0.05)
    assert "larger than it should" in panel.sentence


def test_the_groove_stops_at_a_tooth():
    panel = panels.groove(upto=6)
    assert panel.model.upto == 6
    assert "after 6 teeth" in panel.sentence


def test_a_thinner_core_breaks_sooner():
    panel = panels.section()
    before = panel.model.breakage.torque
    panel.set(core=3.0)
    assert panel.model.breakage.torque < 0.75 * before
    panel.set(shear_at_breakage=1000)
    assert panel.model.shear_at_breakage == 1000


def test_the_section_follows_the_thread():
    panel = panels.section()
    panel.set(thread="M6x1")
    assert panel.values.core == pytest.approx(panel.model.tap.core_diameter)
    assert 0.3 < panel.model.tap.core_diameter / 6 < 0.6


@pytest.mark.parametrize("kind", ["through", "blind"])
def test_the_tap_goes_down_the_hole(kind):
    panel = panels.hole(kind=kind)
    depths = [panel.set(way=w).model.depth for w in (0, 25, 50, 100)]
    assert depths[0] == 0
    assert (np.diff(depths) > 0).all()
    assert panel.model.job.torque_curve.depth[-1] == pytest.approx(depths[-1])
