"""The table of agreement as one page of HTML that needs nothing else."""

from __future__ import annotations

from html import escape

from tapkit.agreement.row import GROUPS, SIGNS, Row
from tapkit.agreement.text import ratio_shown, shown, summary, told, with_unit

STYLE = """
:root { color-scheme: light dark; --line: #8888; --soft: #8881; }
body { font: 16px/1.5 system-ui, sans-serif; margin: 2rem auto; max-width: 76rem; padding: 0 1rem; }
h1 { font-size: 1.7rem; margin-bottom: .2rem; }
h2 { font-size: 1.25rem; margin: 2.6rem 0 .4rem; }
.table { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; min-width: 58rem; }
th, td { padding: .3rem .7rem; text-align: left; vertical-align: top; border-bottom: 1px solid var(--line); }
th { border-bottom-width: 2px; white-space: nowrap; }
th.what { width: 40%; } th.verdict { width: 28%; }
td.number { text-align: right; font-variant-numeric: tabular-nums; white-space: nowrap; }
th.number { text-align: right; }
tr:hover td { background: var(--soft); }
td.sign { font-weight: 700; text-align: center; }
tr.differs td { background: #d5550022; }
ol { font-size: .9rem; padding-left: 1.6rem; } li { margin: .15rem 0; }
a { color: inherit; }
@media print { body { margin: 0; max-width: none; font-size: 9pt; } table { min-width: 0; } }
@media print { tr { break-inside: avoid; } }
"""

INTRODUCTION = (
    "Each line holds one value from a standard, a handbook, a paper or another program against tapkit's own. "
    "[memory] marks a value recalled, not opened. Where nobody knows, the line says so."
)


def as_page(rows: list[Row]) -> str:
    """The whole page."""
    parts = [_group(heading, [r for r in rows if r.group == name]) for name, heading in GROUPS.items()]
    return (
        "<!doctype html>\n<html lang='en'><head><meta charset='utf-8'>"
        "<meta name='viewport' content='width=device-width, initial-scale=1'>"
        f"<title>tapkit: agreement with the outside</title><style>{STYLE}</style></head>\n<body>"
        f"<h1>Agreement with the outside</h1>\n<p>{escape(INTRODUCTION)}</p>\n"
        f"<p><strong>{escape(summary(rows))}</strong></p>\n" + "\n".join(p for p in parts if p) + "\n</body></html>\n"
    )


def _group(heading: str, rows: list[Row]) -> str:
    if not rows:
        return ""
    head = (
        "<tr><th scope='col'></th><th scope='col' class='what'>What</th><th scope='col' class='number'>They say</th>"
        "<th scope='col' class='number'>We say</th><th scope='col' class='number'>Ratio</th>"
        "<th scope='col' class='verdict'>Verdict</th></tr>"
    )
    sources = list(dict.fromkeys(told(row) for row in rows))
    group = rows[0].group
    body = "\n".join(_row(row, sources.index(told(row)) + 1) for row in rows)
    notes = "\n".join(f"<li id='{group}-{i}'>{escape(s)}</li>" for i, s in enumerate(sources, start=1))
    return (
        f"<h2>{escape(heading)}</h2>\n<div class='table'><table><thead>{head}</thead>\n<tbody>\n{body}\n"
        f"</tbody></table></div>\n<ol>\n{notes}\n</ol>"
    )


def _row(row: Row, source: int) -> str:
    says, ours = (escape(with_unit(v, row.unit)) for v in (shown(row.says), row.ours_shown))
    kind = "" if isinstance(row.ours, str) else "number"
    note = f"<sup><a href='#{row.group}-{source}'>{source}</a></sup>"
    return (
        f"<tr class='{row.grade}'><td class='sign' title='{row.grade}'>{SIGNS[row.grade]}</td>"
        f"<td>{escape(row.figure)}, {escape(row.case)} {note}</td><td class='{kind}'>{says}</td>"
        f"<td class='{kind}'>{ours}</td><td class='number'>{ratio_shown(row)}</td><td>{escape(row.verdict)}</td></tr>"
    )
