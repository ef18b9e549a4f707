"""Fifth step: marks of a set, what cannot be read put right in place, the class page, the gradebooks."""

from pathlib import Path
from typing import Any

import ipywidgets

from tapkit.classroom.corrections import correction, keep_correction, unread
from tapkit.classroom.marking import Marks, Try
from tapkit.classroom.marks import worth_of
from tapkit.classroom.sets import How, SheetSet, keep_marks, latest, marks_of_set, set_of, sets_of
from tapkit.exercises import bank
from tapkit.messages import _, ngettext, said
from tapkit.panels.desk import widgets
from tapkit.panels.desk.files import DeskFile, of_path
from tapkit.panels.markup import paragraph
from tapkit.panels.onscreen import key_row

COUNTS = [(_("the best try"), "best"), (_("the first try"), "first"), (_("the last try"), "last")]
CELLS = [(_("comma"), "comma"), (_("semicolon, with 0,5"), "semicolon"), (_("tab"), "tab")]
SHOWN = 40
"""Answers to correct, and lines to look at, shown at a time."""

NO_SET = _("Make a set in step 3 first; it says which exercises are marked.")


class MarkStep(widgets.DeskStep):
    """Marks."""

    title = _("Mark")
    marks: Marks | None = None

    def refresh(self) -> None:
        """Show the sets of the class and the newest marking."""
        sets = sets_of(self.desk.school)
        widgets.offer(self.sets, [(one.title, one.title) for one in sets], last=True)
        self._show_files(latest(self.desk.school))
        if not sets:
            self.told.say(NO_SET)
        elif said(NO_SET) in self.told.widget.value:
            self.told.say()

    def mark(self, told: widgets.Told | None = None) -> None:
        """Mark the set, write the marking beside the earlier ones, show it and say what was done."""
        one = set_of(self.desk.school, self.sets.value)
        if one is None:
            raise ValueError(_("make a set in step 3 first; it says which exercises are marked"))
        how = self._how(one)
        self.marks = marks_of_set(self.desk.school, one, how)
        folder = keep_marks(self.desk.school, one, self.marks, how)
        count, other = self.marks.answers, self.marks.elsewhere
        for line in (self.told, self.taken):
            line.say()
        (told or self.told).say(
            ngettext("{count} answer judged.", "{count} answers judged.", count),
            ngettext(
                "{count} answer to other questions (practice) is not counted.",
                "{count} answers to other questions (practice) are not counted.",
                other,
            )
            if other
            else "",
            _("What many got wrong stands first on the class page: what to teach tomorrow."),
        )
        self._show_marks(self.marks)
        self._show_unread(self.marks)
        self._show_files(folder)

    def take(self, one: Try, means: str) -> None:
        """Take what an unreadable answer means, and mark again."""
        if not means.strip():
            raise ValueError(_("write what the answer means, or leave it"))
        school = self.desk.school
        keep_correction(school.folder.marks, correction(one.given, means), school.keeps_modes)
        self.mark(self.taken)

    def _how(self, one: SheetSet) -> How:
        worth = worth_of(self.points.value, set(one.names))
        return How(self.count.value, self.partial.value, worth, self.cells.value, self.every.value)

    def _show_marks(self, marks: Marks) -> None:
        heads = (_("Learner"), *(str(n) for n in range(1, len(marks.exercises) + 1)), _("Points"))
        rows = []
        for one in marks.roster:
            own = marks.results[one.id]
            signs = ("(✓)" if own[e.name].note else own[e.name].verdict.sign for e in marks.exercises)
            points = _("{points} of {all}", points=marks.points(one.id), all=marks.most(one.id))
            rows.append((one.name, *signs, points))
        legend = _("✓ right · (✓) right after the solution · ≈ close · ✗ not right · ? cannot be read · ○ none")
        self.seen.value = widgets.sliding_table(heads, rows) + paragraph(legend)

    def _show_unread(self, marks: Marks) -> None:
        names = {one.id: one.name for one in marks.roster}
        parts: list[Any] = [self._asks(one, names) for one in unread(marks)[:SHOWN]]
        if parts:
            told = _(
                "These answers cannot be read; they count as nothing yet. Look at the paper, or ask; write them out."
            )
            parts = [widgets.heading(_("To put right")), widgets.paragraphs(told), *parts]
        odd = [(p.file, p.line or "", names.get(p.learner, p.learner), p.text) for p in marks.problems][:SHOWN]
        if odd:
            heads = (_("File"), _("Line"), _("Learner"), _("What"))
            parts += [widgets.heading(_("Lines that need a look")), ipywidgets.HTML(widgets.sliding_table(heads, odd))]
        self.odd.children = parts

    def _asks(self, one: Try, names: dict[str, str]) -> Any:
        given = one.given
        title = bank.exercise_named(given.exercise).title
        sheet = _("sheet {code}", code=given.sheet) if given.sheet else _("on the screen")
        told = _(
            "{name}, {sheet}, {title}: {read}",
            name=names[given.learner],
            sheet=sheet,
            title=title,
            read=given.answer[:120],
        )
        box = widgets.entry(_("It means"), one.verdict.says)
        take = widgets.key(_("Take this, mark again"), self.taken.tried(lambda: self.take(one, box.value)))
        return ipywidgets.VBox([widgets.paragraphs(told), box, key_row(take)])

    def _show_files(self, folder: Path | None) -> None:
        files: list[DeskFile] = []
        if folder is not None:
            page, name = folder / "marks.html", self.desk.school.name
            files = [
                of_path(_("Look at the class page"), "look", page, first=True),
                of_path(_("Print the class page"), "print", page),
                of_path(_("Gradebook of this set"), "save", folder / "gradebook.csv", name=f"{name}-set.csv"),
                of_path(_("Gradebook of all sets"), "save", folder / "all-sets.csv", name=f"{name}-all-sets.csv"),
                of_path(_("Every answer"), "save", folder / "details.csv", name=f"{name}-answers.csv"),
            ]
        self.files.show(files)

    def parts(self) -> list[Any]:
        self.seen, self.odd, self.taken = ipywidgets.HTML(), ipywidgets.VBox(), widgets.Told()
        self.sets, self.count = widgets.dropdown(_("Set")), widgets.dropdown(_("What counts"), COUNTS)
        self.cells = widgets.dropdown(_("Between cells"), CELLS)
        self.partial = widgets.tick(_("right parts of an answer count in part"))
        self.every = widgets.tick(_("count every record of a learner (who worked on two machines)"))
        self.points = widgets.entry(_("Points (else 1)"), _("such as chamfer-length=3, inclination=2"))
        more = ipywidgets.VBox([self.count, self.partial, self.points, self.cells, self.every])
        return [
            self.sets,
            ipywidgets.Accordion([more], titles=[_("How it is marked").said()]),
            self.key(_("Mark"), self.mark, slow=True, first=True),
            self.told.widget,
            self.files,
            self.seen,
            self.taken.widget,
            self.odd,
        ]
