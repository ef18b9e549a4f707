"""The choice of a tap in one picture: every pairing with its verdict, and what counts against the best of them."""

from tapkit import tables
from tapkit.drawing import style
from tapkit.drawing.pen import Box, Pen, drawn
from tapkit.geometry.fluteform import FLUTE_FORMS, form_of
from tapkit.geometry.tapname import in_words
from tapkit.messages import Number, Sentence, _, of_table
from tapkit.planning.choice import Choice
from tapkit.planning.judge import Judged

GROUPS = (
    (_("breakage"), ("breakage",)),
    (_("tooth load"), ("tooth",)),
    (_("work"), ("work",)),
    (_("turns"), ("turns",)),
    (_("rubbing"), ("rubbing",)),
    (_("chips"), ("may_pack", "chips_up", "deeper", "clearing")),
    (_("making"), ("special", "grinding", "start_by_hand", "incomplete")),
)
"""What counts against a tap, gathered under a few words; each has a colour and a hatch of its own."""

SHOWN = 5
"""Taps shown with their points."""


@drawn()
def draw_choice(pen: Pen, choice: Choice, wanted: Judged | None = None) -> None:
    """Pairings at the left, points at the right; a `wanted` tap is framed, and shown among the bars."""
    split = 0.53 * pen.width
    _pairings(pen, choice, wanted, Box(8, 8, split - 10, pen.height - 8))
    _points(pen, choice, wanted, Box(split + 6, 8, pen.width - 8, pen.height - 8))


def first_refusal(judged: Judged) -> Sentence:
    """The first refusal in a word or two."""
    short = {"reach": _("too long"), "packs": _("chips jam"), "clearing": _("clears often"), "breaks": _("may break")}
    return short[judged.first_refusal.kind]


# --- the pairings ---------------------------------------------------------------------------------------


def _pairings(pen: Pen, choice: Choice, wanted: Judged | None, box: Box) -> None:
    chamfers = [r["us"] for r in tables.rows("chamfers")]
    names, head = 92.0, 44.0
    wide, tall = (box.right - box.left - names) / len(chamfers), (box.top - box.bottom - head) / len(FLUTE_FORMS)
    pen.text(box.left, box.top - 14, _("Every pairing"), bold=True)
    for i, chamfer in enumerate(chamfers):
        x = box.left + names + (i + 0.5) * wide
        word = pen.say(of_table(chamfer)).replace("-", "-\n")
        pen.text(x, box.top - head + 4, word, size=style.SMALL, ha="center")
    verdicts = {(j.tap.flute_form, j.tap.chamfer_name): j for j in reversed((*choice.ranked, *choice.refused))}
    for k, form in enumerate(FLUTE_FORMS):
        top = box.top - head - k * tall
        pen.text(
            box.left,
            top - tall / 2,
            str(of_table(form_of(form).name(choice.job.thread.hand))).replace("-flute", "\nflute"),
            size=style.SMALL,
            va="center",
        )
        for i, chamfer in enumerate(chamfers):
            left = box.left + names + i * wide
            cell = Box(left + 2, top - tall + 2, left + wide - 2, top - 2)
            judged = verdicts.get((form, chamfer))
            if judged is not None:
                _cell(pen, cell, judged, choice, wanted)


def _cell(pen: Pen, cell: Box, judged: Judged, choice: Choice, wanted: Judged | None) -> None:
    x, y = (cell.left + cell.right) / 2, (cell.bottom + cell.top) / 2
    is_wanted = wanted is not None and wanted.tap == judged.tap
    if judged in choice.ranked:
        place = choice.ranked.index(judged) + 1
        best = place == 1
        pen.rectangle(cell, style.GOOD if best else style.COOL, z=0.4)
        ink = style.PAPER if best else style.INK
        pen.text(x, y + 1, _("✓ best") if best else _("✓ no. {place}", place=place), ha="center", bold=best, colour=ink)
        pen.text(x, y - 2, Number(judged.score, decimals=2), size=style.SMALL, ha="center", va="top", colour=ink)
    else:
        corners = pen.rectangle(cell, style.PAPER, z=0.4)
        pen.hatch(corners, 45, 9, colour=style.FAINT, z=0.5)
        pen.text(x, y + 1, "✗", ha="center", colour=style.WARN, bold=True)
        pen.text(x, y - 2, first_refusal(judged), size=style.SMALL, ha="center", va="top", paper=True)
    pen.rectangle(cell, None, "bold" if is_wanted else "hair", z=3)


# --- the points -----------------------------------------------------------------------------------------


def _points(pen: Pen, choice: Choice, wanted: Judged | None, box: Box) -> None:
    shown = list(choice.ranked[:SHOWN])
    if wanted is not None and all(j.tap != wanted.tap for j in shown):
        shown = [*shown[: SHOWN - 1], wanted]
    pen.text(box.left, box.top - 14, _("What counts against it: fewer points are better"), bold=True)
    if not shown:
        pen.text(box.left, box.top - 44, _("No tap will do as it is asked."), colour=style.WARN)
        return
    legend = 66.0
    tall = (box.top - box.bottom - 24 - legend) / SHOWN
    most = max(j.score for j in shown)
    for i, judged in enumerate(shown):
        top = box.top - 24 - i * tall
        _bar(pen, judged, Box(box.left, top - tall, box.right, top), most)
    _legend(pen, Box(box.left, box.bottom, box.right, box.bottom + legend - 12))


def _bar(pen: Pen, judged: Judged, box: Box, most: float) -> None:
    told = in_words(judged.tap)
    if not judged.advised:
        told = _("{tap}  ✗ {why}", tap=told, why=first_refusal(judged))
    colour = style.INK if judged.advised else style.WARN
    pen.text(box.left, box.top - 16, told, size=style.SMALL, bold=True, colour=colour)
    room = box.right - box.left - 38
    x, low, high = box.left, box.top - 34, box.top - 19
    for k, (_words, names) in enumerate(GROUPS, start=1):
        worth = sum(p.points for p in judged.points if p.name in names)
        if worth <= 0:
            continue
        end = x + room * worth / most
        pen.flute_fill(k, Box(x, low, end, high), kind="thin")
        x = end
    pen.text(x + 5, (low + high) / 2, Number(judged.score, decimals=2), size=style.SMALL, va="center")


def _legend(pen: Pen, box: Box) -> None:
    x, y = box.left, box.top - 8
    for k, (name, _names) in enumerate(GROUPS, start=1):
        pen.flute_fill(k, Box(x, y - 6, x + 18, y + 6), kind="thin")
        right = pen.text(x + 22, y, name, size=style.SMALL, va="center").right
        x = right + 12
        if x > box.right - 74 and k < len(GROUPS):
            x, y = box.left, y - 19
