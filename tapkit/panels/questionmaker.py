"""*Make a question of this*: under the bench and every panel, for instructors. What is asked, what varies, the
sentence; a row of the class's own file comes of it. Nothing is kept before it can be asked."""

from collections.abc import Callable, Mapping
from typing import Any

import anywidget
import ipywidgets
import traitlets
from markupsafe import Markup, escape

from tapkit import setupline
from tapkit.drawing import style
from tapkit.exercises import bank, me, ownfile, ownquestions, quantities
from tapkit.exercises.exercise import Exercise
from tapkit.exercises.lessons import taught
from tapkit.exercises.ownvalues import PART_HEADS
from tapkit.geometry.fluteform import flute_forms
from tapkit.mechanics.workpiece import Workpiece
from tapkit.messages import _, ngettext, of_table, said
from tapkit.operation import Operation
from tapkit.panels import common, quizlook
from tapkit.panels.markup import paragraph, table, tag
from tapkit.panels.panel import button, hidden_style, is_told
from tapkit.panels.script import script
from tapkit.panels.tally import Watcher
from tapkit.parameters import Basis, Parameter, find, parameters

STYLE = f"""{quizlook.STYLE}
.tapkit-maker {{flex: 1 0 100%; max-width: 70em; width: auto; margin: 8px 0; align-self: stretch}}
.tapkit-panel:not(.tapkit-bench):has(> .tapkit-maker) {{display: grid; align-items: start;
  grid-template-columns: minmax(200px, 330px) minmax(0, 1fr)}}
.tapkit-panel:not(.tapkit-bench) > .tapkit-maker {{grid-column: 1 / -1; grid-row: 2}}
.tapkit-panel:not(.tapkit-bench):has(> .tapkit-maker) > .tapkit-controls {{grid-column: 1; grid-row: 1}}
.tapkit-panel:not(.tapkit-bench):has(> .tapkit-maker) > .tapkit-view {{grid-column: 2; grid-row: 1}}
.tapkit-panel.tapkit-panel:has(.tapkit-maker) :is(.tapkit-view, .tapkit-picture) {{position: static}}
.tapkit-form-row {{display: grid; grid-template-columns: 12em minmax(0, 34em); gap: 2px 10px; padding: 3px 0;
  align-items: baseline}}
.tapkit-form-row[hidden] {{display: none}}
.tapkit-form-row :is(input, select, textarea) {{font: inherit; color: {style.INK}; background: {style.PAPER};
  border: 1px solid {style.SOFT_INK}; border-radius: 3px; padding: 4px 7px; box-sizing: border-box; width: 100%}}
.tapkit-form-row small {{grid-column: 2; color: {style.SOFT_INK}; font-size: 13px}}
.tapkit-form summary {{cursor: pointer; font-weight: 600; padding: 6px 0}}
.tapkit-form :is(input, select, textarea, summary, button):focus-visible {{outline: 3px solid {style.ACCENT};
  outline-offset: 2px}}
.tapkit-maker .tapkit-asked {{border: 1px solid {style.FAINT}; padding: 8px 12px; margin: 6px 0}}
@media (max-width: 700px) {{.tapkit-form-row {{grid-template-columns: 1fr}} .tapkit-form-row small {{grid-column: 1}}}}
"""
RANKED = [kind for kind in ownquestions.KINDS if kind not in ("number", "choose")]
WORDS = {
    "more": _("Tolerance, hints, known mistakes"),
    "try": _("Try it"),
    "keep": _("Keep it"),
    "close": _("Close"),
}
KIND_WORDS = {
    "number": _("a number"),
    "choose the largest": _("which of several gives the largest"),
    "choose the smallest": _("which of several gives the smallest"),
    "from smallest to largest": _("an order, the smallest first"),
    "from largest to smallest": _("an order, the largest first"),
    "choose": _("a choice in words"),
}
DRAWINGS = {
    "tip": _("the tip of the tap"),
    "load": _("the load on each tooth"),
    "chips": _("the chips on their way"),
    "hole": _("the tap in the hole"),
    "section": _("the end of the tap"),
    "groove": _("the groove, slice by slice"),
    "askew": _("a tap started crooked"),
    "lean": _("one tooth and its chip"),
}
METALS = ("C45", "EN-GJL-250", "AlCuMg1", "X5CrNi18-10")


