"""A set-up as one line under every panel: to copy, to paste, to save and take up again; and the taps of one's drawer.

The line shows what the panel shows. A line put in its place replaces the whole state at once, or is refused in one
sentence and stays in the box. Lines are saved in a plain file beside the workbook, taps lie in the drawer's.
"""

import contextlib
import os
import re
import weakref
from collections.abc import Callable
from pathlib import Path
from typing import Any

import anywidget
import traitlets

from tapkit import drawer, setupline
from tapkit.exercises import me
from tapkit.messages import Sentence, _, said
from tapkit.operation import Operation
from tapkit.panels.script import script
from tapkit.parameters import job_from

KEPT = "my-set-ups.csv"
"""File of saved lines, beside the workbook."""


OF_CLASS = "drawer.csv"
"""File of a class's drawer, in its room."""
NOTED = "my-drawer.txt"
"""File that names another drawer, as one that a shop shares, beside the workbook."""


def drawer_file() -> Path:
    """The drawer that pickers offer: that of TAPKIT_DRAWER, which a class or a shop may share, or the one chosen with
    `use_drawer`, or one's own beside the workbook."""
    noted = Path(NOTED).read_text("utf-8").strip() if Path(NOTED).is_file() else ""
    return Path(os.environ.get("TAPKIT_DRAWER") or noted or "my-taps.csv")


def class_drawer() -> Path | None:
    """The drawer.csv an instructor has laid into the room of the class, on a hub or in a folder the class shares; None
    where there is none, or where the drawer is that file anyhow."""
    room, shared = os.environ.get("TAPKIT_ROOM"), me.class_folder()
    places = [*([Path(room)] if room else []), *([shared / "room", shared] if shared else [])]
    found = next((place / OF_CLASS for place in places if (place / OF_CLASS).is_file()), None)
    return None if found is None or found.resolve() == drawer_file().resolve() else found


def use_drawer(text: str) -> Path:
    """Take another file as the drawer, in every workbook of this folder; ValueError where its folder is not there."""
    place = Path(text.strip().strip('"') or "my-taps.csv").expanduser()
    if os.environ.get("TAPKIT_DRAWER"):
        raise ValueError(_("the drawer is set for this class or shop: {file}", file=os.environ["TAPKIT_DRAWER"]))
    if not place.parent.is_dir() or place.is_dir():
        raise ValueError(_("{file} is no file in a folder that is there; write one like my-taps.csv", file=str(place)))
    Path(NOTED).write_text(f"{place}\n", "utf-8")
    look_everywhere()
    return place


def drawer_taps() -> dict[str, drawer.OwnTap]:
    """The taps of the class's drawer and of one's own by name, one's own first where a name stands in both; none of a
    file that cannot be read."""
    found: dict[str, drawer.OwnTap] = {}
    for file in filter(None, (class_drawer(), drawer_file())):
        with contextlib.suppress(ValueError):
            found |= drawer.contents(file).taps
    return found


