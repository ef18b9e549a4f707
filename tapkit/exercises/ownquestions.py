"""Questions of one's own, without programming: rows of a plain spreadsheet file. The right answer is always computed.

    title,lesson,kind,text,set-up,varies,asked,tolerance,hint 1,mistake 1,says 1
    How long is the chamfer,1,number,"A {thread} tap is ground over {chamfer} threads. How long is its chamfer?",
        M10x1.5 plug | through 8.5 x 15 | C45,chamfer = 2; 4; 8 | thread = M6; M8; M10,chamfer length along the axis,,
        Each thread is one pitch long.,pitch,That is one thread alone.

One row is one exercise; what `varies` gives its variants, all combinations of them. In the sentence a name in braces
stands for its value: {thread}, {chamfer}, {work} …, {part} and {scenario} of a parts file, {set-up} for the whole line.
Kinds: number · choose the largest · choose the smallest · from smallest to largest · from largest to smallest, of what
is set to each value of `compare` · choose, of a quantity said in words · like NAME, an exercise of ours asked of one's
own parts. A known mistake is another quantity, a factor ("× 2"), or both; of a choice it is the wrong value. The file
may be written by hand; a row that cannot be used is told by line and column, and the others stay.
"""

import difflib
import itertools
import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from itertools import product
from typing import Any, NamedTuple

from tapkit import door
from tapkit.exercises import ownlook, ownvalues, quantities
from tapkit.exercises.exercise import FINAL, Draft, Exercise, Mistake, Question, Step
from tapkit.exercises.number import NumberAsked
from tapkit.exercises.options import GAP, ChoiceAsked, Option, OrderAsked
from tapkit.exercises.ownvalues import InColumn, OwnCase, Varied
from tapkit.exercises.tolerance import tolerance
from tapkit.messages import Sentence, _, listed, of_table
from tapkit.planning.press import PressPart, press_parts, press_parts_are
from tapkit.spreadsheet import Table

HEADS = (
    "title", "lesson", "kind", "text", "set-up", "drawing", "varies", "compare", "asked", "tolerance", "units",
    "hint 1", "hint 2", "solution", "why", "mistake 1", "says 1", "mistake 2", "says 2", "name",
)  # fmt: skip
"""Headings of a new file; there may be more hints and mistakes, and columns left out."""
TOPIC = "own questions"
KINDS = {
    "number": "number",
    "choose": "choice with a reason",
    "choose the largest": "choice with a reason",
    "choose the smallest": "choice with a reason",
    "from smallest to largest": "put in order",
    "from largest to smallest": "put in order",
}
"""What a question may be, and the kind of exercise that makes of it."""
MOST_ROWS, MOST_CASES, MOST_OPTIONS = 300, 160, 6
LIKE = "like "


class OwnFound(NamedTuple):
    """What a file holds: `exercises` by name, and `problems`, a sentence for each row that cannot be used."""

    exercises: dict[str, Exercise]
    problems: tuple[Sentence, ...]


def questions_of(table: Table, parts: Mapping[str, PressPart], ours: Mapping[str, Exercise]) -> OwnFound:
    """The exercises of a table; `parts` one's own by name, `ours` the exercises a row may be like."""
    found: dict[str, Exercise] = {}
    problems: list[Sentence] = list(_odd_heads(table.heads))
    for line, row in itertools.islice(zip(table.lines, table.rows), MOST_ROWS):
        try:
            if len(row) > len(table.heads):
                raise ValueError(_("there are {n} cells under {heads} headings", n=len(row), heads=len(table.heads)))
            one = question_of(dict(zip(table.heads, row)), parts, ours)
            if one.name in found:
                raise InColumn("title", _("there is a {title} above already; give another", title=one.named))
            found[one.name] = one
        except ValueError as error:
            problems.append(_("line {line}, {error}", line=line, error=error.args[0]))
    if len(table.rows) > MOST_ROWS:
        problems.append(_("only the first {most} rows are read", most=MOST_ROWS))
    return OwnFound(found, tuple(problems))


