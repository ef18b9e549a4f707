"""A translation is one catalogue and one set of notebooks: in brackets, nothing a reader is shown stays outside."""

import re
from pathlib import Path

import crawl
import pytest

from tapkit import Operation, locale, messages, tables
from tapkit.drawing.shaded import TapView, describe_shaded
from tapkit.launch import workspace
from tapkit.messages import Number, _, ngettext
from tapkit.reporttext import as_text

UNFINISHED: set[str] = set()
"""Areas in which words still stand outside the catalogue. An area leaves this list when it is converted: the test
fails for a listed one that has nothing left."""


@pytest.mark.parametrize("area", crawl.AREAS)
def test_nothing_is_said_outside_the_catalogue(area, bracketed):
    left = [words for text in crawl.texts(area) if (words := crawl.untranslated(text))]
    told = sorted({word for words in left for word in words})
    if area in UNFINISHED:
        assert told, f"{area} is finished: take it off the list"
    else:
        assert not told, f"{len(told)} words outside: {told[:40]}"


def test_the_crawl_sees_words_that_are_not_translated(bracketed):
    assert crawl.untranslated("[a hole 8,5 mm wide] is left, M10x1.5 in C45") == ["left"]
    assert crawl.untranslated(f"{_('unheard')} {Number(1.5)}") == ["unheard"]
    assert crawl.untranslated(str(ngettext("{count} tooth cuts.", "{count} teeth cut.", 2))) == []
    assert str(Number(1.5)) == "1,5"
    assert crawl.of_html("<p title='here'>text &amp; <b>more</b><style>p {color: red}</style></p>").split() == [
        "here", "text", "&", "more",
    ]  # fmt: skip


def test_every_area_has_something_to_say():
    for area in ("report", "door", "line drawings", "set-up card", "panel load"):
        assert sum(len(crawl.WORD.findall(text)) for text in crawl.texts(area)) > 30, area


def test_messages_are_extracted_from_code_templates_and_tables(template):
    places = {place.split("/")[1] for message in template for place, _line in message.locations if "/" in place}
    assert {"geometry", "drawing", "templates", "tables"} <= places
    assert len(template) > 500
    assert template.get(".", context="decimal mark") is not None


def test_the_columns_of_words_are_there():
    for table, columns in locale.said_columns().items():
        assert set(columns) <= set(tables.rows(table)[0]), table


def test_a_language_that_is_not_there_is_english():
    messages.use("tlh")
    assert str(_("Mind")) == "Mind"
    messages.use("")


def test_a_question_is_the_same_in_every_language(bracketed):
    told = [question.digest for question in crawl.questions("metric")]
    messages.use("")
    assert told == [question.digest for question in crawl.questions("metric")]


def test_workbooks_of_a_language_take_the_place_of_the_english_ones(tmp_path):
    for name in ("01-a.ipynb", "02-b.ipynb", "de/01-a.ipynb", "fr/01-a.ipynb", "pt_BR/02-b.ipynb", "data/note.txt"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(name)
    found = workspace.files_under(tmp_path)
    shown = {language: workspace.in_language(found, language) for language in ("", "de", "pt_BR", "it")}
    assert {k: v.read_text() for k, v in shown["de"].items()} == {
        "01-a.ipynb": "de/01-a.ipynb", "02-b.ipynb": "02-b.ipynb", "data/note.txt": "data/note.txt",
    }  # fmt: skip
    assert shown["pt_BR"]["02-b.ipynb"] == Path(tmp_path / "pt_BR/02-b.ipynb")
    assert shown["it"] == shown[""]
    assert sorted(shown[""]) == ["01-a.ipynb", "02-b.ipynb", "data/note.txt"]


ONES = re.compile(r"(?<![\d.,/#–×x−-])\b1 (?:threads|turns|teeth(?! cut)|flutes|holes|jobs|lands|pitches)\b")


def test_one_is_no_plural(monkeypatch):
    """A chamfer of one thread, turned back every turn, with one flute, in a part one pitch thick."""
    job = Operation.parse("M10x1.5 spiral-flute bottoming", "blind 8.5 mm x 20 mm", "C45", speed=10)
    short = job.with_(tap=job.tap.with_(chamfer_threads=1), back_turns=1.0, peck=5.0)
    one = job.with_(tap=job.tap.with_(flutes=1))
    thin = Operation.parse("M10x1.5 straight plug", "through 8.5 mm x 1.5 mm", "C45")
    monkeypatch.setattr(crawl, "jobs", lambda: iter((short, one, thin)))
    told = [as_text(job, "metric") for job in crawl.jobs()]
    told += crawl._sketches(crawl.LINE_DRAWINGS + crawl.TAP_DRAWINGS, "metric")
    told += (str(describe_shaded(TapView(job.tap))) for job in crawl.jobs())
    assert any("1 thread" in text for text in told)
    assert [found for text in told for found in ONES.findall(text)] == []
