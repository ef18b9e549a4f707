"""Five real choices for the apple press: the learner chooses for each part, locks, and then sees the debrief."""

import contextlib

import ipywidgets

from tapkit import tables
from tapkit.exercises import locked
from tapkit.geometry.fluteform import flute_forms
from tapkit.geometry.tapname import in_words
from tapkit.messages import Sentence, _, length, listed, of_table, said
from tapkit.panels.answerkeys import AnswerChoices, AnswerKeys, OfferedChoice
from tapkit.panels.markup import bold, paragraph, table, tag
from tapkit.panels.onscreen import OnScreen, in_view
from tapkit.panels.quizlook import STYLE
from tapkit.panels.tablepanel import LOOK, care
from tapkit.planning.candidate import Job
from tapkit.planning.choice import asked_for, what_goes_wrong
from tapkit.planning.machine import Machine
from tapkit.planning.press import press_part

PARTS = ("base", "crosshead", "guide block", "spout plate", "drain valve")
"""The five parts of the press that are chosen for."""


def job_words(job: Job) -> Sentence:
    """A job in a few words, as it stands on a drawing."""
    ask, given = job.asked, dict(thread=job.thread.designation, metal=of_table(job.work.printed))
    if ask.is_through:
        return _("{thread}, through {thick}, {metal}", thick=length(ask.thickness), **given)
    return _("{thread}, blind, {deep} of full thread, {metal}", deep=length(ask.full_thread), **given)


def press_choices(press: str = "orchard", machine: str = "drill press") -> str:
    """The five choices as a table in HTML."""
    rows, marks = [], []
    for part in PARTS:
        asked = press_part(part, press)
        made = asked.choice(machine)
        rules = "; ".join(
            said(_("agrees: {rule}", rule=r.told) if r.agrees else _("differs: {rule}", rule=r.told))
            for r in made.practice()
        )
        best = made.best.name if made.best else _("none will do")
        rows.append((of_table(part), said(job_words(made.job), asked.system), best, rules or _("no rule")))
        marks.append("good" if made.best else "bad")
    head = (_("Part"), _("job"), _("the model's choice"), _("what the trade says"))
    told = dict(press=of_table(press), machine=of_table(Machine.parse(machine).printed))
    caption = _("The apple press ({press}, invented for these lessons), {machine}", **told)
    return LOOK + tag("div", table(caption, head, rows, marks), care(), class_="tapkit-table")


class FiveChoices(OnScreen):
    """Two lists for each part, a button that locks, and the debrief after it. `is_locked` says how far one is."""

    name, mark = "Panel: five choices for the press", "tapkit-five-still"

    def __init__(self, press: str = "orchard", machine: str = "drill press") -> None:
        self.press, self.machine, self.is_locked = press, machine, False
        self.parts = {part: press_part(part, press) for part in PARTS}
        self.jobs = {name: part.job(machine) for name, part in self.parts.items()}
        self.picks = {part: self._pick(part) for part in PARTS}
        self._keys = AnswerKeys(lambda standing: [pick.take(standing) for pick in self.picks.values()])
        self._lock = self._keys.add("lock", said(_("Lock my five choices")), self.lock, "tapkit-first")
        self.said, self.debrief = ipywidgets.HTML(), ipywidgets.HTML(layout={"width": "100%"})
        self.said.add_class("tapkit-told")
        self.widget = self._lay_out()
        self._kept_as = f"five choices {press} {machine}"
        self._take_up(locked.unlocked(self._kept_as))

    def choose(self, part: str, form: str, chamfer: str) -> None:
        self.picks[part].choose(f"{part} flutes", form)
        self.picks[part].choose(f"{part} chamfer", chamfer)

    def chosen(self, part: str) -> tuple[str | None, str | None]:
        """Flutes and chamfer chosen for a part, None before."""
        return tuple(self.picks[part].value(f"{part} {what}") for what in ("flutes", "chamfer"))

    def lock(self) -> None:
        """Show the debrief once all five are chosen; before, say which is missing."""
        if self.is_locked:
            return
        missing = [p for p in PARTS if None in self.chosen(p)]
        if missing:
            self.said.value = bold(_("Still to choose: {parts}.", parts=listed(map(of_table, missing))))
            return
        unsaved = locked.lock(self._kept_as, {p: " / ".join(self.chosen(p)) for p in PARTS})
        self._close()
        self.said.value = paragraph(unsaved) if unsaved else ""

    def _take_up(self, kept: dict[str, str]) -> None:
        """Locked at once where all five are kept beside the record."""
        with contextlib.suppress(ValueError, KeyError):
            for part in PARTS:
                self.choose(part, *kept[part].split(" / "))
            self._close()

    def _close(self) -> None:
        self.is_locked = self._lock.disabled = True
        for pick in self.picks.values():
            pick.locked = True
        rows = [(of_table(part), *self._judged(part)) for part in PARTS]
        head = (_("Part"), _("you chose"), _("what the model says"))
        own = table(_("Your choices"), head, rows)
        self.debrief.value = LOOK + tag("div", own, class_="tapkit-table") + press_choices(self.press, self.machine)

    def _judged(self, part: str) -> tuple[str, str]:
        """The tap chosen for a part, and what is said for or against it."""
        tap = self.parts[part].tap(*self.chosen(part))
        wanted = asked_for(self.jobs[part], tap)
        told = what_goes_wrong(wanted, self.parts[part].choice(self.machine)) or (
            _("Nothing goes wrong: the model chooses it as well."),
        )
        system = self.parts[part].system
        return said(in_words(tap)), " ".join(said(one, system) for one in told)

    def _pick(self, part: str) -> AnswerChoices:
        forms, chamfers = flute_forms(), [r["us"] for r in tables.rows("chamfers")]
        choices = {
            f"{part} flutes": OfferedChoice(
                said(_("Flutes for the {part}", part=of_table(part))),
                [said(of_table(f.printed)) for f in forms],
                [f.key for f in forms],
            ),
            f"{part} chamfer": OfferedChoice(
                said(_("Chamfer for the {part}", part=of_table(part))), [said(of_table(c)) for c in chamfers], chamfers
            ),
        }
        return AnswerChoices(choices, self.lock, unchosen=said(_("choose")))

    def _lay_out(self) -> ipywidgets.Widget:
        lines: list[ipywidgets.Widget] = []
        for part in PARTS:
            told, name = said(job_words(self.jobs[part]), self.parts[part].system), said(of_table(part))
            words = tag("p", tag("b", name[:1].upper() + name[1:]), ": ", told)
            lines += [ipywidgets.HTML(words), self.picks[part]]
        return in_view(*lines, self._keys, self.said, self.debrief, style=STYLE, mark=self.mark)

    def still(self) -> str:
        """The five jobs with room for the answers, for paper; hidden where the live one is shown."""
        rows = [(of_table(part), said(job_words(self.jobs[part]), self.parts[part].system), "", "") for part in PARTS]
        head = (_("Part"), _("job"), _("flutes and chamfer"), _("because"))
        asked = table(_("Choose a tap for each part of the press"), head, rows)
        return LOOK + tag("div", asked, class_=f"{self.mark} tapkit-table")


def five_choices(press: str = "orchard", machine: str = "drill press") -> FiveChoices:
    """Choose a tap for each of the five parts of the press, then see what the model and the trade say."""
    return FiveChoices(press, machine)
