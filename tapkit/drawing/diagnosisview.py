"""What broke my tap: every cause against every clue, and what the model says of it, in one table."""

from tapkit.drawing import style
from tapkit.drawing.pen import Box, Pen, drawn
from tapkit.messages import _, pgettext
from tapkit.planning.diagnosis import CLUE_WORDS, CLUES, Diagnosis, Finding
from tapkit.planning.faultrun import ALONE, NO, PERHAPS, UNKNOWN, YES

NAMES, COULD = 214.0, 118.0
"""Width of the causes' names at the left, and of the model's answer at the right [pt]."""

ANSWERS = {
    YES: ("✓", _("could have"), style.GOOD),
    PERHAPS: ("~", _("perhaps"), style.INK),
    UNKNOWN: ("?", _("cannot tell"), style.SOFT_INK),
    ALONE: ("–", _("not by this alone"), style.SOFT_INK),
    NO: ("✗", pgettext("the model says", "no"), style.WARN),
}
"""Sign, words and colour of what the model says."""


@drawn()
def draw_diagnosis(pen: Pen, diagnosis: Diagnosis) -> None:
    """The table of causes, those that fit best at the top."""
    findings = diagnosis.findings
    head = 36.0
    tall = (pen.height - head - 4) / len(findings)
    wide = (pen.width - NAMES - COULD - 8) / len(CLUES)
    _heads(pen, diagnosis, pen.height - head, wide)
    for i, finding in enumerate(findings):
        top = pen.height - head - i * tall
        _row(pen, finding, diagnosis, Box(4, top - tall, pen.width - 4, top), wide)


def _heads(pen: Pen, diagnosis: Diagnosis, y: float, wide: float) -> None:
    pen.text(8, y + 5, _("Cause"), bold=True)
    for k, clue in enumerate(CLUES):
        x = NAMES + (k + 0.5) * wide
        looked = clue in diagnosis.seen.given
        pen.text(x, y + 5, CLUE_WORDS[clue], ha="center", bold=looked, size=style.SMALL)
        if looked:
            pen.text(x, y + 20, _("seen"), ha="center", size=style.SMALL, colour=style.ACCENT)
    pen.text(pen.width - COULD + 4, y + 5, _("The model says"), bold=True, size=style.SMALL)
    pen.line([(4, y), (pen.width - 4, y)], "thin")


def _row(pen: Pen, finding: Finding, diagnosis: Diagnosis, box: Box, wide: float) -> None:
    y = (box.bottom + box.top) / 2
    if finding.fits and diagnosis.seen.given:
        pen.rectangle(box, style.COOL, z=0.3)
    pen.line([(box.left, box.bottom), (box.right, box.bottom)], "hair", colour=style.FAINT, z=0.5)
    fits = finding.fits and bool(diagnosis.seen.given)
    pen.text(8, y, finding.printed, size=style.SMALL, va="center", bold=fits)
    for k, clue in enumerate(CLUES):
        seen = diagnosis.seen.given.get(clue)
        if seen is None:
            continue
        sign, colour = "·", style.SOFT_INK
        if (clue, seen) in finding.agrees:
            sign, colour = "✓", style.GOOD
        elif (clue, seen) in finding.against:
            sign, colour = "✗", style.WARN
        pen.text(NAMES + (k + 0.5) * wide, y, sign, ha="center", va="center", colour=colour, bold=True)
    sign, words, colour = ANSWERS[finding.run.could]
    x = pen.width - COULD + 4
    pen.text(x, y, sign, va="center", colour=colour, bold=True)
    pen.text(x + 15, y, words, va="center", size=style.SMALL, colour=colour)