def _odd_heads(heads: Sequence[str]) -> Iterator[Sentence]:
    for head in filter(str.strip, heads):
        if _known_head(head) not in HEADS and not re.fullmatch(r"(hint|mistake|says) \d+", door.casefolded(head)):
            near = difflib.get_close_matches(door.casefolded(head), HEADS, 1, 0.6)
            meant = near[0] if near else ", ".join(HEADS)
            yield _("line 1, column {head} is passed by; write {meant}", head=door.quoted(head), meant=meant)


def _known_head(head: str) -> str:
    return "set-up" if door.casefolded(head) in ("set up", "setup") else door.casefolded(head)


# --- one row ------------------------------------------------------------------------------------------


class _Row:
    """The cells of a row by heading, and the `name` of the exercise they make."""

    name: str

    def __init__(self, cells: Mapping[str, str]) -> None:
        self.cells = {_known_head(head): cell.strip() for head, cell in cells.items()}

    def __getitem__(self, head: str) -> str:
        return self.cells.get(head, "")

    def numbered(self, head: str) -> list[str]:
        """The columns "head 1", "head 2" … that are filled, in order."""
        found = [key for key in self.cells if re.fullmatch(rf"{head} \d+", key) and self.cells[key]]
        return sorted(found, key=lambda key: int(key.split()[1]))


def question_of(
    cells: Mapping[str, str], parts: Mapping[str, PressPart] | None = None, ours: Mapping[str, Exercise] | None = None
) -> Exercise:
    """The exercise of one row. Raises ValueError with one sentence that names the column."""
    row = _Row(cells)
    if not row["title"]:
        raise InColumn("title", _("it is empty; a few words, such as 'How long is the chamfer'"))
    row.name = _in(row, "name" if row["name"] else "title", own_name)
    if row["kind"].lower().startswith(LIKE):
        return _like(row, parts or {}, ours or {})
    kind = _kind(row["kind"])
    system = _in(row, "units", _system)
    varied, cases = ownvalues.cases_of(row.__getitem__, parts or {}, system, most=MOST_CASES)
    given = _in(row, "text", partial(_names, varied=varied))
    make = partial(_draft, row=row, kind=kind, system=system, names=given)
    mistakes = _mistakes(row, system) if kind == "number" else ()
    compared = _in(row, "compare", partial(_compared, kind=kind, system=system))
    if kind.startswith("choose"):
        _mistakes_are_options(row, compared)
    made = _exercise(row, KINDS[kind], lambda: cases, partial(make, compared=compared), mistakes)
    return _usable(made, row, cases, mistakes)


def _exercise(row: _Row, kind: str, cases: Any, make: Any, mistakes: tuple[Mistake, ...] = ()) -> Exercise:
    return Exercise(
        name=row.name,
        lesson=_in(row, "lesson", _lesson),
        topic=TOPIC,
        level=2,
        kind=kind,
        named=Sentence(_plain(row["title"])),
        why=of_table(_plain(row["why"])),  # type: ignore[arg-type]
        cases=cases,
        make=make,
        mistakes=mistakes,
    )


def _in(row: _Row, column: str, read: Any) -> Any:
    """What a cell says; an error names the column."""
    try:
        return read(row[column])
    except InColumn:
        raise
    except ValueError as error:
        raise InColumn(column, error) from None


def own_name(text: str) -> str:
    """The name of an exercise made from its title: "own-" and small letters.

    >>> own_name("Wie lang ist der Anschnitt?")
    'own-wie-lang-ist-der-anschnitt'
    """
    plain = unicodedata.normalize("NFKD", text.lower().removeprefix("own-")).replace("ß", "ss")
    stem = re.sub(r"[^a-z0-9]+", "-", "".join(c for c in plain if not unicodedata.combining(c))).strip("-")[:60]
    if not stem:
        raise ValueError(_("{text} has no letter a-z or digit to make a name of", text=door.quoted(text)))
    return f"own-{stem}"


def _kind(text: str) -> str:
    wanted = door.casefolded(text) or "number"
    for kind in KINDS:
        if wanted in (kind, kind.removeprefix("from "), kind.replace("choose the", "choose")):
            return kind
    known = listed([*KINDS, "like NAME"], "or")
    raise InColumn("kind", _("there is no kind {kind}; write {known}", kind=door.quoted(text), known=known))


