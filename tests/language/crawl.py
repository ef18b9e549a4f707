"""What a reader is shown, area by area, as texts; and the words of it that no catalogue knows."""

import argparse
import html
import re
import tempfile
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import jinja2
import panelnames
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from questionwords import words_of

from tapkit import Operation, Tap, Thread, messages, panels, tables
from tapkit.classroom.seeds import class_code
from tapkit.drawing import sketch
from tapkit.messages import said

JOBS = (
    ("M10x1.5 spiral-point plug", "through 8.5 mm x 15 mm", "C45", 10.0),
    ("M10x1.5 straight plug", "blind 9.9 mm x 25 mm", "EN-GJL-250", None),
    ("M36 straight taper", "through 32 mm x 40 mm", "C45", None),
    ("M4x0.7-LH spiral-flute bottoming", "blind 3.3 mm x 10 mm", "X5CrNi18-10", 4.0),
)

# --- the words outside brackets -----------------------------------------------------------------------

NAMES = re.compile(
    r"""
    \bM\d[\w.]*x?[\d.]*(-LH)?\b | \b[#\d/ .-]+-[\d.]+\s(UNC|UNF|UNEF|UNS|8-UN)\b | \b(UNC|UNF|UNEF|UNS|8-UN)\b
    | \b(DIN|ISO|ASME|BS|EN|TC|TM|OD|FM)\s?[\w.-]*\d[\w./-]*
    | \bLetter\b | \b(rpm|hp|psi|sfm|lbf|in·lbf|in\u00b2|in\u00b3|mm\u00b2|mm\u00b3|min|deg|mm|GPa|kN)\b
    """,
    re.VERBOSE,
)
"""Names that stay as they are in every language: threads, standards, units, a size of paper."""

NAMES_OF_THREADS = re.compile(r"\bM\d[\d.]*(x[\d.]+)?(-LH)?\b")

WORD = re.compile(r"[A-Za-z]{3,}")


def outside(text: str) -> str:
    """What of a text stands outside brackets; brackets may lie in one another.

    >>> outside("[a [b] c] left [d]")
    '  left  '
    """
    left, deep = [], 0
    for letter in text:
        deep += (letter == "[") - (letter == "]")
        left.append(letter if not deep and letter != "]" else " " if letter == "]" else "")
    return "".join(left)


@cache
def _metals() -> tuple[str, ...]:
    return tuple(row["name"] for row in tables.rows("workpieces"))


def untranslated(text: str) -> list[str]:
    """Words of a text that stand outside brackets and are no names."""
    left = outside(text)
    for metal in _metals():
        left = left.replace(metal, " ")
    return WORD.findall(NAMES.sub(" ", left))


def of_html(page: str) -> str:
    """The words of a page: its text, and what alt, title and aria-label say; without styles, scripts and code."""
    assert not re.search(r"&lt;/?(?:p|b|i|ul|ol|li|t[dhr]|table|div|span|a|img|svg)\b", page), "escaped twice"
    page = re.sub(r"(?is)<(style|script|svg|code)\b.*?</\1>|<!--.*?-->|<!doctype[^>]*>", " ", page)
    told = re.findall(r"""(?i)\b(?:alt|title|aria-label|placeholder)=(?:"([^"]*)"|'([^']*)')""", page)
    words = [" ".join(pair) for pair in told] + [re.sub(r"<[^>]*>", " ", page)]
    return html.unescape("\n".join(words))


# --- areas --------------------------------------------------------------------------------------------


def jobs() -> Iterator[Operation]:
    for tap, hole, work, speed in JOBS:
        yield Operation.parse(tap, hole, work, speed=speed)


def report(system: str) -> Iterator[str]:
    """The report, without the set-up line: that is a notation, the same in every language."""
    from tapkit.reporttext import as_text
    from tapkit.setupline import line

    for job in jobs():
        yield as_text(job, system).replace(line(job, system), "")


