"""Panels: sliders, one picture and one sentence; they connect and compute nothing.

A workbook cell is one line, such as `panels.load()`. Each name below is loaded only when it is asked for.
"""

from __future__ import annotations

import importlib
import sys
from types import ModuleType
from typing import Any

PLACES = {
    "load": "load",
    "tip": "tip",
    "chips": "chips",
    "groove": "groove",
    "section": "section",
    "hole": "hole",
    "answers": "answers",
    "bench": "bench",
    "sayings": "sayings",
    "drills": "drills",
    "holeplan": "holeplan",
    "choice": "choice",
    "five_choices": "fivechoices",
    "cycle": "cycle",
    "setup_card": "setupcard",
    "diagnosis": "diagnosis",
    "quiz": "quiz",
    "worked": "quiz",
    "faded": "quiz",
    "exercises": "quiz",
    "practice": "quiz",
    "my_page": "mypage",
    "tally": "tally",
    "room": "tally",
    "formula": "text",
    "glossary": "text",
    "chamfer_words": "text",
    "cautions": "text",
    "plate": "text",
}
"""Public name: module of this package that has it."""


class _Panels(ModuleType):
    """This package: loading the module `load` must not hide the function `load` that it holds."""

    def __setattr__(self, name: str, value: Any) -> None:
        if not (name in PLACES and isinstance(value, ModuleType)):
            super().__setattr__(name, value)


sys.modules[__name__].__class__ = _Panels


def __getattr__(name: str) -> Any:
    if name not in PLACES:
        raise AttributeError(f"tapkit.panels has no {name!r}; it has {', '.join(sorted(PLACES))}")
    return getattr(importlib.import_module(f"{__name__}.{PLACES[name]}"), name)


def __dir__() -> list[str]:
    return sorted(PLACES)