def _lesson(text: str) -> int:
    from tapkit.exercises.lessons import taught  # lessons know the bank, and the bank this module

    known = [str(number) for number in taught()]
    if text not in known:
        told = dict(text=door.quoted(text), known=listed(known, "or"))
        raise ValueError(_("{text} is no lesson; write the number below which it is offered: {known}", **told))
    return int(text)


def _system(text: str) -> str | None:
    known = {"": None, "metric": "metric", "mm": "metric", "inch": "inch", "in": "inch"}
    if text.lower() not in known:
        raise ValueError(_("{text} is neither metric nor inch", text=door.quoted(text)))
    return known[text.lower()]


def _plain(text: str) -> str:
    """A text without braces, which stand for values in the question alone."""
    return text.replace("{", "(").replace("}", ")")


_BRACED = re.compile(r"\{([^{}]*)\}")


def _names(text: str, varied: Sequence[Varied]) -> dict[str, str]:
    """What the names in braces stand for, by the name as written."""
    if not text:
        raise ValueError(_("it is empty; ask in a sentence, with {example} for what varies", example="{chamfer}"))
    if set("{}") & set(_BRACED.sub("", text)):
        raise ValueError(_("a brace is open; write names between two, like {example}", example="{chamfer}"))
    found = {name: ownvalues.name_of(name) for name in _BRACED.findall(text)}
    for one in varied:
        if not {one.key, "set-up"} & set(found.values()):
            raise ValueError(
                _(
                    "{what} varies but stands nowhere in the sentence; write {name} or {all} where its value belongs",
                    what=door.quoted(one.key),
                    name=f"{{{one.key}}}",
                    all="{set-up}",
                )
            )
    return found


def _compared(text: str, kind: str, system: str | None) -> Varied | None:
    if kind in ("number", "choose"):
        return None
    one = ownvalues.varied_of(text, {}, system or "metric") if text else None
    if one is None or not 2 <= len(one.values) <= MOST_OPTIONS:
        raise ValueError(
            _(
                "write what the answers differ in, with 2 to {most} values, like 'chamfer = 2; 4; 8'",
                most=MOST_OPTIONS,
            )
        )
    return one


def _mistakes(row: _Row, system: str | None) -> tuple[Mistake, ...]:
    asked = _in(row, "asked", quantities.askable)
    found = []
    for column in row.numbered("mistake"):
        slip = _in(row, column, quantities.read_slip)
        says = row[column.replace("mistake", "says")]
        if not says:
            raise InColumn(column.replace("mistake", "says"), _("it is empty; say what went wrong, in a sentence"))
        wrong = partial(_slipped, slip=slip, asked=asked, system=system)
        found.append(Mistake(f"{row.name}-{column.split()[1]}", wrong, Sentence(_plain(says))))
    return tuple(found)


def _mistakes_are_options(row: _Row, compared: Varied | None) -> None:
    """InColumn where a known mistake of a choice is none of what can be chosen."""
    word = quantities.word_quantity(row["asked"])
    if compared is not None:
        offered = {t: ownvalues.shown_value(compared.key, v) for t, v in zip(compared.texts, compared.values)}
    else:
        offered = quantities.WORDS[word][1] if word else {}
    known = {door.casefolded(str(text)) for pair in offered.items() for text in pair}
    for column in row.numbered("mistake"):
        if known and door.casefolded(row[column]) not in known:
            told = dict(text=door.quoted(row[column]), known=listed(list(offered), "or"))
            raise InColumn(column, _("{text} is none of what can be chosen; write {known}", **told))


def _slipped(case: OwnCase, slip: quantities.Slipped, asked: quantities.Askable, system: str | None) -> float:
    return slip.value(asked, case.job, system or case.system)


# --- the question of one case ------------------------------------------------------------------------------