REFUSED: tuple[tuple[Callable[..., Any], str], ...] = (
    *(
        (Thread.parse, text)
        for text in ("M10x1.7", "1/4-19", "bananas", "G1/4", "Tr10x2", "M10 fine", "H3", "6H", "3B")
    ),
    *((Thread.parse, text) for text in ("M10x1.5 6G", "1/4-20 UNF", "#7-32", "1/0-20", "1/4-200", "M11.3", "EG M10")),
    *((Tap.parse, text) for text in ("M10 forming tap", "plug", "MJ10x1.5")),
)


def door(system: str) -> Iterator[str]:
    """Refusals of the door, with what was read left out: it is the reader's own."""
    from tapkit.door import read
    from tapkit.geometry.drillsize import read_size
    from tapkit.geometry.hole import read_hole

    wrong = [
        ("8.5 kg", "length"),
        *([("1/2", "length")] if system == "metric" else []),
        ("5 deg", "torque"),
        ("nan", "speed"),
        ("1/0", "length"),
    ]
    calls = [*REFUSED, *((lambda t, k=kind: read(t, k, system=system), text) for text, kind in wrong)]
    calls += [(read_size, text) for text in ("#99", "1/3", "AA", "400 mm")]
    calls += [(read_hole, text) for text in ("8.5 x 15", "through 27/64 x 1", "blind 8.5 mm x 0", "sideways")]
    for call, text in calls:
        try:
            call(text)
        except ValueError as error:
            yield said(error, system).replace(repr(text), "")
        else:
            raise AssertionError(text)


def written(figure: Figure) -> str:
    """All that is written in a figure, in the order it was drawn."""
    axes = figure.axes
    return "\n".join(t.get_text() for ax in axes for t in ax.texts if t.get_visible() and t.get_text())


LINE_DRAWINGS = ("toothbars", "toothforces", "torquechart", "groove", "holeview")
TAP_DRAWINGS = ("tip", "endview")


def _sketches(names: tuple[str, ...], system: str) -> Iterator[str]:
    for job in jobs():
        for name in names:
            model = job.tap if name in TAP_DRAWINGS else job
            yield written(sketch.figure_of(name, model, system))
            yield said(sketch.describe_sketch(name, model, system), system)


def line_drawings(system: str) -> Iterator[str]:
    from tapkit.drawing import chamferfits, drillfits, pair, strength
    from tapkit.planning.drill import nearest_drills, usual_drills
    from tapkit.planning.holeask import DrawingAsk

    yield from _sketches(LINE_DRAWINGS, system)
    for job in jobs():
        yield from _drawn(strength, "strength", system, job)
    thread = Thread.parse("M10x1.5")
    ask = DrawingAsk(thread=thread, drill=8.5, thickness=30.0, full_thread=18.0, floor=3.0)
    fits = nearest_drills(thread, shelf=usual_drills(thread, system))
    yield from _drawn(chamferfits, "chamferfits", system, ask)
    yield from _drawn(drillfits, "percent", system, fits[0])
    yield from _drawn(drillfits, "drillfits", system, fits, 75.0)
    two = (next(jobs()),) * 2
    yield said(pair.describe_pair(two, system), system)


def _drawn(module: Any, name: str, system: str, *model: Any) -> Iterator[str]:
    figure = Figure(figsize=(7, 5))
    FigureCanvasAgg(figure)
    getattr(module, f"draw_{name}")(figure.add_axes((0, 0, 1, 1)), *model, system=system)
    yield written(figure)
    describe = getattr(module, f"describe_{name}", lambda *_model: "")
    try:
        yield said(describe(*model, system=system), system)
    except TypeError:
        yield said(describe(*model), system)


def tap_drawings(system: str) -> Iterator[str]:
    yield from _sketches(TAP_DRAWINGS, system)


