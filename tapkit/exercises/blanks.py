"""Answers of several parts: a plan with blanks to fill, and sliders to be set until a request is met."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from tapkit.exercises import answer
from tapkit.exercises.number import NumberAsked
from tapkit.exercises.verdict import (
    CANNOT_READ,
    CLOSE,
    MISTAKE,
    NOT_ATTEMPTED,
    WRONG,
    WRONG_KIND,
    Verdict,
    cannot_read,
    not_attempted,
    right,
)
from tapkit.messages import Listed, Number, Sentence, _, listed, ngettext, said

_GRAVEST = (CANNOT_READ, WRONG_KIND, MISTAKE, WRONG, CLOSE, NOT_ATTEMPTED)


class Blank(NamedTuple):
    """One blank: a `key` for the record, the `label` beside it, the `number` asked."""

    key: str
    label: Sentence
    number: NumberAsked


_FILL = _("Fill the blanks and press Enter.")


@dataclass(frozen=True)
class BlanksAsked:
    """A plan or a worked example with blanks, answered in order, parted by semicolons."""

    parts: tuple[Blank, ...]

    @property
    def keys(self) -> tuple[str, ...]:
        return tuple(p.key for p in self.parts)

    @property
    def how(self) -> Sentence:
        return ngettext("Fill the blank.", "Fill the {count} blanks.", len(self.parts))

    @property
    def lines(self) -> tuple[Sentence, ...]:
        return tuple(
            _("{sign}  {label}: ______ {unit}", sign=number, label=p.label, unit=p.number.unit)
            for number, p in enumerate(self.parts, start=1)
        )

    @property
    def right_text(self) -> str:
        return "; ".join(p.number.right_text for p in self.parts)

    @property
    def is_apart(self) -> bool:
        """Whether the known mistakes of every blank can be told apart."""
        return all(p.number.is_apart for p in self.parts)

    def text_of(self, values: Mapping[str, str]) -> str:
        """One answer text from the texts in the blanks."""
        return "; ".join(f"{k} = {str(values.get(k, '')).replace(';', ' ')}" for k in self.keys)

    def judge(self, text: object) -> Verdict:
        """The verdict on all blanks; its `parts` are the verdicts on each."""
        if answer.is_empty(text):
            return not_attempted(_FILL)
        try:
            given = answer.read_fields(text, self.keys)
        except answer.ReadingError as error:
            return cannot_read(error)
        parts = tuple(p.number.judge(t) for p, t in zip(self.parts, given))
        if all(v.kind == NOT_ATTEMPTED for v in parts):
            return not_attempted(_FILL)
        return self._together(parts)

    def _together(self, parts: tuple[Verdict, ...]) -> Verdict:
        good = sum(v.is_right for v in parts)
        if good == len(parts):
            return right(ngettext("That is right.", "All {count} are right.", good), parts=parts)
        number, worst = min(
            ((i, v) for i, v in enumerate(parts) if not v.is_right), key=lambda p: (_GRAVEST.index(p[1].kind), p[0])
        )
        says = _("{blank}: {verdict}", blank=self.parts[number].label, verdict=worst.says)
        if worst.kind == NOT_ATTEMPTED:
            says = _("{blank}: still empty.", blank=self.parts[number].label)
        if len(parts) > 1 and good:
            count = ngettext(
                "{count} of {all} blanks is right.", "{count} of {all} blanks are right.", good, all=len(parts)
            )
            says = _("{verdict} {count}", verdict=says, count=count)
        return Verdict(worst.kind, says, worst.mistake, parts)


class Slider(NamedTuple):
    """One slider: its `field`, which is also the key of a panel's control, its `label` with the unit, range, step
    and start."""

    field: str
    label: Sentence
    low: float
    high: float
    step: float
    start: float

    @property
    def span(self) -> Sentence:
        """The range in words."""
        return _("{low} to {high}", low=Number(self.low), high=Number(self.high))


class Request(NamedTuple):
    """One thing the setting must meet: what it `says`, whether a model has `met` it, and for a model that has
    not, the `name` of the mistake and the sentence that teaches."""

    says: Sentence
    met: Callable[[Any], bool]
    name: str
    missed: Sentence


@dataclass(frozen=True)
class SettingAsked:
    """Sliders to be set until every request is met.

    `model_from` makes the model of the slider values; `solution` one setting that meets all. `sketch` is the
    name of the drawing that follows the sliders; `preset` what else a panel must show, by the panel's keys.
    """

    sliders: tuple[Slider, ...]
    requests: tuple[Request, ...]
    model_from: Callable[[Mapping[str, float]], Any]
    solution: Mapping[str, float]
    sketch: str
    preset: Mapping[str, Any] = field(default_factory=dict)

    @property
    def keys(self) -> tuple[str, ...]:
        """The fields the sliders set."""
        return tuple(s.field for s in self.sliders)

    @property
    def start(self) -> dict[str, float]:
        """The sliders as they stand at first."""
        return {s.field: s.start for s in self.sliders}

    @property
    def how(self) -> Sentence:
        return _("Set the sliders until every request is met, then check.")

    @property
    def lines(self) -> tuple[Sentence, ...]:
        asked = [_("•  {request}", request=r.says) for r in self.requests]
        return (*asked, *(_("{slider}: ______ ({span})", slider=s.label, span=s.span) for s in self.sliders))

    @property
    def right_text(self) -> str:
        """One right answer as one types it."""
        return self.text_of(self.solution)

    @property
    def right_words(self) -> Sentence:
        return _("one setting that works: {settings}", settings=self.settings)

    @property
    def settings(self) -> Listed:
        """The sliders of that answer, one by one."""
        return listed(_("{slider} {value}", slider=s.label, value=Number(self.solution[s.field])) for s in self.sliders)

    @property
    def is_apart(self) -> bool:
        """Whether the solution meets every request and the start does not."""
        return self.judge(self.right_text).is_right and not self.judge(self.text_of(self.start)).is_right

    def text_of(self, values: Mapping[str, float]) -> str:
        """One answer text from the values of the sliders."""
        return "; ".join(f"{k} = {float(values[k]):.10g}" for k in self.keys if k in values)

    def judge(self, text: object) -> Verdict:
        """The verdict on a setting: every request is tried on the model it makes."""
        if answer.is_empty(text):
            return not_attempted(_("Set the sliders, then check."))
        try:
            given = answer.read_fields(text, self.keys)
            empty = [s.label for s, t in zip(self.sliders, given) if not t]
            if empty:
                raise answer.ReadingError(_("{slider} is missing.", slider=empty[0]))
            values = {k: answer.read_measurement(t).value for k, t in zip(self.keys, given)}
        except answer.ReadingError as error:
            return cannot_read(error)
        for slider in self.sliders:
            if not slider.low - 1e-9 <= values[slider.field] <= slider.high + 1e-9:
                return Verdict(WRONG, _("{slider} goes from {span} only.", slider=slider.label, span=slider.span))
        return self._tried(values)

    def _tried(self, values: Mapping[str, float]) -> Verdict:
        try:
            model = self.model_from(values)
        except ValueError as error:
            return Verdict(MISTAKE, _("This cannot be: {why}", why=said(error)), "impossible-setting")
        missed = [r for r in self.requests if not r.met(model)]
        if not missed:
            return right(_("That is right: every request is met."))
        met, of = len(self.requests) - len(missed), len(self.requests)
        says = missed[0].missed
        if met:
            count = ngettext("{count} of {all} requests is met.", "{count} of {all} requests are met.", met, all=of)
            says = _("{missed} ({count})", missed=says, count=count)
        return Verdict(MISTAKE, says, missed[0].name, partly=met / of)
