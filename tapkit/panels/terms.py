"""Words on the spot: the terms of the glossary marked in a text, and the list that says what they mean.

The list stands in the workbook as plain HTML. Where a panel lives, the page shows a term's meaning and picture on
hover, focus and touch (`inpage.js`); in a saved or exported workbook style alone does it; on paper the list is printed.
"""

import io
import re
from base64 import b64encode
from collections.abc import Sequence
from functools import cache, lru_cache
from typing import NamedTuple

from IPython.display import HTML, display
from markupsafe import Markup, escape

from tapkit import tables
from tapkit.exercises.lessons import lesson
from tapkit.messages import _, catalogue, of_table, said
from tapkit.panels.markup import bold, joined, tag
from tapkit.panels.text import CSS

WIDE = 480
"""Width of a picture beside its word [dots]; colours are cut to `COLOURS`."""
COLOURS = 32

LOOK = """
.tk-term, a[href*="glossary.ipynb#"], a[data-commandlinker-args*="glossary.ipynb"] {text-decoration: underline dotted;
  text-underline-offset: 3px}
.tk-term {cursor: help; border-radius: 2px}
.tk-term:focus-visible {outline: 2px solid #1f5fa8; outline-offset: 2px}
.tk-text dl.tk-words, .tk-words > div {display: block; margin: 0 0 .35em; max-width: 56em}
.tk-text .tk-words :is(dt, dd) {display: inline; float: none; margin: 0 .6em 0 0; padding: 0; font-weight: 600}
.tk-text .tk-words dd {font-weight: 400}
.tk-text .tk-words .tk-more {display: none}
#tapkit-word {position: fixed; z-index: 20000; width: min(23em, 92vw); box-sizing: border-box; padding: .6em .8em;
  color: #1a1f24; background: #fff; border: 1px solid #4d5865; border-radius: 4px; font: 15px/1.4 sans-serif;
  box-shadow: 0 3px 12px #0003}
#tapkit-word dt {font-weight: 600}
#tapkit-word dd {margin: 0}
#tapkit-word .tk-picture {background: #fff no-repeat center/contain; margin-top: .5em; max-height: 40vh}
body:not(.tapkit-live) :is(.tk-term, a[href*="glossary.ipynb#"]) {position: relative}
body:not(.tapkit-live) :is(.tk-term, a[href*="glossary.ipynb#"]):is(:hover, :focus)::after {position: absolute; left: 0;
  top: 1.5em; z-index: 9; width: 23em; padding: .6em .8em var(--tk-high, .6em); color: #1a1f24;
  border: 1px solid #4d5865; background: #fff no-repeat 50% calc(100% - .5em)/calc(100% - 1.6em) auto;
  font: 15px/1.4 sans-serif; text-indent: 0}
@media print {.tk-term, a[href*="glossary.ipynb"] {text-decoration: none}}
"""


class Term(NamedTuple):
    """A term as it is said, its meaning, the key its links carry, and the name of its picture ("" for none)."""

    key: str
    said: str
    meaning: str
    picture: str


def terms() -> tuple[Term, ...]:
    """The terms of the glossary in the language in use."""
    return _terms(catalogue())


@lru_cache(maxsize=4)
def _terms(language: object) -> tuple[Term, ...]:
    return tuple(
        Term(r["term"].replace(" ", "-"), said(of_table(r["term"])), said(of_table(r["meaning"])), r["picture"])
        for r in tables.rows("glossary")
    )


def marked(text: str) -> Markup:
    """HTML of a sentence, each term in it marked where it stands first.

    >>> str(marked("The chamfer is a cone."))[:62]
    'The <span class="tk-term" tabindex="0" data-word="chamfer">cha'
    """
    known = {_spaced(one.said): one.key for one in terms()}
    seen: set[str] = set()

    def mark(found: re.Match[str]) -> str:
        key = known[_spaced(found[1])]
        if key in seen:
            return found[0]
        seen.add(key)
        return tag("span", Markup(found[0]), class_="tk-term", tabindex=0, data_word=key)

    return Markup(_pattern(tuple(known)).sub(mark, escape(text)))


def _spaced(word: str) -> str:
    return word.lower().replace("-", " ")


@cache
def _pattern(known: tuple[str, ...]) -> re.Pattern[str]:
    longest = sorted(known, key=len, reverse=True)
    spelled = "|".join(re.escape(one).replace(r"\ ", "[ -]") for one in longest)
    return re.compile(rf"(?<![\w-])({spelled})s?(?![\w-])", re.IGNORECASE)


def lesson_words(number: int | None = None) -> None:
    """Show the words of a lesson, and bring the meaning of all terms into the workbook; without a number only that."""
    own = lesson(number).words if number is not None else ()
    look = tag("style", Markup(LOOK + _pictures() + _without_script()))
    display(HTML(joined([CSS, look, _list(own)])))


def _list(own: Sequence[str]) -> Markup:
    keys = [word.replace(" ", "-") for word in own]
    rows = sorted(terms(), key=lambda one: keys.index(one.key) if one.key in keys else len(keys))
    told = (
        tag("div", tag("dt", one.said), tag("dd", one.meaning), data_word=one.key, data_picture=one.picture,
            class_="" if one.key in keys else "tk-more")
        for one in rows
    )  # fmt: skip
    title = [bold(_("Words of this lesson"))] if keys else []
    return tag("div", *title, tag("dl", *told, class_="tk-words"), class_="tk-text")


class Small(NamedTuple):
    """A plate made small: its data URI, and its height for each dot of width."""

    uri: str
    ratio: float


@cache
def small(name: str) -> Small:
    """A plate of figures/ small enough to stand beside a word."""
    from PIL import Image

    from tapkit.drawing.plates import plate_png

    picture = Image.open(io.BytesIO(plate_png(name))).convert("RGB")
    ratio = picture.height / picture.width
    size = (WIDE, round(WIDE * ratio))
    data = io.BytesIO()
    picture.resize(size, Image.Resampling.LANCZOS).quantize(COLOURS, method=Image.Quantize.FASTOCTREE).save(data, "PNG")
    return Small(f"data:image/png;base64,{b64encode(data.getvalue()).decode()}", ratio)


def _pictures() -> str:
    """Every picture once, as a variable of the style, and its shape."""
    names = dict.fromkeys(one.picture for one in terms() if one.picture)
    shown = "".join(f"--tk-{name}: url({small(name).uri}); " for name in names)
    shapes = "".join(
        f'#tapkit-word .tk-picture[data-picture="{name}"] {{background-image: var(--tk-{name}); '
        f"aspect-ratio: {1 / small(name).ratio:.4f}}}\n"
        for name in names
    )
    return f":root {{{shown}}}\n{shapes}"


def _without_script() -> str:
    """Meaning and picture of each term by style alone, where nothing lives in the page."""
    rules = []
    for one in terms():
        where = f'.tk-term[data-word="{one.key}"], a[href*="glossary.ipynb#{one.key}"]'
        text = re.sub(r'["\\\n]', lambda m: f"\\{ord(m[0]):x} ", one.meaning).replace("<", r"\3c ")
        look = f'content: "{text}"'
        if one.picture:
            high = small(one.picture).ratio * 23 + 1.2  # as wide as the text, and a little free above and below
            look += f"; background-image: var(--tk-{one.picture}); --tk-high: {high:.1f}em"
        rules.append(f"body:not(.tapkit-live) :is({where}):is(:hover, :focus)::after {{{look}}}")
    return "\n".join(rules)
