"""What a judge says about an answer: one of seven kinds, a sentence, and the name of the mistake if it has one."""

from dataclasses import dataclass, replace
from typing import Any

from tapkit.messages import Sentence, _, said

NOT_ATTEMPTED = "not attempted"
CANNOT_READ = "cannot read"
WRONG_KIND = "wrong kind of quantity"
MISTAKE = "a named mistake"
CLOSE = "close, mind the rounding"
WRONG = "wrong"
RIGHT = "right"

SIGNS = {NOT_ATTEMPTED: "○", CANNOT_READ: "?", WRONG_KIND: "✗", MISTAKE: "✗", CLOSE: "≈", WRONG: "✗", RIGHT: "✓"}
"""A sign beside the words, so that colour is never the only signal."""

HEADINGS = {
    NOT_ATTEMPTED: _("No answer yet"),
    CANNOT_READ: _("Try again"),
    WRONG_KIND: _("Another kind of quantity"),
    MISTAKE: _("Not right"),
    CLOSE: _("Close"),
    WRONG: _("Not right"),
    RIGHT: _("Right"),
}

THAT_IS_RIGHT = _("That is right.")


@dataclass(frozen=True)
class Verdict:
    """The verdict on one answer.

    `kind` of those above; `says` one or two sentences for the learner, never the right value; `mistake` the
    name of a known mistake; `parts` the verdicts on several blanks, in order; `partly` the share of an answer that
    is right where it has parts of another kind; `system` the units the question speaks.
    """

    kind: str
    says: Sentence | str = THAT_IS_RIGHT
    mistake: str | None = None
    parts: "tuple[Verdict, ...]" = ()
    partly: float = 0.0
    system: str = "metric"

    @property
    def message(self) -> str:
        """What it says, in the language in use and the units of the question."""
        return said(self.says, self.system)

    @property
    def is_right(self) -> bool:
        """Whether the answer is right."""
        return self.kind == RIGHT

    @property
    def credit(self) -> float:
        """How much of the answer is right, from 0 to 1, for marks that count in parts."""
        if self.is_right:
            return 1.0
        return sum(p.credit for p in self.parts) / len(self.parts) if self.parts else self.partly

    @property
    def counts(self) -> bool:
        """Whether this was a try; an empty or unreadable answer is none."""
        return self.kind not in (NOT_ATTEMPTED, CANNOT_READ)

    @property
    def sign(self) -> str:
        """The sign that stands beside the words."""
        return SIGNS[self.kind]

    @property
    def heading(self) -> str:
        """Two or three words that stand before the message."""
        return str(HEADINGS[self.kind])

    def in_system(self, system: str) -> "Verdict":
        """The verdict said in the units of a system."""
        if system == self.system:
            return self
        return replace(self, system=system, parts=tuple(p.in_system(system) for p in self.parts))


def right(says: Sentence = THAT_IS_RIGHT, **more: Any) -> Verdict:
    """The verdict on a right answer."""
    return Verdict(RIGHT, says, **more)


def not_attempted(what: Sentence = _("Type your answer and press Enter.")) -> Verdict:  # noqa: B008
    """The verdict on nothing."""
    return Verdict(NOT_ATTEMPTED, what)


def cannot_read(why: Exception | Sentence) -> Verdict:
    """The verdict on an answer that cannot be read; the sentence says what would be right."""
    return Verdict(CANNOT_READ, why.args[0] if isinstance(why, Exception) else why)