class QuestionForm(anywidget.AnyWidget):
    """The form; `hear(content)` gets each key with all that stands in it. When `kept` counts on, what belongs to the
    question that was kept goes out of it."""

    _esm = script("questionform.js")
    fields = traitlets.List().tag(sync=True)
    suggested = traitlets.Dict().tag(sync=True)
    kept = traitlets.Int().tag(sync=True)
    words = traitlets.Dict().tag(sync=True)


class MakerBox(ipywidgets.VBox):
    """The form with what is said of it, as it stands under a panel."""


class QuestionMaker:
    """The form of one panel. `set_up` gives the job it shows and its units; `close` takes the form away; `drawing`
    names the drawing a question begins with."""

    def __init__(
        self, set_up: Callable[[], tuple[Operation | None, str]], close: Callable[[], None], drawing: str = "load"
    ) -> None:
        self._set_up, self._close = set_up, close
        self.form = QuestionForm(fields=_fields(drawing), words={key: said(word) for key, word in WORDS.items()})
        self.form.on_msg(lambda _widget, content, _buffers: self.hear(content))
        self._set_up_now, self.told = ipywidgets.HTML(), ipywidgets.HTML()
        self.told.add_class("tapkit-told")
        hidden = hidden_style(STYLE)
        self.widget = MakerBox([hidden, self._set_up_now, self.form, self.told])
        for look in ("tapkit-quiz", "tapkit-maker"):
            self.widget.add_class(look)
        self.suggest({})

    def hear(self, content: Mapping[str, Any]) -> None:
        values = {key: str(value) for key, value in dict(content.get("values", {})).items()}
        press = content.get("press")
        if press == "close":
            self._close()
        elif press == "try":
            self.tell(lambda: self.tried(values))
        elif press == "keep":
            self.tell(lambda: self.kept(values))
        else:
            self.suggest(values)

    def tell(self, action: Callable[[], str]) -> None:
        """Do something and show what it says, or why it cannot be."""
        try:
            self.told.value = action()
        except (ValueError, OSError) as error:
            if not isinstance(error, OSError) and not is_told(error):
                raise
            why = error.strerror if isinstance(error, OSError) else error.args[0]
            self.told.value = paragraph(_("Not yet: {why}.", why=why))

    def suggest(self, values: Mapping[str, str]) -> None:
        """Values and a sentence for what is picked, for fields nobody has touched."""
        job, system = self._set_up()
        if job is None:
            self.told.value = paragraph(_("This panel shows no set-up that a question could be made of."))
            return
        self._set_up_now.value = paragraph(_("Set-up: {line}", line=setupline.Line(job)), system)
        varies, compare = values.get("varies") or "chamfer", values.get("compare") or "chamfer"
        kind, asked = values.get("kind") or "number", values.get("asked") or "chamfer_length"
        self.form.suggested = {
            "values": trial_values(find(varies), job, system),
            "compared": trial_values(find(compare), job, system),
            "values 2": trial_values(find(values["varies 2"]), job, system) if values.get("varies 2") else "",
            "text": _sentence(kind, asked, values.get("words") or "chip_direction", compare),
        }

    def row(self, values: Mapping[str, str]) -> dict[str, str]:
        """The row of the file that the form stands for. ValueError where the panel shows no set-up."""
        job, system = self._set_up()
        if job is None:
            raise ValueError(_("this panel shows no set-up now"))
        ranked = values.get("kind") in RANKED
        varied = [(values.get(f"varies{n}", ""), values.get(f"values{n}", "")) for n in ("", " 2")]
        varied = [(key, v) for key, v in varied if key and v and not (ranked and key == values.get("compare"))]
        in_words = values.get("kind") == "choose"
        found = {
            "title": values.get("title", ""),
            "lesson": values.get("lesson", ""),
            "kind": values.get("kind", ""),
            "text": values.get("text", ""),
            "set-up": setupline.line(job, system),
            "varies": " | ".join(f"{key} = {told}" for key, told in varied),
            "compare": f"{values['compare']} = {values['compared']}" if ranked else "",
            "asked": values.get("words" if in_words else "asked", ""),
            "units": "" if system == "metric" else system,
        }
        kept = ("drawing", "tolerance", "hint 1", "hint 2", "why", "mistake 1", "says 1", "mistake 2", "says 2")
        return found | {key: values.get(key, "") for key in kept}

    def made(self, values: Mapping[str, str]) -> Exercise:
        """The exercise the form stands for; ValueError where there is none."""
        return ownquestions.question_of(self.row(values), ownfile.own_parts())

    def tried(self, values: Mapping[str, str]) -> str:
        """A question of it with its answer, as HTML."""
        one = self.made(values)
        question = one.variant(0)
        mistakes = [question.say(m.says) for m in getattr(question.ask, "mistakes", ())]
        parts = [
            quizlook.question_html(question, one.title),
            quizlook.sketch_html(question.sketch),
            quizlook.lines_html(question.lines),
            paragraph(question.how),
            paragraph(_("Answer, which learners do not see: {answer}", answer=question.right_words)),
            *(paragraph(_("Known mistake: {says}", says=says)) for says in mistakes),
            paragraph(ngettext("{count} variant can be asked.", "{count} variants can be asked.", len(one))),
        ]
        return tag("div", *map(Markup, parts), class_="tapkit-asked")

    def kept(self, values: Mapping[str, str]) -> str:
        """Write it into the file; what to say of it."""
        one = self.made(values)
        if one.name in bank.own_found().exercises:
            raise ValueError(_("there is a question {title} already; give another title", title=one.named))
        file = ownfile.add_question(self.row(values))
        self.form.kept += 1
        return paragraph(
            _(
                "Kept as {name} in {file}. It stands in the question to the room and on the desk, and under More "
                "practice of lesson {lesson} and in the answers once these are opened anew.",
                name=one.name,
                file=str(file),
                lesson=one.lesson,
            )
        )