def _draft(
    case: OwnCase, *, row: _Row, kind: str, system: str | None, names: Mapping[str, str], compared: Varied | None
) -> Draft:
    system = system or case.system
    ask: Any
    if kind == "number":
        asked = _in(row, "asked", quantities.askable)
        rule = _in(row, "tolerance", lambda text: tolerance(text or asked.tolerance).name)
        ask = NumberAsked(asked.value(case.job), asked.kind, rule, system)
    elif compared is None:
        ask = _said_in_words(row, case)
    else:
        ask = _ranked(row, kind, case, compared)
    given = {name: case.shown(key) for name, key in names.items()}
    hints = tuple(Sentence(_plain(row[column])) for column in row.numbered("hint"))
    steps = tuple(Step(Sentence(_plain(part.strip()))) for part in row["solution"].split("|") if part.strip())
    sketch = _in(row, "drawing", partial(ownlook.sketch_of, job=case.job, asked=_asked_key(row), ask=ask))
    return Draft(ask, steps, sketch, text=Sentence(row["text"], tuple(given.items())), hints=hints, system=system)


def _asked_key(row: _Row) -> str:
    """The key of what is asked, a number or something said in words."""
    return quantities.word_quantity(row["asked"]) or _in(row, "asked", quantities.askable).key


def _said_in_words(row: _Row, case: OwnCase) -> ChoiceAsked:
    """A choice among the words of a quantity that is no number."""
    key = quantities.word_quantity(row["asked"])
    if key is None:
        known = listed([str(label) for label, *_rest in quantities.WORDS.values()], "or")
        raise InColumn("asked", _("a choice without 'compare' asks for {known}", known=known))
    _label, words, of = quantities.WORDS[key]
    return ChoiceAsked(tuple(_option(row, text, word, word == of(case.job)) for word, text in words.items()))


def _option(row: _Row, text: Sentence | str, value: str, is_right: bool) -> Option:
    """An option; a wrong one says what its mistake says, where there is one for it."""
    if is_right:
        return Option(text)
    for column in row.numbered("mistake"):
        if door.casefolded(row[column]) in (door.casefolded(value), door.casefolded(str(text))):
            says = row[column.replace("mistake", "says")]
            return Option(text, f"{row.name}-{column.split()[1]}", Sentence(_plain(says)))
    return Option(text, f"{row.name}-{own_name(value)}", _("This is not it. Compare the others again."))


def _ranked(row: _Row, kind: str, case: OwnCase, compared: Varied) -> ChoiceAsked | OrderAsked:
    """A choice of the largest or smallest, or things in order, by what is asked of each."""
    asked = _in(row, "asked", quantities.askable)
    try:
        jobs = [case.with_(compared.key, value).job for value in compared.values]
    except ValueError as error:
        raise InColumn("compare", error) from None
    numbers = [asked.value(job) for job in jobs]
    rising = kind in ("choose the smallest", "from smallest to largest")
    order = sorted(range(len(jobs)), key=lambda i: numbers[i] if rising else -numbers[i])
    texts = [ownvalues.shown_value(compared.key, value) for value in compared.values]
    if kind.startswith("from"):
        words = _("from the smallest to the largest") if rising else _("from the largest to the smallest")
        return OrderAsked(tuple(texts[i] for i in order), words, values=tuple(numbers[i] for i in order))
    first, second = numbers[order[0]], numbers[order[1]]
    if abs(first - second) < GAP * max(abs(first), abs(second)):
        raise InColumn("compare", _("two of the values give nearly the same; take others"))
    return ChoiceAsked(
        tuple(_option(row, texts[i], compared.texts[i], i == order[0]) for i in range(len(jobs))),
        keep_order=True,
    )


def _usable(made: Exercise, row: _Row, cases: Sequence[OwnCase], mistakes: tuple[Mistake, ...]) -> Exercise:
    """The exercise with the cases that can be asked; ValueError that names the column where there is none."""
    good, first = [], None
    for case in cases:
        try:
            made.make(case)
            good.append(case)
        except ValueError as error:
            first = first or error
    if not good and first is not None:
        raise first
    kept = replace(made, cases=lambda: good)
    numbers = [made.make(case).ask for case in good]
    if isinstance(numbers[0], NumberAsked):
        kept = replace(made, cases=lambda: [c for c, ask in zip(good, numbers) if ask.value == ask.value])
        if all(ask.value != ask.value or abs(ask.value) == float("inf") for ask in numbers):
            raise InColumn("asked", _("it has no value for this set-up; ask for another quantity"))
    if not kept.questions:
        raise _why_none(kept, row, mistakes)
    return kept