def plates(system: str) -> Iterator[str]:
    from tapkit.drawing.plates import PLATES

    for plate in PLATES.values():
        yield f"{said(plate.title, system)} {said(plate.caption, system)}"


# --- panels -------------------------------------------------------------------------------------------

PANELS = (*panelnames.SPECIFIED, "own_drawer", "bench")


def panel(name: str, system: str) -> Iterator[str]:
    """Every text of a panel's widgets: labels, tooltips, choices, captions, tables."""
    shown = getattr(panels, name)()
    if system == "inch":
        shown.set_system("inch")
    yield from widget_texts(shown.widget)
    if hasattr(shown, "spec") and shown.model is not None:
        figure = Figure(figsize=(11, 6))
        FigureCanvasAgg(figure)
        shown.spec.draw(figure, shown.model, system)
        yield written(figure)


def widget_texts(widget: Any) -> Iterator[str]:
    for trait in ("description", "tooltip", "placeholder", "alt", "title"):
        value = getattr(widget, trait, None)
        if isinstance(value, str) and value:
            yield of_html(value)
    value = getattr(widget, "value", None)
    if isinstance(value, str) and ("<" in value or " " in value):
        yield of_html(value)
    for label in getattr(widget, "_options_labels", ()) or ():
        yield str(label)
    for group in getattr(widget, "spec", ()):
        yield group["title"]
        for control in group["controls"]:
            yield from (control["label"], control["help"], control.get("hint", ""), *control.get("options", ()))
    shown = getattr(widget, "shown", {})
    if isinstance(shown, list):
        yield from (key["label"] for key in shown)
        shown = {}
    for item in shown.get("items", {}).values():
        yield from (item.get("unit", ""), item.get("said", ""))
    words = getattr(widget, "words", {})
    yield from words.values() if isinstance(words, dict) else ()
    for child in getattr(widget, "children", ()):
        yield from widget_texts(child)


# --- pages --------------------------------------------------------------------------------------------


def card(system: str) -> Iterator[str]:
    from tapkit.drawing.setupcard import setup_card_page
    from tapkit.planning.choice import Job
    from tapkit.planning.holeask import DrawingAsk
    from tapkit.planning.setup import SetUp

    ask = DrawingAsk(thread=Thread.parse("M10x1.5"), drill=8.5, thickness=30.0, full_thread=15.0, floor=3.0)
    for machine in ("drill press", "hand"):
        yield of_html(setup_card_page(SetUp.make(Job.make(ask, "C45", machine)), system=system))


def questions(system: str) -> Iterator[Any]:
    """Four questions of every exercise; for inch, one of those that ask in inch units."""
    from tapkit.exercises.bank import exercises

    for exercise in exercises():
        asked = [exercise.variant(seed) for seed in range(1, 9)]
        yield from asked[::2] if system == "metric" else [q for q in asked if q.draft.system == "inch"][:1]


def exercises(system: str) -> Iterator[str]:
    """Questions of every exercise with all they say, and the verdicts on wrong and right answers."""
    for question in questions(system):
        yield from words_of(question)
        for answer in (question.right_text, "", "?", "x", "A 1", "9", "7 rpm", "12345"):
            verdict = question.judge(answer)
            yield said(verdict.heading, system)
            yield said(verdict.message, system)


def sheets(system: str) -> Iterator[str]:
    from tapkit.classroom.roster import Learner
    from tapkit.classroom.sheetpage import key_page, sheet_page
    from tapkit.classroom.sheets import make_sheet
    from tapkit.exercises.bank import exercise_named

    names = ("chamfer-length", "percent-of-a-hole")
    sheet = make_sheet(Learner("01", ""), tuple(exercise_named(n) for n in names), "language")
    yield of_html(sheet_page(sheet, title=""))
    yield of_html(key_page([sheet], title="", seed="language"))