def _sentence(kind: str, asked: str, word: str, compare: str) -> str:
    """A sentence to begin with; it names the whole set-up, so that everything needed stands in it."""
    label, what = of_table(quantities.askable(asked).label), of_table(find(compare).label)
    told: dict[str, Any] = dict(line="{set-up}", asked=quantities.WORDS[word][0] if kind == "choose" else label)
    ranked = told | {"what": what}
    sentences = {
        "choose": _("The set-up: {line}. {asked}?", **told),
        "number": _("The set-up: {line}. How large is this: {asked}?", **told),
        "choose the largest": _(
            "The set-up: {line}. Only this is changed: {what}. Which of these gives the largest: {asked}?", **ranked
        ),
        "choose the smallest": _(
            "The set-up: {line}. Only this is changed: {what}. Which of these gives the smallest: {asked}?", **ranked
        ),
        "from smallest to largest": _(
            "The set-up: {line}. Only this is changed: {what}. Put in order, the smallest first: {asked}.", **ranked
        ),
        "from largest to smallest": _(
            "The set-up: {line}. Only this is changed: {what}. Put in order, the largest first: {asked}.", **ranked
        ),
    }
    return said(sentences[kind])


def trial_values(one: Parameter, job: Operation, system: str) -> str:
    """Four values of a control that are worth trying for a job, as one writes them.

    >>> from tapkit import setupline
    >>> trial_values(find("chamfer"), setupline.parse("M10 plug | through 8.5 x 15 | C45"), "metric")
    '1.5; 2.5; 4; 8'
    """
    if one.key == "thread":
        names = common.thread_names()
        at = names.index(job.tap.thread.designation) if job.tap.thread.designation in names else 0
        return "; ".join(names[max(at - 2, 0) :][:4])
    if one.key == "form":
        return "; ".join(form.key for form in flute_forms()[:4])
    if one.key == "work":
        return "; ".join(dict.fromkeys([Workpiece.parse(m).name for m in METALS]))
    if one.key == "kind":
        return "through; blind"
    if one.key == "chamfer":
        return "1.5; 2.5; 4; 8"
    low, high = one.range(Basis.of_job(job))
    step = one.step or 1
    values = dict.fromkeys(round(round((low + (high - low) * n / 4) / step) * step, 6) for n in (1, 2, 3))
    return "; ".join(said(one.shown(v), system) for v in values)


