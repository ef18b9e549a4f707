"""How a question to the room looks: on the projector with its tally, and at each learner's place."""

from collections.abc import Mapping

from tapkit.classroom.room import Asked
from tapkit.classroom.spread import Bar, Spread
from tapkit.drawing import style
from tapkit.exercises.exercise import Question
from tapkit.messages import _, said
from tapkit.panels import quizlook as look
from tapkit.panels.markup import bold, joined, paragraph, points, tag

STYLE = f"""{look.STYLE}
.tapkit-room {{max-width: none}}
.tapkit-room .tapkit-both {{display: flex; flex-flow: row wrap-reverse; gap: 6px 32px; align-items: flex-end;
  justify-content: flex-start; overflow: visible}}
.tapkit-room .tapkit-both > .widget-html {{flex: 1 1 30em; min-width: 20em; width: auto; max-width: 46em}}
.tapkit-room .tapkit-count {{font-size: 1.5em; font-weight: 600; margin: 8px 0}}
.tapkit-room .tapkit-bars {{display: grid; grid-template-columns: max-content 1fr; gap: 6px 14px; margin: 10px 0;
  align-items: center; max-width: 60em}}
.tapkit-room .tapkit-bars .tapkit-label {{white-space: nowrap; font-weight: 600}}
.tapkit-room .tapkit-bar {{display: flex; align-items: center; gap: 10px; min-height: 1.7em}}
.tapkit-room .tapkit-bar span {{display: inline-block; background: {style.ACCENT}; height: 1.35em; min-width: 2px}}
.tapkit-room .tapkit-bar.right span {{background: {style.GOOD}}}
.tapkit-room .tapkit-bar.wrong span {{
  background: repeating-linear-gradient(45deg, {style.SOFT_INK} 0 3px, #9aa5af 3px 7px)}}
.tapkit-room .tapkit-hands {{display: flex; flex-wrap: wrap; gap: 4px 16px; align-items: center; overflow: visible}}
.tapkit-room .tapkit-hands .widget-label {{width: auto; font-size: inherit; color: inherit; font-weight: 600}}
.tapkit-room .tapkit-hands .widget-inline-hbox {{width: auto; font-size: inherit; margin: 0; height: auto}}
.tapkit-room .tapkit-hands .widget-text.widget-text {{width: min(40em, 100%)}}
.tapkit-room .tapkit-hands input {{font-size: inherit; width: 4.5em; height: 2em}}
.tapkit-room .tapkit-hands input[type=text] {{width: 100%}}
.tapkit-room .tapkit-names {{color: #4a545e; font-size: .87em}}
.tapkit-room.tapkit-projector {{font-size: 24px; max-width: none}}
.tapkit-room.tapkit-projector .jupyter-widgets {{font-size: inherit}}
"""

WIDEST = 16.0
"""Width of the longest bar [em]."""


def room_question_html(question: Question, asked: Asked, *, with_lines: bool = True) -> str:
    """The question as everybody sees it; without its lines where an answer box shows them."""
    head = _("Question {number} · {title}", number=asked.number, title=question.exercise.title)
    lines = look.lines_html(question.lines) if with_lines else ""
    return look.question_html(question, head) + look.sketch_html(question.sketch) + lines


def tally_html(question: Question, asked: Asked, spread: Spread, names: Mapping[str, str] | None = None) -> str:
    """What the instructor's step allows to see. `names` by learner id where they are to be shown."""
    parts = [paragraph(spread.sentence, look="tapkit-count")]
    if names is not None and spread.missing:
        told = _("Not yet: {names}", names=", ".join(names.get(x, x) for x in spread.missing))
        parts.append(paragraph(told, look="tapkit-names"))
    if not asked.is_open:
        parts.append(_bars(spread, asked.is_revealed, names))
    if asked.is_revealed:
        parts.append(_answer(question, spread))
    return joined(parts)


def _bars(spread: Spread, revealed: bool, names: Mapping[str, str] | None) -> str:
    most = max(len(spread.unreadable), *(len(b.learners) for b in spread.bars), 1)
    rows = [_bar(b, most, revealed, names) for b in spread.bars]
    if spread.unreadable:
        rows.append(_bar(Bar(said(_("cannot be read")), spread.unreadable, None), most, False, names))
    return tag("div", *rows, class_="tapkit-bars", role="list") if rows else paragraph(_("No answers."))


def _bar(bar: Bar, most: int, revealed: bool, names: Mapping[str, str] | None) -> str:
    verdict = bar.verdict if revealed else None
    kind = "" if verdict is None else "right" if verdict.is_right else "wrong"
    sign = f"{verdict.sign} {verdict.heading}" if verdict else ""
    width = WIDEST * len(bar.learners) / most
    who = _who(bar.learners, names) if names is not None else ""
    label = tag("span", bar.label, class_="tapkit-label", role="listitem")
    long = tag("span", style=f"width:{width:.2f}em")
    return label + tag("span", long, tag("b", len(bar.learners)), f" {sign}", who, class_=f"tapkit-bar {kind}")


def _who(learners: tuple[str, ...], names: Mapping[str, str]) -> str:
    return tag("i", ", ".join(names.get(x, x) for x in learners), class_="tapkit-names") if learners else ""


def _answer(question: Question, spread: Spread) -> str:
    """The right answer, how many have it, and what the others may have thought."""
    right = bold(f"✓ {question.right_words}")
    told = _("{right} of {answered} have it right.", right=spread.right, answered=len(spread.answered))
    thought: dict[str, int] = {}
    for bar in spread.bars:
        if bar.verdict and bar.verdict.mistake and bar.learners:
            thought[bar.verdict.message] = thought.get(bar.verdict.message, 0) + len(bar.learners)
    thoughts = points(f"{n}: {message}" for message, n in sorted(thought.items(), key=lambda x: -x[1]))
    shown = (look.sketch_html(question.reveal), look.solution_html(question.solution))
    return joined((right, paragraph(told), thoughts if thought else "", *shown))


def place_html(question: Question, asked: Asked, given: str | None) -> str:
    """What stands under a learner's answer: handed in or not, and after the reveal the verdict."""
    if asked.is_revealed:
        verdict = look.verdict_html(question.judge(given)) if given else paragraph(_("You gave no answer to this one."))
        return joined((verdict, look.sketch_html(question.reveal), look.solution_html(question.solution)))
    if not asked.is_open:
        if given:
            return paragraph(_("Your answer: {answer}. Answers are closed. Look at the front.", answer=given))
        return paragraph(_("You gave no answer to this one. Answers are closed. Look at the front."))
    if given:
        told = _("Handed in: {answer}. You can change it until answers are closed.", answer=given)
        return paragraph(told)
    return ""


def how_html(*, by_hand: bool, has_folder: bool) -> str:
    """How learners answer: by hand, or on their screens, with a class folder to be entered or without."""
    if by_hand:
        return paragraph(_("Learners of this class answer by hand: count the hands, and type how many."))
    if not has_folder:
        return paragraph(_("Learners answer on their screens, at Start here or in the lesson."))
    told = _(
        "Learners answer on their screens, at Start here or in the lesson; they enter the class folder there once."
    )
    return paragraph(told) + paragraph(_("Hands are not counted in this class, so that nobody counts twice."))
