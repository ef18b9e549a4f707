"""The table of agreement: its rows, its verdicts, its two forms, with and without the reference libraries."""

import html
import re

import pytest

from tapkit import tables
from tapkit.agreement import agreementtext, library
from tapkit.agreement.figures import FIGURES, numbers_in
from tapkit.agreement.row import (
    GROUPS,
    JUDGES,
    KINDS,
    MUST_AGREE,
    SIGNS,
    all_rows,
    judge_count,
    judge_covers,
    judge_span,
    judge_words,
    worst,
)
from tapkit.agreement.torquefigures import Count, Range
from tapkit.cli import main


@pytest.fixture(scope="module")
def rows():
    return all_rows(live=False)


def test_at_least_sixty_values_in_six_groups(rows):
    assert len(rows) >= 60
    assert {r.group for r in rows} == set(GROUPS)
    assert all(r.source and r.verdict and r.grade in SIGNS for r in rows)


def test_every_row_finds_its_figure_and_its_judge():
    for row in tables.rows("published"):
        assert row["figure"] in FIGURES
        assert row["judge"] in (*JUDGES, "word", "covers", "count")
        assert row["kind"] in KINDS
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
        ("unknown", "1", 1.8, 0, "unknown", "far apart"),
        ("unknown", "0", 2.0, 0, "unknown", "close together"),
        ("unknown", "1 or less", 2.0, 0, "unknown", "the other way"),
    ],
)
def test_verdicts_in_words(judge, says, ours, within, grade, words):
    found, verdict = JUDGES[judge](says, ours, within, "because")
    assert found == grade
    assert words in verdict


def test_words_that_contradict_differ():
    assert judge_words("taper", "taper") == ("agrees", "the same")
    assert judge_words("taper", "plug")[0] == "differs"


@pytest.mark.parametrize(
    ("says", "ours", "grade", "words"),
    [
        (
            "16",
            Range(10, 20, 8),
            "agrees",
            "measured is 2 times the sum of our tooth forces, our range covers 1.2 to 2.5",
        ),
        ("2-5", Range(3, 6, 2), "near", "partly inside"),
        ("16", Range(1, 2, 1), "differs", "outside our range"),
    ],
)
def test_measured_torque_is_told_with_its_ratio_and_ours(says, ours, grade, words):
    found, verdict = judge_covers(says, ours)
    assert found == grade
    assert words in verdict


def test_published_values_outside_our_ranges_would_be_told():
    assert judge_count(Count(9, 9, 0.5, 1.0, 0.4, 1.2))[0] == "agrees"
    grade, verdict = judge_count(Count(8, 9, 0.5, 1.3, 0.4, 1.2))
    assert grade == "differs"
    assert "1 outside our ranges: published is 0.5 to 1.3 times" in verdict


def test_a_span_that_crosses_the_line_is_told_with_both_ends():
    assert judge_span("1 or more", Range(0.6, 2.4)) == ("near", "not always, from 0.6 to 2.4")
    assert judge_span("1 or more", Range(1.1, 2.4))[0] == "agrees"
    assert judge_span("1 or more", Range(0.1, 0.4))[0] == "differs"


def test_every_published_row_of_torque_stands_in_the_table(rows):
    cases = [r.case for r in rows if r.group == "published torque"]
    assert [r["metal"] for r in tables.rows("torque_kc")] == cases[: len(tables.rows("torque_kc"))]
    assert len(cases) == len(tables.rows("torque_kc")) + len(tables.rows("torque_k"))
    assert sum(r.ours.cases for r in rows if r.figure == "every tap and size") > 1000


def test_kinds_are_counted_apart(rows):
    told = agreementtext.grades_summary(rows)
    for kind, verb in agreementtext.KIND_VERBS.items():
        assert f"{sum(r.kind == kind for r in rows)} {verb}" in told
    independent = [r for r in rows if not r.kind]
    assert f"✗ {sum(r.grade == 'differs' for r in independent)} differ" in told
    assert any(r.grade == "differs" for r in independent)  # words and ratios that contradict are told so


def test_no_source_is_a_handle_without_a_host(rows):
    assert not any("handle" in r.source for r in rows)


def test_a_wrong_model_would_be_told(monkeypatch):
    """The table can fail: with another pitch diameter, rows turn to ✗ and the exit code to 1."""
    monkeypatch.setitem(FIGURES, "profile", lambda case: 0.7)
    assert worst(all_rows(live=False, group="geometry")) == "differs"
    assert main(["agreement", "--stored", "--group", "geometry"]) == 1


def test_nothing_that_should_agree_differs(rows):
    assert worst([r for r in rows if r.group in MUST_AGREE]) != "differs", [r for r in rows if r.grade == "differs"]


def test_on_the_terminal_wide_and_narrow(rows, capsys):
    for columns in (200, 80):
        shown = agreementtext.agreement_text(rows, columns)
        assert shown.count("\n✓") + shown.count("\n≈") + shown.count("\n?") + shown.count("\n✗") == len(rows)
        for heading in GROUPS.values():
            assert heading in shown
        for number in map(int, re.findall(r"\[(\d+)\]$", shown, re.MULTILINE)):
            assert f"  [{number}] " in shown
    assert main(["agreement", "--stored", "--group", "measured"]) == 0
    assert "against our range" in capsys.readouterr().out


def test_as_a_page(rows, tmp_path, capsys):
    place = tmp_path / "agreement.html"
    assert main(["agreement", "--stored", "--html", str(place)]) == 0
    whole = place.read_text(encoding="utf-8")
    assert whole.count("<tr class=") == len(rows)
    assert not re.search("https?:", whole)  # nothing is fetched
    for row in rows:
        assert row.verdict in html.unescape(whole)
        assert agreementtext.told(row) in html.unescape(whole)
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
    assert numbers_in("3 flutes, core 0.35 D, land 0.30 D") == [3, 0.35, 0.30]
    assert numbers_in("M8, part 3 mm thick") == [3.0]


def test_page_of_no_rows_is_still_a_page():
    assert "0 values from outside" in agreementtext.as_page([])