def quiz(system: str) -> Iterator[str]:
    """A quiz as it begins, after a wrong answer with hint and solution, and right; each way of answering."""
    from tapkit.exercises.record import Record

    with tempfile.TemporaryDirectory() as place:
        record = Record(Path(place) / "record.jsonl")
        for name in ("chamfer-length", "steep-chamfer", "name-the-drawn-tap"):
            shown = panels.quiz(name, seed=1, record=record)
            yield from widget_texts(shown.widget)
            for step in (shown.check, shown.hint, shown.solution, shown.next):
                step()
                yield from widget_texts(shown.widget)
            yield of_html(shown.still())
        shown = panels.practice(length=2, seed=1, record=record)
        for _turn in range(3):
            yield from widget_texts(shown.widget)
            shown.next()
        yield of_html(panels.worked("chamfer-length")._repr_html_())


def my_page(system: str) -> Iterator[str]:
    from tapkit.exercises.record import Record

    with tempfile.TemporaryDirectory() as place:
        shown = panels.my_page(record=Record(Path(place) / "record.jsonl"))
        shown.save()
        yield from widget_texts(shown.widget)


def desk(system: str) -> Iterator[str]:
    """The instructor's desk, from two names to marks, and the box for a learner's own name."""
    from tapkit.panels.desk.desk import Desk

    with tempfile.TemporaryDirectory() as place:
        shown = Desk(Path(place))
        first, people, printing, collect, marking, ending = shown.steps
        first.box.value, first.name.value = "Ab Cd\nEf Gh", "T1"
        yield from widget_texts(first.widget)
        first.make_it()
        printing.name.value, printing.pick.chosen = "T2", ["chamfer-length"]
        printing.make()
        collect.take("x", b"x", True)
        next(iter(collect.boxes.values())).value = "?"
        collect.keep()
        marking.mark()
        ending.archive()
        for step in shown.steps:
            yield from (text.replace("answers.csv", "") for text in widget_texts(step.widget))
        for files in (people.files, printing.files, marking.files):
            yield from (f"{item['label']} {item['about']}" for item in files.items)
    yield from widget_texts(panels.my_name().widget)


def final_test(system: str) -> Iterator[str]:
    from tapkit.exercises import lessonpage
    from tapkit.exercises.lessons import lesson
    from tapkit.exercises.record import Record

    with tempfile.TemporaryDirectory() as place:
        record = Record(Path(place) / "record.jsonl")
        test = panels.final_test(record=record, seed=1)
        yield from widget_texts(test.widget)
        with messages.english():
            for question in test.quiz.deck.questions:
                record.add(question, question.right_text)
        test.finish()
        typed = [html.escape(entry.answer) for entry in record.history().entries]
        for text in widget_texts(test.widget):
            yield re.sub("|".join(map(re.escape, typed)), "", text)
        yield from widget_texts(panels.check_test().widget)
        yield from widget_texts(panels.summary(6, record=record).widget)
        yield of_html(lessonpage.lesson_page(lesson(6)))


def lesson_texts(system: str) -> Iterator[str]:
    """What lessons show of the tables; a formula's symbols and a source are the same in every language."""
    from IPython.utils.capture import capture_output

    calls = (panels.glossary, panels.chamfer_words, panels.cautions, lambda: panels.formula("chip-thickness"))
    for call in calls:
        with capture_output() as shown:
            call()
        for output in shown.outputs:
            page = re.sub(r"(?s)<figure>.*?</figure>", "", output.data["text/html"])
            yield of_html(re.sub(r"(?s)<(span|td) class='tk-source'>.*?</\1>", "", page))


CLASS = "id,name,group\n01,02,03\n04,05,06\n"
"""Learners whose names are no words."""