def _fields(drawing: str) -> list[dict[str, Any]]:
    controls = [p for p in parameters() if p.key in ("thread", "form", "kind", "work") or "sweep" in p.uses]
    picks = [(p.key, said(of_table(p.label))) for p in controls]
    asked = [(key, said(of_table(one.label))) for key, one in quantities.askables().items()]
    words = [(key, said(label)) for key, (label, *_rest) in quantities.WORDS.items()]
    lessons = [(str(n), said(_("Lesson {number}", number=n))) for n in taught()]
    slips = [(said(of_table(one.label)), "") for one in quantities.askables().values()]
    several = said(_("several values, with semicolons between"))

    def one(key: str, label: Any, value: str = "", **more: Any) -> dict[str, Any]:
        told = {k: said(v) if k in ("help", "hint") else v for k, v in more.items()}
        return dict(key=key, label=said(label), value=value, **told)

    def mistake(n: int) -> list[dict[str, Any]]:
        told = _("another quantity, a factor such as × 2 or / 2, or both; in a choice the wrong value")
        return [
            one(f"mistake {n}", _("Known mistake {number}", number=n), options=slips, free=True, more=True, help=told),
            one(f"says {n}", _("… is told"), more=True, when=None),
        ]

    return [
        one("kind", _("Ask for"), "number", options=[(k, said(w)) for k, w in KIND_WORDS.items()]),
        one("asked", _("Of"), "chamfer_length", options=asked, when=["number", *RANKED]),
        one("words", _("Of"), words[0][0], options=words, when=["choose"]),
        one("compare", _("The answers differ in"), "chamfer", options=picks, when=RANKED),
        one("compared", _("… which is"), when=RANKED, help=several),
        one("varies", _("From learner to learner varies"), "chamfer", options=[("", "–"), *picks]),
        one("values", _("… which is"), help=several),
        one("varies 2", _("And"), "", options=[("", "–"), *picks]),
        one("values 2", _("… which is")),
        one("text", _("The sentence"), tall=True,
            help=_("Names in braces stand for what varies: {example}", example="{set-up}, {thread}, {chamfer} …")),
        one("title", _("Title"), hint=_("a few words")),
        one("lesson", _("Belongs to"), "1", options=lessons),
        one("drawing", _("Drawing beside it"), drawing,
            options=[("", "–"), *((k, said(w)) for k, w in DRAWINGS.items())],
            help=_("of its own set-up; what is asked does not stand on it")),
        one("tolerance", _("Tolerance"), more=True, hint=_("usual"), help=_("such as 5 % or 0.1, in the unit asked")),
        one("hint 1", _("First hint"), more=True),
        one("hint 2", _("Second hint"), more=True),
        *mistake(1),
        *mistake(2),
        one("why", _("Said after the right answer"), more=True),
    ]  # fmt: skip


def make_button(
    set_up: Callable[[], tuple[Operation | None, str]],
    place: Callable[[ipywidgets.Widget | None], None],
    drawing: str,
) -> list[ipywidgets.Widget]:
    """The key that opens the form, for instructors; `place` puts the form under the panel, or takes it away (None);
    `drawing` is what a question carries."""
    if not me.is_instructor():
        return []

    def opened() -> None:
        place(QuestionMaker(set_up, lambda: place(None), drawing).widget)

    key = button(_("Make a question of this"), _("A question of your own, with the answer computed"), opened)
    key.add_class("tapkit-make")
    return [key]


def put_form(box: ipywidgets.Box, form: ipywidgets.Widget | None, at: int) -> None:
    """Put a form among the children of a box, in place of the one that is there; None takes it away."""
    rest = [one for one in box.children if not isinstance(one, MakerBox)]
    box.children = (*rest[:at], *([form] if form else []), *rest[at:])


class OwnFiles(Watcher):
    """What the class's own files hold, and what is wrong in them, by line and column, as they are now."""

    name = _("Questions of your own")

    def __init__(self) -> None:
        super().__init__()
        self.shown = self.widget = ipywidgets.HTML()
        self.look()

    def read(self) -> str:
        return _files_html()

    def show(self, seen: str) -> None:
        self.shown.value = seen

    def trouble(self, sentence: Any) -> None:
        self.shown.value = paragraph(sentence)


def own_questions() -> OwnFiles:
    """The class's own questions, and what is wrong in the files."""
    return OwnFiles()


def _files_html() -> str:
    found = bank.own_found()
    parts = ", ".join(ownfile.own_parts()) or "–"
    rows = [(escape(e.title), e.lesson, of_table(e.kind), len(e)) for e in found.exercises.values()]
    heads = (_("Question"), _("Lesson"), _("Kind"), _("Variants"))
    told = [
        paragraph(_("Own questions lie in {file}.", file=str(ownfile.home() / ownfile.QUESTIONS))),
        paragraph(_("Own parts, in {file}: {parts}.", file=ownfile.PARTS, parts=parts)),
        *(paragraph(problem, look="tapkit-caution") for problem in found.problems),
    ]
    columns = paragraph(_("Columns: {heads}; of parts: {parts}.", heads=", ".join(ownquestions.HEADS),
                          parts=", ".join(PART_HEADS)))  # fmt: skip
    shown = tag("div", table(None, heads, rows) if rows else "", *told, columns, class_="tapkit-quiz")
    return tag("style", Markup(STYLE)) + shown
