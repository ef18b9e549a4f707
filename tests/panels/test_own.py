"""One's own side of the bench: the drawer's panel, and one hole tapped all ways."""

import pytest

from tapkit import drawer, panels
from tapkit.panels import setupbox

pytestmark = pytest.mark.usefixtures("in_a_folder")


def test_a_tap_goes_into_the_drawer_and_every_panel_offers_it(tmp_path):
    other, shown = panels.load(), panels.own_drawer()
    assert list(other.set_up.taps) == []
    shown.put()
    assert "A7 is in the drawer" in shown.told.value
    assert "3.50 threads, reground 2026-03-02" in shown.table.value
    assert list(other.set_up.taps) == ["A7"]
    shown.boxes["radial rake"].value = "99"
    shown.put()
    assert "Not put in" in shown.told.value
    assert "radial rake" in shown.told.value
    assert drawer.contents("my-taps.csv").taps["A7"].tap.radial_rake == 12
    shown.take_out()
    assert list(other.set_up.taps) == []
    shown.take_out()
    assert "there is no tap" in shown.told.value


def test_bad_rows_are_told_by_line_and_column_and_a_shared_file_is_taken(tmp_path):
    shared = tmp_path / "shop" / "taps.csv"
    shared.parent.mkdir()
    shared.write_text("name;thread;flutes\nB1;M8;three\nB2;M8;4\n")
    shown, other = panels.own_drawer(), panels.load()
    shown.place.value = str(shared)
    assert "line 2" in shown.table.value
    assert "flutes" in shown.table.value
    assert list(other.set_up.taps) == ["B2"]
    assert list(panels.section().set_up.taps) == ["B2"]
    shown.place.value = str(tmp_path / "nowhere" / "taps.csv")
    assert "Not taken" in shown.told.value
    assert shown.file == shared


def test_the_drawer_of_a_class_is_offered_beside_ones_own(tmp_path, monkeypatch):
    room = tmp_path / "class" / "room"
    room.mkdir(parents=True)
    (room / "drawer.csv").write_text("name;thread;flutes\nC1;M8;3\nA7;M12;3\nC2;M8;none\n")
    monkeypatch.setenv("TAPKIT_ROOM", str(room))
    shown, other = panels.own_drawer(), panels.load()
    assert list(other.set_up.taps) == ["C1", "A7"]
    assert "offers besides: C1 and A7" in shown.table.value
    assert "line 4" in shown.table.value
    shown.put()
    assert "A7 is in the drawer" in shown.told.value
    assert setupbox.drawer_taps()["A7"].tap.thread.major == 10, "one's own comes first"
    assert (room / "drawer.csv").read_text().startswith("name;thread;flutes\nC1;M8;3\nA7;M12"), "theirs is not touched"


def test_the_drawer_has_a_set_up_line_to_copy_and_to_paste():
    shown = panels.own_drawer()
    assert shown.set_up.line.startswith("M10x1.5 spiral-point 4 threads, hook 12°, core 4.6 mm, reground 0.5 threads")
    before = {head: box.value for head, box in shown.boxes.items()}
    shown.set_system("inch")
    core, land = shown.boxes["core"], shown.boxes["land"]
    assert (core.value, core.placeholder, land.value, land.placeholder) == ("0.1811 in", "0.1811 in", "", "0.09843 in")
    shown.set_system("metric")
    assert {head: box.value for head, box in shown.boxes.items()} == before
    shown.set_up.hear({"line": shown.set_up.line})
    assert {head: box.value for head, box in shown.boxes.items()} == before
    shown.set_up.hear({"line": "1/4-20 UNC spiral-flute 2.5 threads, core 0.11 in | blind 0.201 in x 0.7 in | 304"})
    assert shown.set_up.told == ""
    assert "core 2.794 mm | blind 5.1054 mm x 17.78 mm | X5CrNi18-10" in shown.set_up.line
    shown.set_system("inch")
    assert "core 0.11 in | blind 0.201 in x 0.7 in" in shown.set_up.line
    assert (shown.boxes["regrinds"].value, shown.boxes["coating"].value) == ("", "TiN")
    shown.boxes["core"].value = "0.12"
    shown.set_system("metric")
    shown.put()
    assert drawer.contents("my-taps.csv").taps["A7"].tap.core_diameter == pytest.approx(0.12 * 25.4)
    line = shown.set_up.line
    shown.set_up.hear({"line": "M12 nonsense"})
    assert "nonsense" in shown.set_up.told
    assert shown.set_up.line == line


@pytest.mark.parametrize(("machine", "ways"), [("rigid", 7), ("drill press", 7), ("hand", 4)])
def test_all_ways_of_one_hole_stand_on_one_sheet(machine, ways):
    panel = panels.all_ways(machine=machine)
    assert panel.problem is None
    assert len(panel.model.ways) == ways
    told = panel.table.value
    for words in ("hand set", "spiral-point", "spiral-flute", "straight-flute", "GO ", "forming tap", "thread mill"):
        assert words in told, words
    for way in panel.model.ways:
        assert way.floor > 0
    panel.set(kind="through")
    assert all(way.floor is None for way in panel.model.ways)
    assert panel.problem is None


def test_a_way_is_the_tap_judged_alone():
    from tapkit.planning.choice import asked_for

    panel = panels.all_ways()
    way = next(one for one in panel.model.ways if "spiral-flute" in str(one.name) and "machine" in str(one.name))
    alone = asked_for(panel.model.job, "spiral-flute semi-bottoming")
    assert alone.tap == way.judged.tap
    assert alone.operation.expected_torque.peak == pytest.approx(way.operation.expected_torque.peak)