def class_pages(system: str) -> Iterator[str]:
    """The marks of a class with a mistake that is shared and a record that is broken, and slips."""
    from tapkit.classroom.evidence import Book, gather
    from tapkit.classroom.gradebook import marks_page
    from tapkit.classroom.marking import mark
    from tapkit.classroom.passwordfile import PasswordSlip, slips_page
    from tapkit.classroom.questions import exercise_set, questions_for
    from tapkit.classroom.roster import roster_from
    from tapkit.exercises.record import Record

    roster, chosen = roster_from(CLASS.encode()), exercise_set("chamfer-length, chip-thickness")
    with tempfile.TemporaryDirectory() as place:
        for id in ("01", "04"):
            path = Path(place) / id / "records" / f"answers-{id}.jsonl"
            path.parent.mkdir(parents=True)
            with pytest.MonkeyPatch.context() as patch:
                patch.setenv("TAPKIT_LEARNER", id)
                patch.setenv("TAPKIT_CLASS_NAME", class_code("4711"))
                for question in questions_for(chosen, "4711", id):
                    slip = next(iter(getattr(question.ask, "mistakes", ())), None)
                    Record(path).add(question, question.ask.text(slip.value / question.ask.own) if slip else "A 1")
        with open(path, "ab") as file:
            file.write(b"{broken\n")
        book = Book(roster, "4711", tuple(e.name for e in chosen))
        shown = of_html(marks_page(mark(book, gather(Path(place), book)), title=""))
        yield re.sub(r"chamfer-length|chip-thickness|answers-04.jsonl|records/|\{broken", "", shown).replace(place, "")
    yield of_html(slips_page([PasswordSlip("01", "02", "03")], "04"))


def room(system: str) -> Iterator[str]:
    """The poll on the instructor's and on a learner's side, and the page of one's own name."""
    with tempfile.TemporaryDirectory() as place:
        yield from widget_texts(panels.tally(place).widget)
        yield from widget_texts(panels.room(place, learner="01").widget)
        yield from widget_texts(panels.my_name().widget)
        yield from widget_texts(panels.desk(place).widget)
    yield from widget_texts(panels.answers("03-the-load-on-each-tooth").widget)


def command_line(system: str) -> Iterator[str]:
    """The help of every command, without the words of argparse itself and the names of options."""
    from tapkit.cli import COMMANDS, build_parser

    for name in COMMANDS:
        parser = build_parser(name)
        chosen = parser._subparsers._group_actions[0].choices[name]
        yield said(COMMANDS[name][1], system)
        for action in chosen._actions:
            if action.dest != "help" and action.help != argparse.SUPPRESS:
                yield str(action.help or "").replace("%%", "%")


def sign_in(system: str) -> Iterator[str]:
    """The hub's page for signing in, as it begins and after what the hub refuses."""
    from tapkit.classroom.hubsettings import HUB_SAYS, HubSettings, sign_in_words

    loader = jinja2.FileSystemLoader(HubSettings.templates)
    made = jinja2.Environment(loader=loader, autoescape=True, undefined=jinja2.StrictUndefined).get_template(
        "login.html"
    )
    for wrong in (None, *HUB_SAYS):
        given = dict(authenticator_login_url="/login", xsrf="x", username="", login_error=wrong, static_url=str)
        yield of_html(made.render(tapkit_words=sign_in_words(), **given))


AREAS: dict[str, Callable[[str], Iterator[str]]] = {
    "report": report,
    "door": door,
    "line drawings": line_drawings,
    "tap drawings": tap_drawings,
    "plates": plates,
    "set-up card": card,
    **{f"panel {name}": (lambda system, name=name: panel(name, system)) for name in PANELS},
    "exercises": exercises,
    "lesson texts": lesson_texts,
    "class pages": class_pages,
    "room": room,
    "command line": command_line,
    "sheets": sheets,
    "quiz": quiz,
    "my page": my_page,
    "desk": desk,
    "final test": final_test,
    "sign-in": sign_in,
}


def texts(area: str, system: str = "metric") -> list[str]:
    """All texts of an area in the language in use and a system of units."""
    assert messages.catalogue() is not None
    return [text for text in AREAS[area](system) if text.strip()]
