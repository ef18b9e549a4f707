"""Looks after every order of moves: a panel is played at random, and after each move no text of its pictures leaves its
drawing, covers another or is small, and nothing filled runs off its drawing unsaid.

The long form: TAPKIT_SEQUENCES=n sequences a panel, from TAPKIT_SEED=k on, of TAPKIT_PANELS=name,name.
"""

import os
import random

import numpy as np
import pytest
from drawn import clashes, texts
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from moving import any_move, type_in

from tapkit import panels
from tapkit.drawing import style
from tapkit.panels.stage import DPI, Stage
from tapkit.parameters import Parameter

NAMES = [
    "wrench",
    "askew",
    "lean",
    "thread_strength",
    "load",
    "groove",
    "section",
    "hole",
    "drills",
    "holeplan",
    "choice",
    "cycle",
    "setup_card",
    "diagnosis",
    "sayings",
    "measured_torque",
    "all_ways",
    "bench",
    "tip",
    "chips",
]
SLOW = ("tip", "chips", "choice", "all_ways", "diagnosis")
"""Shaded taps, and plans that try many taps: fewer sequences."""
SEQUENCES, SEED = (int(os.environ.get(f"TAPKIT_{name}", usual)) for name, usual in (("SEQUENCES", "4"), ("SEED", "0")))
STEPS = 8
LONG = ("X5CrNi18-10", "1 1/2-6 UNC-LH", "M64x6-LH", "#0-80 UNF", "M1.6x0.35")


BARS = {*style.FLUTES, style.WARN, style.GOOD, style.STEEL_DARK}


class Played:
    """A panel, its moves by name, and its pictures."""

    def __init__(self, name: str) -> None:
        self.name, self.panel = name, getattr(panels, name)()
        self.sides = getattr(self.panel, "sides", {"": getattr(self.panel, "controls", None)})
        self.controls = [*self.sides.values(), *([self.panel.sweep] if hasattr(self.panel, "sweep") else [])]
        self.is_round = not hasattr(self.panel.stage, "figure")

    def move(self, dice: random.Random) -> str:
        """One move at random, in words."""
        chance, panel, one = dice.random(), self.panel, dice.choice(self.controls)
        if chance < 0.06:
            panel.reset()
            return "reset"
        if chance < 0.14:
            panel.set_system(system := dice.choice(["metric", "inch"]))
            return system
        if chance < 0.18:
            panel.set_size(size := dice.choice(["laptop", "projector"]))
            return size
        if chance < 0.26 and hasattr(panel, "swap"):
            dice.choice([panel.swap, lambda: panel.copy("A", "B"), lambda: panel.copy("B", "A")])()
            return "swapped or copied"
        if chance < 0.40:
            return self.far(dice, one)
        any_move(one, key := dice.choice(list(one._by_key)), dice)
        return f"{key} = {getattr(one.values, key)}"

    def far(self, dice: random.Random, one) -> str:
        """Six flutes, a long word, an end of a slider."""
        typed = [("flutes", "6"), *(("work" if "Cr" in text else "thread", text) for text in LONG)]
        typed = [(key, text) for key, text in typed if key in one._by_key]
        ends = [key for key, c in one._by_key.items() if isinstance(c, Parameter)]
        if typed and (not ends or dice.random() < 0.6):
            type_in(one, *(chosen := dice.choice(typed)))
            return "{} = {}".format(*chosen)
        if not ends:
            return "nothing"
        key = dice.choice(ends)
        one.hear({"key": key, "position": dice.choice([0, 10**6]), "from": ["test", 1]})
        return f"{key} at its end, {getattr(one.values, key)}"

    def figures(self):
        """The pictures as they stand now."""
        if not self.is_round:
            return [stage.figure for stage in (self.panel.stage, getattr(self.panel, "chart", None)) if stage]
        width, height = self.panel.stage.size
        figure = Figure(figsize=(width / DPI, height / DPI), dpi=DPI)
        FigureCanvasAgg(figure)
        self.panel.spec.draw(figure, self.panel.model, self.panel.system)
        return [figure]

    def wrong(self) -> list[str]:
        """What is wrong with the looks now."""
        problem = str(self.panel.problem)
        found = [problem] if "cannot show that" in problem or (self.panel.problem and len(problem) <= 20) else []
        for figure in self.figures():
            for ax in figure.axes:
                slack = 1.5 * figure.dpi / DPI
                found += clashes(ax, slack)
                found += [f"{t.get_text()!r} is small" for t in texts(ax) if t.get_fontsize() < style.SMALL]
                found += off_the_sheet(ax)
            found += across(figure)
        return found


def off_the_sheet(ax) -> list[str]:
    """Bars that the frame cuts off: what is filled in the colours of bars, [pt] on the sheet."""
    width, height = (float(v) for v in ax.bbox.size / ax.figure.dpi * 72)
    found = []
    for patch in ax.patches:
        _fill, colour, *_z = (str(patch.get_label()) + "  ").split(" ")
        if _fill == "fill" and colour in BARS and patch.get_visible():
            low, high = patch.get_path().vertices.min(axis=0), patch.get_path().vertices.max(axis=0)
            if (low < -2).any() or (high > (width + 2, height + 2)).any():
                found.append(f"a fill in {colour} runs off the sheet: {low.round(1)} to {high.round(1)}")
    return found


def across(figure) -> list[str]:
    """Texts of one axes over those of another."""
    found, renderer = [], figure.canvas.get_renderer()
    boxes = [[(t.get_text(), np.array(t.get_window_extent(renderer).extents)) for t in texts(ax)] for ax in figure.axes]
    for k, mine in enumerate(boxes):
        for others in boxes[k + 1 :]:
            for name, a in mine:
                for other, b in others:
                    if (np.minimum(a[2:], b[2:]) - np.maximum(a[:2], b[:2]) > 1.5).all():
                        found.append(f"{name!r} overlaps {other!r} of the picture beside it")
    return found


@pytest.mark.parametrize("name", NAMES)
def test_after_every_move_all_can_be_read(name, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(Stage, "_compose", lambda stage: np.zeros((1, 1, 4), np.uint8))
    played, wrong, states = Played(name), [], 0
    for seed in range(SEED, SEED + max(1, SEQUENCES // (4 if name in SLOW else 1))):
        dice, told = random.Random(f"{name} {seed}"), [f"seed {seed}"]
        played.panel.set_system("metric")
        played.panel.reset()
        for _ in range(STEPS):
            told.append(played.move(dice))
            if found := played.wrong():
                wrong.append((told[:], found))
                break
            states += 1
    print(name, states, "states")
    assert not wrong, f"{len(wrong)} sequences, the first:\n" + "\n".join(map(str, wrong[:8]))
