"""The table of agreement: its rows, its verdicts, its two forms, with and without the reference libraries."""

import html
import re

import pytest

from tapkit import tables
from tapkit.agreement import library, page, text
from tapkit.agreement.figures import FIGURES, numbers
from tapkit.agreement.row import GROUPS, JUDGES, SIGNS, all_rows, judge_words, worst
from tapkit.cli import main


@pytest.fixture(scope="module")
def rows():
    return all_rows(live=False)


def test_at_least_sixty_values_in_five_groups(rows):
    assert len(rows) >= 60
    assert {r.group for r in rows} == set(GROUPS)
    assert all(r.source and r.verdict and r.grade in SIGNS for r in rows)


def test_every_row_finds_its_figure_and_its_judge():
    for row in tables.rows("published"):
        assert row["figure"] in FIGURES
        assert row["judge"] in (*JUDGES, "word")
        assert row["group"] in GROUPS
    used = {row["figure"] for row in tables.rows("published")}
    assert used == set(FIGURES)


def test_recalled_values_are_marked(rows):
    recalled = [
        r for r in rows if r.source.startswith(("ISO 965-2", "DIN 2197 [", "Lorenz", "Machinery's Handbook, tap"))
    ]
    assert recalled
    assert all("memory" in r.source for r in recalled)


@pytest.mark.parametrize(
    ("judge", "says", "ours", "within", "grade", "words"),
    [
        ("digits", "1.234", 1.2344, 0, "agrees", "every printed digit"),
        ("digits", "1.234", 1.2351, 0, "near", "one unit of the last printed digit"),
        ("digits", "1.234", 1.3, 0, "differs", "differs by 5.35%"),
        ("digits", "-12.0", -12.04, 0, "agrees", "every printed digit"),
        ("close", "10", 10.5, 5, "near", "within 5 %"),
        ("close", "10", 10.01, 0.2, "agrees", "within 0.1 %"),
        ("close", "10", 12, 5, "differs", "20 % apart"),
        ("range", "1.27-1.43", 1.3, 0, "agrees", "inside"),
        ("range", "1.27-1.43", 1.25, 0, "near", "below"),
        ("range", "1.27-1.43", 2.0, 0, "differs", "above"),
        ("least", "2 or more", 2.5, 0, "agrees", "same way"),
        ("least", "2 or more", 1.5, 0, "differs", "other way"),
        ("most", "1 or less", 0.9, 0, "agrees", "same way"),
        ("order", "16", 6.0, 0, "near", "2.7 times ours"),
        ("order", "2-5", 3.0, 0, "near", "inside the measured span"),
        ("order", "2-5", 6.0, 0, "near", "0.33 to 0.83 times ours"),
        ("order", "16", 1.0, 0, "differs", "another order"),
        ("unknown", "1", 1.8, 0, "unknown", "far apart"),
        ("unknown", "0", 2.0, 0, "unknown", "close together"),
        ("unknown", "1 or less", 2.0, 0, "unknown", "the other way"),
    ],
)
def test_verdicts_in_words(judge, says, ours, within, grade, words):
    found, verdict = JUDGES[judge](says, ours, within, "because")
    assert found == grade
    assert words in verdict


def test_words_agree_or_not():
    assert judge_words("taper", "taper", "") == ("agrees", "the same")
    assert judge_words("taper", "plug", "so") == ("unknown", "not the same: so")


def test_a_wrong_model_would_be_told(monkeypatch):
    """The table can fail: with another pitch diameter, rows turn to ✗ and the exit code to 1."""
    monkeypatch.setitem(FIGURES, "profile", lambda case: 0.7)
    assert worst(all_rows(live=False, group="geometry")) == "differs"
    assert main(["agreement", "--stored", "--group", "geometry"]) == 1


def test_nothing_that_should_agree_differs(rows):
    assert worst(rows) != "differs", [r for r in rows if r.grade == "differs"]


def test_on_the_terminal_wide_and_narrow(rows, capsys):
    for columns in (200, 80):
        shown = text.as_text(rows, columns)
        assert shown.count("\n✓") + shown.count("\n≈") + shown.count("\n?") + shown.count("\n✗") == len(rows)
        for heading in GROUPS.values():
            assert heading in shown
        for number in map(int, re.findall(r"\[(\d+)\]$", shown, re.MULTILINE)):
            assert f"  [{number}] " in shown
    assert main(["agreement", "--stored", "--group", "measured"]) == 0
    assert "order of magnitude" in capsys.readouterr().out


def test_as_a_page(rows, tmp_path, capsys):
    place = tmp_path / "agreement.html"
    assert main(["agreement", "--stored", "--html", str(place)]) == 0
    whole = place.read_text(encoding="utf-8")
    assert whole.count("<tr class=") == len(rows)
    assert not re.search("https?:", whole)  # nothing is fetched
    for row in rows:
        assert row.verdict in html.unescape(whole)
        assert text.told(row) in html.unescape(whole)
    links = set(re.findall(r'href="#([^"]+)"', whole))
    assert links <= set(re.findall(r'id="([^"]+)"', whole))
    assert str(place) in capsys.readouterr().out


def test_a_page_that_cannot_be_written(tmp_path, capsys):
    assert main(["agreement", "--stored", "--group", "measured", "--html", str(tmp_path / "no" / "x.html")]) == 2
    said = capsys.readouterr().err
    assert said.startswith("tapkit agreement: cannot write")
    assert said.count("\n") == 1


def test_libraries_that_are_missing_are_named_as_stored(monkeypatch):
    monkeypatch.setattr(library, "_installed", lambda name: False)
    assert all("stored" in r.source for r in library.references(live=True))


@pytest.mark.parametrize("name", ["shapely", "manifold3d", "screw-thread-lib", "sectionproperties"])
def test_stored_values_are_what_the_libraries_say(name):
    """Live, where installed: 0.2 % for finite elements on a coarser mesh, else the digits stored."""
    pytest.importorskip(name.replace("-", "_"))
    stored = [r for r in tables.rows("published_libraries") if r["library"] == name]
    assert stored
    for row in stored[:: 3 if name == "sectionproperties" else 1]:
        live = library.LIVE[name](row["figure"], row["case"])
        assert live == pytest.approx(float(row["says"]), rel=2e-3 if name == "sectionproperties" else 5e-6)


def test_numbers_in_a_case():
    assert numbers("3 flutes, core 0.35 D, land 0.30 D") == [3, 0.35, 0.30]
    assert numbers("M8, part 3 mm thick") == [3.0]


def test_page_of_no_rows_is_still_a_page():
    assert "0 values from outside" in page.as_page([])
