"""Scalable pictures that move by themselves: numbers, paths, elements and keyframes as text.

Motion is CSS keyframes of `transform`, `opacity` and `d`, so it needs no script: it runs in a page, in a saved
notebook and in a picture file alike. Lengths are pixels of the picture's own frame, times are seconds.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from html import escape
from typing import Any

import numpy as np

from tapkit.messages import said

FINE = 5
"""Paths that change are written in whole fifths of a pixel, and scaled back by a fifth."""


def num(value: float, places: int = 1) -> str:
    """A number with few places and no empty digits.

    >>> num(3.0), num(-0.04), num(2.345, 2)
    ('3', '0', '2.35')
    """
    text = f"{value:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def joined(values: Iterable[int]) -> str:
    """Whole numbers as a path wants them: a minus needs no space before it.

    >>> joined([4, -2, 10])
    '4-2 10'
    """
    text = ""
    for v in values:
        text += str(v) if not text or v < 0 else f" {v}"
    return text


def fine_path(lines: Sequence[np.ndarray], closed: bool = True) -> str:
    """Lines through points in pixels, arrays (n, 2), as a path in whole fifths with relative steps."""
    out = []
    for points in lines:
        p = np.rint(np.asarray(points, float) * FINE).astype(int)
        out.append(f"M{joined(p[0])}l{joined(np.diff(p, axis=0).ravel())}{'z' if closed else ''}")
    return "".join(out)


def path(points: Any, closed: bool = False) -> str:
    """A line through points in pixels, array (n, 2), as path data."""
    p = np.asarray(points, float)
    body = "L".join(f"{num(x)} {num(y)}" for x, y in p)
    return f"M{body}{'Z' if closed else ''}"


def element(tag: str, content: str = "", **attributes: Any) -> str:
    """An element; an underscore in a name stands for a hyphen, None is left out.

    >>> element("circle", r=3, stroke_width=2, class_="dot")
    '<circle r="3" stroke-width="2" class="dot"/>'
    """
    parts = []
    for key, value in attributes.items():
        if value is None:
            continue
        value = num(value, 2) if isinstance(value, float) else str(value)
        parts.append(f' {key.rstrip("_").replace("_", "-")}="{escape(value)}"')
    body = "".join(parts)
    return f"<{tag}{body}>{content}</{tag}>" if content else f"<{tag}{body}/>"


def text(x: float, y: float, words: str, **attributes: Any) -> str:
    """A line of text at (x, y), its baseline."""
    return element("text", escape(words, quote=False), x=float(x), y=float(y), **attributes)


def window(content: str, left: float, top: float, wide: float, high: float) -> str:
    """Content cut off at a rectangle; browsers do this far quicker than a clip path."""
    box = dict(x=left, y=top, width=wide, height=high, viewBox=" ".join(num(v, 2) for v in (left, top, wide, high)))
    fixed = f"width:{num(wide, 2)}px;height:{num(high, 2)}px"  # whatever a page says about pictures
    return element("svg", content, style=fixed, **box)


class SvgSheet:
    """The style sheet of one picture: rules and keyframes, each written once.

    Names carry a short tag, so that several pictures in one page keep out of each other's way. `moving` False leaves
    all motion out: what remains is each class as it looks in the still picture. `system` of units of its words.
    """

    def __init__(self, tag: str, moving: bool = True, system: str = "metric") -> None:
        self.tag, self.moving, self.system = tag, moving, system
        self._rules: dict[str, None] = {}
        self._calm: dict[str, None] = {}
        self._frames: dict[str, str] = {}

    def said(self, words: Any) -> str:
        """A sentence or quantity as text, in the units of this picture."""
        return said(words, self.system)

    def rule(self, text: str) -> None:
        """Add a rule as it stands."""
        self._rules[text] = None

    def calm(self, text: str) -> None:
        """Add a rule for whoever asks for less motion."""
        self._calm[text] = None

    def keyframes(self, stops: Sequence[tuple[float, str]]) -> str:
        """Name of the keyframes with these stops: (share of the time 0 to 1, declarations)."""
        body = "".join(f"{num(100 * share, 2)}%{{{what}}}" for share, what in stops)
        if body not in self._frames:
            self._frames[body] = f"{self.tag}{len(self._frames)}"
        return self._frames[body]

    def animate(self, name: str, still: str, stops: Sequence[tuple[float, str]], seconds: float) -> str:
        """A class that runs through the stops again and again; `still` its declarations at rest. Returns the class."""
        name = self.tag + name
        run = f"animation:{self.keyframes(stops)} {num(seconds, 3)}s linear infinite" if self.moving else ""
        self.rule(f".{name}{{{still};{run}}}")
        return name

    def text(self) -> str:
        """Everything as one style sheet; whoever asks for less motion gets the still picture."""
        frames = "".join(f"@keyframes {name}{{{body}}}" for body, name in self._frames.items())
        if not frames:
            return "".join(self._rules)
        whole = f".{self.tag}{{will-change:contents}}"  # all in one layer: a layer for each chip costs much more
        calm = f".{self.tag} *{{animation-name:none!important}}" + "".join(self._calm)
        return whole + "".join(self._rules) + frames + f"@media(prefers-reduced-motion:reduce){{{calm}}}"


def tag_of(*what: Any) -> str:
    """A short name that is the same for the same picture: a letter and six hexadecimal digits."""
    return "k" + hashlib.sha256(repr(what).encode()).hexdigest()[:6]
