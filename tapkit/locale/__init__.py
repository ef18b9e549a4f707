"""Languages: the catalogue of each lies here as LANGUAGE/LC_MESSAGES/tapkit.po with the tapkit.mo made of it.

`pybabel extract -F pyproject.toml -o tapkit.pot .` collects the messages of code, templates and tables;
`pybabel init` and `pybabel compile` with `-D tapkit -d tapkit/locale` begin a language and make its tapkit.mo. The
workbooks of a language lie in workbooks/LANGUAGE. TAPKIT_LANGUAGE chooses the language; what is not translated is said
in English.
"""

import ast
import csv
import io
from collections.abc import Iterator
from itertools import chain
from pathlib import Path
from typing import IO, Any

from tapkit import tables

ExtractedMessage = tuple[int, None, str, list[str]]
"""Line, no function, message, comments: what Babel wants."""


def extract(file: IO[bytes], keywords: Any, comment_tags: Any, options: Any) -> Iterator[ExtractedMessage]:
    """Babel's extractor for tapkit/tables: the words in the columns that the table `said` names."""
    columns = said_columns().get(Path(file.name).stem, ())
    lines = [(n, line) for n, line in enumerate(io.TextIOWrapper(file, "utf-8"), start=1) if not line.startswith("# ")]
    rows = csv.DictReader(line for _number, line in lines)
    for row in rows:
        place = lines[min(rows.line_num, len(lines)) - 1][0]
        for column in columns:
            word = (row.get(column) or "").strip()
            word = mistake_words(word) if column == "mistake" else word
            if any(letter.isalpha() for letter in word):
                yield place, None, word, [f"{column} in the table {Path(file.name).stem}"]


NAMED = {"Slip": 0, "WrongOrder": 0, "Option": 1}
"""What in the bank of exercises has a mistake's name, and at which place."""


def extract_bank(file: IO[bytes], keywords: Any, comment_tags: Any, options: Any) -> Iterator[Any]:
    """Babel's extractor for the bank of exercises: its messages, and the names of known mistakes as words."""
    from babel.messages.extract import extract_python

    yield from extract_python(file, keywords, comment_tags, options)
    file.seek(0)
    for call in ast.walk(ast.parse(file.read())):
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Name):
            place = NAMED.get(call.func.id, len(call.args))
            known = [
                k.value.keys for k in call.keywords if k.arg in ("mistakes", "likely") and isinstance(k.value, ast.Dict)
            ]
            for name in [*call.args[place : place + 1], *chain.from_iterable(known)]:
                if isinstance(name, ast.Constant) and isinstance(name.value, str):
                    yield call.lineno, None, mistake_words(name.value), ["name of a known mistake"]


def mistake_words(name: str) -> str:
    """The name of a mistake as words.

    >>> mistake_words("one-hand")
    'one hand'
    """
    return name.replace("-", " ")


def said_columns() -> dict[str, tuple[str, ...]]:
    """The columns whose words are shown, by table.

    >>> said_columns()["chamfers"]
    ('us', 'british')
    """
    return {row["table"]: tuple(row["columns"].split()) for row in tables.rows("said")}
