"""Answers that are names: a drawn tap, or a short word such as a drill of a set."""

import re
from dataclasses import dataclass
from typing import NamedTuple

from tapkit import door
from tapkit.exercises import answer
from tapkit.exercises.verdict import MISTAKE, WRONG, Verdict, cannot_read, not_attempted, right
from tapkit.geometry.fluteform import flute_forms, form_of
from tapkit.geometry.tap import Tap
from tapkit.geometry.tapname import chamfer_name, din_form
from tapkit.messages import Sentence, _, listed


@dataclass(frozen=True)
class TapAsked:
    """The name of a tap that is drawn: flutes and chamfer, and the thread too where `with_thread`."""

    tap: Tap
    with_thread: bool = False

    @property
    def how(self) -> Sentence:
        if self.with_thread:
            return _("Type the thread, the kind of flutes and the word for the chamfer.")
        return _("Type the kind of flutes and the word for the chamfer.")

    @property
    def right_text(self) -> str:
        return (f"{self.tap.thread.designation} " if self.with_thread else "") + self.tap.name

    @property
    def right_words(self) -> Sentence:
        """The right answer in words, with the British word and the DIN 2197 letter."""
        british = _("British workshop word for the chamfer: {word}", word=self.tap.british_name)
        if not self.tap.din_form:
            return _("{name} ({british})", name=self.right_text, british=british)
        return _(
            "{name} ({british}; DIN 2197 form {letter})",
            name=self.right_text,
            british=british,
            letter=self.tap.din_form,
        )

    def judge(self, text: object) -> Verdict:
        """The verdict on a tap's name: flutes first, then chamfer, then thread."""
        if answer.is_empty(text):
            return not_attempted(_("Type the name of the tap and press Enter."))
        try:
            named = answer.read_tap(text)
        except answer.ReadingError as error:
            return cannot_read(error)
        if named.letter is not None:
            return self._letter(named)
        if named.form is None:
            kinds = listed((form.name(self.tap.thread.hand) for form in flute_forms()), "or")
            return cannot_read(_("The kind of flutes is missing: {kinds}.", kinds=kinds))
        if named.chamfer is None:
            return cannot_read(_("The chamfer is missing: taper, plug, semi-bottoming or bottoming."))
        if self.with_thread and named.thread is None:
            return cannot_read(_("The thread is missing: write it like M30x3.5."))
        return self._flutes(named) or self._chamfer(named) or self._thread(named) or right()

    def _letter(self, named: answer.NamedTap) -> Verdict:
        letter = din_form(self.tap.chamfer_threads, self.tap.flute_form)
        if named.letter != letter:
            says = _("That letter of DIN 2197 does not go with these flutes and this chamfer.")
            return Verdict(MISTAKE, says, "wrong-din-letter")
        if named.form not in (None, self.tap.flute_form):
            return self._flutes(named) or Verdict(WRONG, _("Look at the flutes again."))
        return self._thread(named) or right()

    def _flutes(self, named: answer.NamedTap) -> Verdict | None:
        if named.form is None or named.form == self.tap.flute_form:
            return None
        given, asked = form_of(named.form), self.tap.form
        helical, ground_back = given.is_helical + asked.is_helical, given.is_ground_back or asked.is_ground_back
        if not helical:
            says = _("Look at the face near the point: is it ground back at an angle there, or straight to the end?")
            return Verdict(MISTAKE, says, "spiral-point-or-straight")
        if helical == 1 and ground_back:
            says = _("A spiral point has straight flutes. A spiral flute winds around the whole tap.")
            return Verdict(MISTAKE, says, "spiral-point-or-spiral-flute")
        if helical == 2:
            says = _("Look which way the flutes wind: with the thread or against it.")
            return Verdict(MISTAKE, says, "hand-of-the-flutes")
        return Verdict(MISTAKE, _("Look at the flutes again: do they run straight or wind?"), "wrong-flutes")

    def _chamfer(self, named: answer.NamedTap) -> Verdict | None:
        length = named.chamfer
        word = length if isinstance(length, str) else chamfer_name(length)
        if word == self.tap.chamfer_name:
            return None
        if word == "plug" and self.tap.chamfer_name == "bottoming":
            says = _(
                "In a British workshop plug is the shortest chamfer. The US words are asked here: count the threads."
            )
            return Verdict(MISTAKE, says, "british-plug")
        return Verdict(
            MISTAKE, _("The flutes are right. Count the threads on the chamfer again."), "wrong-chamfer-word"
        )

    def _thread(self, named: answer.NamedTap) -> Verdict | None:
        if not self.with_thread or named.thread is None:
            return None
        asked, given = self.tap.thread, named.thread
        if abs(given.major - asked.major) > 1e-6:
            return Verdict(MISTAKE, _("The tap is right, its diameter is not."), "wrong-diameter")
        if abs(given.pitch - asked.pitch) > 1e-6:
            says = _(
                "The tap and its diameter are right. Look at the pitch again: without one, the coarse thread is meant."
            )
            return Verdict(MISTAKE, says, "wrong-pitch")
        if given.hand != asked.hand:
            return Verdict(MISTAKE, _("Look at the hand of the thread again."), "wrong-hand")
        return None


class WrongWord(NamedTuple):
    """A known wrong word: the `name` of the mistake, its `spellings`, the sentence that teaches."""

    name: str
    spellings: tuple[str, ...]
    says: Sentence


@dataclass(frozen=True)
class WordAsked:
    """A short name to be typed, such as a drill of a set. `spellings` are all right; the first is printed."""

    spellings: tuple[str, ...]
    asks: Sentence
    mistakes: tuple[WrongWord, ...] = ()
    unknown: Sentence = _("Look it up again.")  # noqa: RUF009

    @property
    def how(self) -> Sentence:
        return self.asks

    @property
    def right_text(self) -> str:
        return self.spellings[0]

    @property
    def is_apart(self) -> bool:
        """Whether no spelling belongs to two answers."""
        keys = [{_key(s) for s in many} for many in (self.spellings, *(m.spellings for m in self.mistakes))]
        return sum(len(k) for k in keys) == len(set().union(*keys))

    def judge(self, text: object) -> Verdict:
        """The verdict on a word; case, blanks and hyphens do not matter."""
        if answer.is_empty(text):
            return not_attempted()
        try:
            given = _key(answer.tidy(text))
        except answer.ReadingError as error:
            return cannot_read(error)
        if not given:
            return cannot_read(_("There is no word in {text}.", text=answer.typed_shown(text)))
        if given in {_key(s) for s in self.spellings}:
            return right()
        for wrong in self.mistakes:
            if given in {_key(s) for s in wrong.spellings}:
                return Verdict(MISTAKE, wrong.says, wrong.name)
        return Verdict(WRONG, self.unknown)


_BESIDE = re.compile(r"(?<![a-z])(?:number|letter|drill|size|inch|no|mm|in)(?![a-z])|[\"#ø]")


def _key(text: str) -> str:
    """Letters, digits, points and slashes only, in one case; words that only say what kind of name it is left out.

    >>> _key("No. 7") == _key("#7") == _key("number 7"), _key(" 27/64 in"), _key("8,5mm")
    (True, '27/64', '8.5')
    """
    plain = door.plain(text).casefold().replace(",", ".")
    kept = _BESIDE.sub(" ", plain)
    kept = kept if any(c.isalnum() for c in kept) else plain
    return "".join(c for c in kept if c.isalnum() or c in "./").strip(".")
