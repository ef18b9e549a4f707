"""The workbooks as texts: plain words, short sentences, no number of the trade, links that lead somewhere."""

import ast
import re
from pathlib import Path

import pytest
from notebooks import BOOKS, FOLDER, LESSONS, cells, links, plain, prose, sentences
from spellchecker import SpellChecker

from tapkit import tables
from tapkit.exercises.lessons import all_lessons

BESIDE = ["bench", "class-book", "glossary"]
"""The workbooks that are no lessons."""
each_book = pytest.mark.parametrize("book", BOOKS, ids=lambda b: b.stem)
each_lesson = pytest.mark.parametrize("book", LESSONS, ids=lambda b: b.stem)


def test_lessons_are_numbered_and_the_first_workbook_leads_to_each():
    names = [b.stem for b in BOOKS]
    lessons = [n for n in names if n not in BESIDE]
    assert [int(n[:2]) for n in lessons] == [0, *range(len(lessons) - 1)], "Start here, then lesson 0 and on"
    assert names == lessons + BESIDE
    assert {f"{n}.ipynb" for n in names[1:]} - {"class-book.ipynb"} <= set(links(BOOKS[0])), (
        "that one is the instructor's"
    )


@each_book
def test_code_is_folded_short_and_only_calls_panels(book):
    """No cell longer than three lines, no formula: imports of tapkit.panels and calls with plain values alone."""
    for cell in cells(book, "code"):
        assert cell.metadata["jupyter"]["source_hidden"] is True
        assert len(cell.source.splitlines()) <= 3
        for statement in ast.parse(cell.source).body:
            if isinstance(statement, ast.ImportFrom):
                assert ast.unparse(statement) == "from tapkit import panels"
                continue
            call = statement.value
            assert isinstance(call, ast.Call), cell.source
            assert ast.unparse(call.func).startswith("panels."), cell.source
            for value in [*call.args, *(k.value for k in call.keywords)]:
                ast.literal_eval(value)


@each_book
def test_no_number_of_the_trade_stands_in_the_prose(book):
    """Numbers with a unit of the trade come from panels and tables, where they have a source."""
    text = re.sub(r"`[^`]*`", "", prose(book))
    found = re.findall(r"[\d.,]+\s*(?:mm|°|N\b|N·m|MPa|N/mm|m/min|rpm|sfm|inch|percent|%|tpi)", text)
    assert not found


@each_lesson
def test_a_lesson_has_all_its_parts(book):
    text = prose(book)
    for part in (
        "**Goal.**",
        "**Time.**",
        "## Predict",
        "## Observe",
        "## Explain",
        "## One example worked",
        "## Your turn",
        "## What a shop would do",
        "## Take care",
        "## Sources",
        "invented",
    ):
        assert part in text, part
    code = "\n".join(c.source for c in cells(book, "code"))
    for call in ("panels.worked(", "panels.faded(", "panels.exercises(", "panels.cautions()"):
        assert call in code, call
    minutes = int(re.search(r"\*\*Time\.\*\* (\d+) minutes", text)[1])
    assert 20 <= minutes <= 45


@each_book
def test_sentences_are_short(book):
    """Plain words for apprentices: on average at most 13 words a sentence, none over 30."""
    counts = [len(re.findall(r"[\w'’-]+", s)) for s in sentences(prose(book))]
    counts = [c for c in counts if c]
    assert sum(counts) / len(counts) <= 13
    longest = max(sentences(prose(book)), key=lambda s: len(re.findall(r"[\w'’-]+", s)))
    assert max(counts) <= 30, longest


@each_book
def test_spelling(book):
    checker = SpellChecker(language="en", distance=1)
    known = (Path(__file__).parent / "words.txt").read_text(encoding="utf-8").split()
    known += [
        w
        for row in tables.rows("glossary")
        for key in ("term", "us", "british")
        for w in re.findall(r"[a-z]+", row[key].lower())
    ]
    checker.word_frequency.load_words(known)
    words = {w.lower() for w in re.findall(r"(?<![\w.])[A-Za-z][a-z]{2,}(?![\w])", plain(prose(book)))}
    names = {w.lower() for w in re.findall(r"(?<=[a-z,] )[A-Z][a-z]+", plain(prose(book)))}
    assert not checker.unknown(words - names)


@each_book
def test_links_lead_somewhere(book):
    anchors = {row["term"].replace(" ", "-") for row in tables.rows("glossary")}
    for target in links(book):
        path, _, anchor = target.partition("#")
        assert not target.startswith("http"), target
        assert (FOLDER / path).resolve().exists(), target
        if path == "glossary.ipynb" and anchor:
            assert anchor in anchors, target


@each_book
def test_plates_asked_for_are_there(book):
    for cell in cells(book, "code"):
        for name in re.findall(r'panels\.plate\("([^"]+)"\)', cell.source):
            assert (FOLDER.parent / "figures" / f"{name}.png").is_file(), name


def test_every_picture_of_the_glossary_is_there():
    for row in tables.rows("glossary"):
        if row["picture"]:
            assert (FOLDER.parent / "figures" / f"{row['picture']}.png").is_file(), row["term"]


@pytest.mark.parametrize("one", all_lessons(), ids=lambda one: one.file)
def test_the_table_of_lessons_says_what_the_workbooks_say(one):
    book = FOLDER / one.workbook
    text = " ".join(prose(book).split())
    assert text.startswith(f"# {one.number} · {one.title} **Goal.** {one.goal} **Time.**")
    shown = "\n".join(c.source for c in cells(book, "code"))
    assert list(one.named) == list(dict.fromkeys(re.findall(r'panels\.formula\("([^"]+)"\)', shown)))
    assert [word for word in one.words if word not in text.lower()] == []
