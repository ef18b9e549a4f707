"""Exercises to choose from, by lesson, with their pictures."""

import io
from collections.abc import Callable
from functools import cache, lru_cache
from itertools import groupby
from pathlib import Path
from typing import Any

import anywidget
import traitlets

from tapkit.drawing.sketch import KINDS, picture
from tapkit.exercises import bank
from tapkit.exercises.exercise import Exercise
from tapkit.exercises.lessons import all_lessons
from tapkit.messages import _, of_table, said
from tapkit.panels.script import script

PLATES = {
    "reading a tap": "tip",
    "names": "four-taps",
    "chip direction": "chip-ways",
    "tooth load": "load-three-chamfers",
    "faults": "runout-and-missing-tooth",
    "drills and percent": "percent-of-thread",
    "hole plans": "hole-plans",
    "torque and strength": "torsion",
    "choice": "shaded-taps",
    "cycle": "torque-and-thickness",
    "safe work": "end-views",
}
"""The plate that stands for a topic."""


class ExercisePick(anywidget.AnyWidget):
    """The list; `chosen` are the names of the exercises chosen, in the order of the course."""

    _esm = script("desk/pick.js")
    lessons = traitlets.List().tag(sync=True)
    chosen = traitlets.List().tag(sync=True)
    words = traitlets.Dict().tag(sync=True)

    def __init__(self, changed: Callable[[], None] = lambda: None) -> None:
        words = {"chosen": said(_("Exercises chosen:")), "all": said(_("All of this lesson, or none"))}
        super().__init__(words=words)
        self.refresh()
        self.on_msg(lambda _widget, content, _buffers: self.hear(content))
        self.observe(lambda _change: changed(), "chosen")

    def refresh(self) -> None:
        """Offer what there is now, questions of one's own that were written meanwhile too."""
        grouped = groupby(sorted(bank.exercises(own=True), key=lambda e: e.lesson), key=lambda e: e.lesson)
        self.lessons = [_lesson(number, list(items)) for number, items in grouped]

    def hear(self, content: dict[str, Any]) -> None:
        """Take what was chosen, or send the pictures of a lesson that was opened."""
        if isinstance(chosen := content.get("chosen"), list):
            self.chosen = [str(name) for name in chosen]
        number = content.get("lesson")
        for one in bank.exercises(lesson=number, own=True) if isinstance(number, int) else ():
            if data := picture_of(one.name):
                self.send({"picture": one.name, "text": said(one.questions[0].text)}, buffers=[data])


def _lesson(number: int, items: list[Exercise]) -> dict[str, Any]:
    cards = [{"name": e.name, "title": said(e.title), "about": said(of_table(e.kind))} for e in items]
    named = {one.number: one.title for one in all_lessons()}
    title = _("Lesson {number}", number=number)
    if number in named:
        title = _("Lesson {number} · {title}", number=number, title=named[number])
    return {"number": number, "title": said(title), "items": cards}


def picture_of(name: str) -> bytes:
    """A picture of an exercise: its drawing, or the one shown with its solution, else the plate of its topic."""
    return _picture_of(bank.exercise_named(name))


@lru_cache(maxsize=256)
def _picture_of(one: Exercise) -> bytes:
    question = one.questions[0]
    sketch = next((s for s in (question.sketch, question.reveal) if s and s.name in KINDS), None)
    plate = PLATES.get(question.exercise.topic, "tip")
    return picture(sketch.name, sketch.model, sketch.system, scale=0.5, mask=sketch.mask) if sketch else _plate(plate)


@cache
def _plate(name: str) -> bytes:
    """A plate as small as a card; empty where the figures are not installed."""
    from PIL import Image

    from tapkit.drawing import plates

    out = io.BytesIO()
    try:
        with Image.open(Path(plates.figures_folder()) / f"{name}.png") as whole:
            whole.thumbnail((320, 200))
            whole.save(out, "PNG")
    except (OSError, ValueError):
        return b""
    return out.getvalue()