def _why_none(made: Exercise, row: _Row, mistakes: tuple[Mistake, ...]) -> ValueError:
    """Why no variant is left: a mistake that is no other number, things too near each other, a text that tells."""
    for column, mistake in zip(row.numbered("mistake"), mistakes):
        if not replace(made, mistakes=(mistake,)).questions:
            return InColumn(column, _("it gives nearly the right answer; write another, or leave it out"))
    if mistakes and replace(made, mistakes=()).questions:
        return InColumn("mistake 2", _("two mistakes give nearly the same; leave one out"))
    if made.kind == "put in order":
        return InColumn("compare", _("two of the values give nearly the same; take others"))
    return InColumn("text", _("the sentence or a hint holds the answer; leave the number out"))


# --- ours, asked of one's own parts --------------------------------------------------------------------------


def _like(row: _Row, parts: Mapping[str, PressPart], ours: Mapping[str, Exercise]) -> Exercise:
    """An exercise of the course with one's own parts in place of the press."""
    name = row["kind"][len(LIKE) :].strip().lower()
    if name not in ours:
        near = difflib.get_close_matches(name, ours, 3, 0.4)
        meant = listed(near or ["tap-drill"], "or")
        raise InColumn("kind", _("there is no exercise {name}; write {meant}", name=door.quoted(name), meant=meant))
    if not parts:
        raise InColumn("kind", _("there are no parts of your own; write them into a file parts.csv beside this one"))
    one = ours[name]
    own = _exercise(row, one.kind, one.cases, one.make, one.mistakes)
    own = replace(own, level=one.level, formulas=one.formulas, why=one.why if not row["why"] else own.why)
    cases, asked = _asked_of(own, tuple(parts.values()))
    if not asked or repr(cases) == repr(list(one.cases())):
        raise InColumn("kind", _why_unlike(one, bool(asked)))
    made = replace(own, cases=lambda: cases)
    vars(made)["questions"] = tuple(replace(q, exercise=made) for q in asked)
    return made


def _asked_of(one: Exercise, parts: tuple[PressPart, ...]) -> tuple[list[Any], tuple[Question, ...]]:
    """The cases of an exercise and its questions, with parts in place of the press; none where it cannot be asked."""
    with press_parts_are(parts):
        try:
            cases = list(one.cases())
            return cases, replace(one, cases=lambda: cases).questions
        except (ValueError, LookupError, TypeError, StopIteration, ZeroDivisionError):
            return [], ()


def _why_unlike(one: Exercise, is_asked: bool) -> Sentence:
    """Why an exercise cannot be asked of one's own parts."""
    if one.lesson == FINAL:
        return _("{name} belongs to the final test, which asks of the press; take one of a lesson", name=one.name)
    if is_asked:
        return _("{name} speaks of no part, thread or metal, so nothing of yours stands in it; use it as it is",
                 name=one.name)  # fmt: skip
    kinds = [(h, s) for h, s in product(("blind", "through"), ("metric", "unified"))
             if _asked_of(one, press_parts(h, s))[1]]  # fmt: skip
    holes, systems = ({kind[at] for kind in kinds} for at in (0, 1))
    hole = _HOLES[holes.pop()] if len(holes) == 1 else _("blind or through holes")
    thread = _THREADS[systems.pop()] if len(systems) == 1 else _("metric or inch threads")
    return _("{name} is asked of several parts with {holes} and {threads}; these are too few, or other ones",
             name=one.name, holes=hole, threads=thread)  # fmt: skip


_HOLES = {"blind": _("blind holes"), "through": _("through holes")}
_THREADS = {"metric": _("metric threads"), "unified": _("inch threads")}
