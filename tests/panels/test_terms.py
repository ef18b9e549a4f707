"""Words on the spot: terms marked in a sentence, and the list that says what they mean."""

import re

import pytest

from tapkit import panels, tables
from tapkit.panels import terms
from tapkit.panels import text as shown_text

TERMS = tables.rows("glossary")


@pytest.fixture
def shown(monkeypatch):
    """What a workbook is shown."""

    def show(number=None):
        pages = []
        monkeypatch.setattr(terms, "display", pages.append)
        panels.lesson_words(number)
        return pages[0].data

    return show


@pytest.mark.parametrize("term", [row["term"] for row in TERMS])
def test_every_term_is_found_also_in_the_plural_and_with_a_capital(term):
    key = term.replace(" ", "-")
    for text in (f"Look at the {term} here.", f"{term.capitalize()}s are here.", f"a {term}, another {term}"):
        told = terms.marked(text)
        assert told.count(f'data-word="{key}"') == 1
        assert re.sub(r"<[^>]+>", "", told) == text


def test_longer_terms_come_first_and_parts_of_words_are_none():
    assert re.findall('data-word="([^"]+)"', terms.marked("A spiral-point tap: chamfer angle, axial rake.")) == [
        "spiral-point", "chamfer-angle", "axial-rake",
    ]  # fmt: skip
    assert "tk-term" not in terms.marked("chipped, scoring, landing")


def test_a_panel_marks_its_sentence_and_its_alt_text_stays_plain():
    panel = panels.tip()
    assert 'class="tk-term"' in panel.words.value
    assert "tk-term" not in panel.sentence


def test_the_list_holds_every_meaning_and_the_words_of_the_lesson_in_sight(shown):
    page = shown(2)
    assert page.count("<dt>") == len(TERMS)
    assert len(re.findall(r"<div data-word=[^>]*>", page)) - page.count('class="tk-more"') == 6
    for row in TERMS:
        assert not row["picture"] or f"--tk-{row['picture']}: url(data:image/png;base64," in page


def test_without_a_lesson_nothing_is_in_sight(shown):
    page = shown()
    assert page.count('class="tk-more"') == len(TERMS)
    assert "Words of this lesson" not in page


def test_it_is_small_enough_to_stand_in_every_lesson(shown):
    assert len(shown(1)) < 500_000


def test_words_of_the_course_do_not_count_as_numbers_with_a_source(monkeypatch):
    pages = []
    monkeypatch.setattr(shown_text, "show_html", pages.append)
    panels.sources()
    count = int(re.search(r"(\d+) rows of tables", pages[0])[1])
    trade = [n for n in tables.names() if n.startswith(("torque", "tap_drills", "threads", "speeds", "tap_limits"))]
    words = [n for n in tables.names() if n.startswith(("exercise", "lessons", "teaching", "room_questions"))]
    assert len(words) >= 5
    assert sum(len(tables.rows(n)) for n in trade) < count
    assert count <= sum(len(tables.rows(n)) for n in tables.names() if n not in words)
