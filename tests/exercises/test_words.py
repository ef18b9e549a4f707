"""The words of the bank: sound spelling, short sentences, the right article, no stray code."""

import re
from pathlib import Path

import pytest
from questionwords import words_of

from tapkit import tables
from tapkit.exercises.bank import exercises
from tapkit.exercises.number import NumberAsked

ALL = exercises()
KNOWN = set(Path(__file__).with_name("words.txt").read_text().split())


def _every_text():
    return {text: q.exercise.name for e in ALL for q in e.questions for text in words_of(q)}


TEXTS = _every_text()


def test_spelling():
    spelling = pytest.importorskip("spellchecker")
    words = {}
    for text, name in TEXTS.items():
        for word in re.findall(r"[A-Za-z][a-z’']+(?:-[a-z]+)*", text):
            for part in word.lower().split("-"):
                words.setdefault(part.strip("'’").removesuffix("'s").removesuffix("’s"), name)
    unknown = spelling.SpellChecker().unknown(words) - KNOWN
    assert {w: words[w] for w in unknown} == {}


def test_articles():
    wrong = [
        t
        for t in TEXTS
        if re.search(r"\b(?<!form )[Aa] (?:8|11\b|18\b|M\d|[aeio])|\b[Aa]n (?:[1-79]|[bcdfgjkpqtvwz])", t)
    ]
    assert wrong == []


def test_sentences_are_short():
    sentences = [s for t in TEXTS for s in re.split(r"(?<=[.?!])\s", t)]
    lengths = [len(s.split()) for s in sentences]
    assert sum(lengths) / len(lengths) < 12
    long = [s for t in TEXTS for s in re.split(r"(?<=[.?!:;])\s|\(", t) if len(s.split()) > 34]
    assert long == []


def test_no_code_or_rubbish_in_the_words():
    for text in TEXTS:
        assert "  " not in text.replace("A  ", "").strip() or re.match(r"[A-H1-9•] ", text), text
        assert not re.search(r"[{}<>]|None|nan\b|inf\b|\.\.|[1-9]\.\d{5}", text), text
        assert not re.search(r"(?:^|[\s(])-\d", text), text


def test_units_are_named_where_their_sign_alone_would_stumble():
    assert str(NumberAsked(3.0, "length", "thickness", system="inch").how) == "Answer in inches (in)."
    assert str(NumberAsked(3.0, "length", "thickness").how) == "Answer in mm."


def test_every_row_of_words_is_said():
    parts = {(one.name, part) for one in ALL for part in ("text", "hint", *(m.name for m in one.mistakes))}
    rows = tables.rows("exercise_words")
    own = [r for r in rows if r["part"] not in ("option", "reason")]
    assert [r for r in own if (r["exercise"], r["name"] or r["part"]) not in parts] == []
    assert {r["exercise"] for r in rows} <= {one.name for one in ALL}