class SetUpBox(anywidget.AnyWidget):
    """The box. `take(job, keys)` shows a job in the panel, `keys` those its line says; ValueError where it cannot."""

    _esm = script("setupbox.js")
    line = traitlets.Unicode("").tag(sync=True)
    told = traitlets.Unicode("").tag(sync=True)
    kept = traitlets.List(traitlets.Unicode()).tag(sync=True)
    taps = traitlets.List(traitlets.Unicode()).tag(sync=True)
    words = traitlets.Dict().tag(sync=True)

    def __init__(self, take: Callable[[Operation, frozenset[str]], Sentence | None], **more: Any) -> None:
        self._take, self.system, self._job = take, "metric", None
        super().__init__(words={key: sentence.said() for key, sentence in WORDS.items()}, **more)
        self.look()
        BOXES.add(self)
        self.on_msg(lambda widget, content, buffers: self.hear(content))

    def show(self, job: Operation | None, system: str) -> None:
        self.system, self._job = system, job
        text = "" if job is None else setupline.Line(job).said(system)
        if text != self.line:
            self.line, self.told = text, ""

    def hear(self, content: dict[str, Any]) -> None:
        """What the page asks: a `line` to take, a `tap` of the drawer, to `keep` the line, or to `look` anew."""
        try:
            if "look" in content:
                return look_everywhere()
            if "line" in content:
                told = self._take_line(str(content["line"]))
            elif "tap" in content:
                told = self._take_tap(str(content["tap"]))
            elif "keep" in content:
                setupline.keep(KEPT, self.line)
                told = _("Saved in {file}.", file=KEPT)
            else:
                told = None
            look_everywhere()
        except ValueError as error:
            told = _("{error}.", error=error.args[0])
        self.told = "" if told is None else said(told, self.system)

    def _take_line(self, text: str) -> Sentence | None:
        keys = frozenset(setupline.values(text, self.system))
        return self._take(setupline.parse(text, self.system), keys)

    def _take_tap(self, name: str) -> Sentence | None:
        own = drawer_taps().get(name)
        if own is None:
            raise ValueError(_("there is no tap {name} in the drawer any more", name=repr(name)))
        return self._take(with_own_tap(self._job, own), frozenset(own.values))

    def look(self) -> None:
        """What is saved, and what lies in the drawer."""
        self.kept, self.taps = list(setupline.kept(KEPT))[:40], list(drawer_taps())


BOXES: weakref.WeakSet[SetUpBox] = weakref.WeakSet()
"""Every box of this kernel."""


def look_everywhere() -> None:
    """Let every box look anew at what is saved and what lies in the drawer."""
    for box in list(BOXES):
        box.look()


def with_own_tap(job: Operation | None, own: drawer.OwnTap) -> Operation:
    """A job with a tap of the drawer in the place of its own; another thread makes the hole usual again."""
    before = {} if job is None else setupline.values_of(job)
    kept = {key: before[key] for key in ("work", "kind", "fluid", "speed", "holder") if key in before}
    if job is not None and job.tap.thread == own.tap.thread:
        kept |= {key: before[key] for key in ("hole", "depth")}
    return job_from(kept | dict(own.values))


WORDS = {
    "name": _("The set-up as one line"),
    "hint": _("paste a set-up here"),
    "copy": _("Copy"),
    "copied": _("Copied"),
    "keep": _("Save"),
    "kept": _("Saved set-ups"),
    "taps": _("From my drawer"),
    "help": _("What this panel shows, in one line. Paste another one, or change it, and press Enter."),
}


def control_values(job: Operation) -> dict[str, Any]:
    """A job by the keys of panels' controls, those that plan a hole among them; ValueError for more lost teeth than a
    control can say."""
    found = _plan_values(job) | setupline.values_of(job)
    lost = sorted(found.pop("missing"))
    if len(lost) > 1:
        raise ValueError(_("a panel shows one lost tooth; name one of {teeth}", teeth=", ".join(map(str, lost))))
    return found | {"missing": lost[0] if lost else 0}


def _plan_values(job: Operation) -> dict[str, Any]:
    hole, tap, pitch = job.hole, job.tap, job.tap.thread.pitch
    full = hole.full_thread(pitch, tap.chamfer_length)
    full = full if hole.is_through else max(full, pitch)
    named = tap.chamfer_name
    return dict(
        deep=full,
        full=full,
        thickness=hole.depth if hole.is_through else hole.depth + tap.thread.major,
        spare=tap.thread.major,
        percent=tap.thread.percent(hole.diameter),
        name=named,
        point=hole.drill_angle,
        drill=hole.drill_angle,
        long=tap.chamfer_threads,
        machine={"hand": "hand", "float": "drill press"}.get(job.holder, "rigid"),
    )


def _items(line: str) -> set[str]:
    return set(re.split(r" \| |, ", line))


def describe_left_out(job: Operation, shown: Operation | None, system: str) -> Sentence | None:
    """A sentence where a panel shows another job than the one it was given."""
    given = setupline.line(job, system)
    told = set() if shown is None else _items(setupline.line(shown, system))
    if _items(given) <= told:
        return None
    return _("This panel has no place for all of “{given}”; what it shows stands in the line.", given=given)
