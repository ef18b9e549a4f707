"""Five real choices for the apple press: the learner chooses for each part, locks, and then sees the debrief."""

from __future__ import annotations

import html
from typing import Any

import ipywidgets
from IPython.display import HTML, display

from tapkit import tables
from tapkit.geometry.fluteform import flute_forms
from tapkit.panels.inpage import InPage
from tapkit.panels.panel import VIEW
from tapkit.panels.quizlook import STYLE
from tapkit.panels.tablepanel import LOOK, care, table
from tapkit.planning.candidate import Job
from tapkit.planning.choice import asked_for, what_goes_wrong
from tapkit.planning.machine import Machine
from tapkit.planning.press import press_part

UNDECIDED = ""
PARTS = ("base", "crosshead", "guide block", "spout plate", "drain valve")
"""The five parts of the press that are chosen for."""


def job_words(job: Job) -> str:
    """A job in a few words, as it stands on a drawing."""
    ask = job.asked
    deep = f"through {ask.thickness:g} mm" if ask.is_through else f"blind, {ask.full_thread:g} mm of full thread"
    return f"{job.thread.designation}, {deep}, {job.work.printed}"


def press_choices(press: str = "orchard", machine: str = "drill press") -> str:
    """The five choices as a table in HTML."""
    rows, marks = [], []
    for part in PARTS:
        made = press_part(part, press).choice(machine)
        job = made.job
        hole = f"{job.asked.kind}, {job.asked.thickness if job.asked.is_through else job.asked.full_thread:g} mm"
        rules = "; ".join(("agrees: " if r.agrees else "differs: ") + str(r.told) for r in made.practice())
        best = str(made.best.name) if made.best else "none will do"
        rows.append((part, job.thread.designation, hole, job.work.printed, best, rules or "no rule"))
        marks.append("good" if made.best else "bad")
    head = ("Part", "thread", "hole", "metal", "the model's choice", "what the trade says")
    caption = f"The apple press ({press}, invented for these lessons), {Machine.parse(machine).printed}"
    return f'{LOOK}<div class="tapkit-table">{table(caption, head, rows, marks)}{care()}</div>'


class FiveChoices:
    """Two lists for each part, a button that locks, and the debrief after it. `is_locked` says how far one is."""

    def __init__(self, press: str = "orchard", machine: str = "drill press") -> None:
        self.press, self.machine, self.is_locked = press, machine, False
        forms = [("choose", UNDECIDED), *((f.printed, f.key) for f in flute_forms())]
        chamfers = [("choose", UNDECIDED), *((r["us"], r["us"]) for r in tables.rows("chamfers"))]
        self.parts = {part: press_part(part, press) for part in PARTS}
        self.jobs = {name: part.job(machine) for name, part in self.parts.items()}
        self.forms = {part: _pick(f"Flutes for the {part}", forms) for part in PARTS}
        self.chamfers = {part: _pick(f"Chamfer for the {part}", chamfers) for part in PARTS}
        self.button = ipywidgets.Button(description="Lock my five choices", tooltip="Lock my five choices")
        self.button.add_class("tapkit-first")
        self.button.on_click(lambda _: self.lock())
        self.said, self.debrief = ipywidgets.HTML(), ipywidgets.HTML(layout={"width": "100%"})
        self.said.add_class("tapkit-told")
        self.widget = self._lay_out()

    def lock(self) -> None:
        """Show the debrief once all five are chosen; before, say which is missing."""
        missing = [p for p in PARTS if not (self.forms[p].value and self.chamfers[p].value)]
        if missing:
            self.said.value = f"<p><b>Still to choose: {html.escape(', '.join(missing))}.</b></p>"
            return
        self.is_locked = True
        for pick in (*self.forms.values(), *self.chamfers.values(), self.button):
            pick.disabled = True
        self.said.value = ""
        rows = [(part, *self._judged(part)) for part in PARTS]
        own = table("Your choices", ("Part", "you chose", "what the model says"), rows)
        self.debrief.value = f'{LOOK}<div class="tapkit-table">{own}</div>{press_choices(self.press, self.machine)}'

    def _judged(self, part: str) -> tuple[str, str]:
        """The tap chosen for a part, and what is said for or against it."""
        tap = self.parts[part].tap(self.forms[part].value, self.chamfers[part].value)
        wanted = asked_for(self.jobs[part], tap)
        told = what_goes_wrong(wanted, self.parts[part].choice(self.machine)) or (
            "Nothing goes wrong: the model chooses it as well.",
        )
        return wanted.tap.name, " ".join(map(str, told))

    def _lay_out(self) -> ipywidgets.Widget:
        style = ipywidgets.HTML(f"<style>{STYLE} .tapkit-five-still {{display: none}}</style>")
        style.layout.display = "none"
        lines: list[ipywidgets.Widget] = []
        for part in PARTS:
            words = f"<p><b>{part[0].upper()}{part[1:]}</b>: {html.escape(job_words(self.jobs[part]))}</p>"
            picks = ipywidgets.HBox([self.forms[part], self.chamfers[part]], layout={"flex_flow": "row wrap"})
            lines += [ipywidgets.HTML(words), picks]
        keys = ipywidgets.Box([self.button])
        keys.add_class("tapkit-keys")
        box = ipywidgets.VBox([style, *lines, keys, self.said, self.debrief, InPage()])
        box.add_class("tapkit-quiz")
        return box

    def still(self) -> str:
        """The five jobs with room for the answers, for paper; hidden where the live one is shown."""
        rows = [(part, job_words(self.jobs[part]), "", "") for part in PARTS]
        asked = table("Choose a tap for each part of the press", ("Part", "job", "flutes and chamfer", "because"), rows)
        return f'{LOOK}<div class="tapkit-five-still tapkit-table">{asked}</div>'

    def _ipython_display_(self) -> None:
        view = {"version_major": 2, "version_minor": 0, "model_id": self.widget.model_id}
        display({VIEW: view, "text/plain": "Panel: five choices for the press"}, raw=True)
        display(HTML(self.still()))


def _pick(label: str, options: list[Any]) -> ipywidgets.Dropdown:
    pick = ipywidgets.Dropdown(options=options, value=UNDECIDED, description=label, layout={"width": "27em"})
    pick.style.description_width = "13em"
    return pick


def five_choices(press: str = "orchard", machine: str = "drill press") -> FiveChoices:
    """Choose a tap for each of the five parts of the press, then see what the model and the trade say."""
    return FiveChoices(press, machine)
