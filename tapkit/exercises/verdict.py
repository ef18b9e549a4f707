"""What a judge says about an answer: one of seven kinds, a sentence, and the name of the mistake if it has one."""

from __future__ import annotations

from dataclasses import dataclass

NOT_ATTEMPTED = "not attempted"
CANNOT_READ = "cannot read"
WRONG_KIND = "wrong kind of quantity"
MISTAKE = "a named mistake"
CLOSE = "close, mind the rounding"
WRONG = "wrong"
RIGHT = "right"

KINDS = (NOT_ATTEMPTED, CANNOT_READ, WRONG_KIND, MISTAKE, CLOSE, WRONG, RIGHT)

SIGNS = {NOT_ATTEMPTED: "○", CANNOT_READ: "?", WRONG_KIND: "✗", MISTAKE: "✗", CLOSE: "≈", WRONG: "✗", RIGHT: "✓"}
"""A sign beside the words, so that colour is never the only signal."""

HEADINGS = {
    NOT_ATTEMPTED: "No answer yet",
    CANNOT_READ: "Try again",
    WRONG_KIND: "Another kind of quantity",
    MISTAKE: "Not right",
    CLOSE: "Close",
    WRONG: "Not right",
    RIGHT: "Right",
}


@dataclass(frozen=True)
class Verdict:
    """The verdict on one answer.

    `kind` is one of `KINDS`; `message` one or two sentences for the learner, never the right value;
    `mistake` the name of a known mistake; `parts` the verdicts on several blanks, in order.
    """

    kind: str
    message: str
    mistake: str | None = None
    parts: tuple[Verdict, ...] = ()

    @property
    def is_right(self) -> bool:
        """Whether the answer is right."""
        return self.kind == RIGHT

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
        return HEADINGS[self.kind]


def not_attempted(what: str = "Type your answer and press Enter.") -> Verdict:
    """The verdict on nothing."""
    return Verdict(NOT_ATTEMPTED, what)


def cannot_read(error: Exception | str) -> Verdict:
    """The verdict on an answer that cannot be read; the sentence says what would be right."""
    said = str(error)
    return Verdict(CANNOT_READ, said[:1].upper() + said[1:] + ("" if said.endswith(".") else "."))
