"""The set-up card: one page of HTML that prints on A4 and on Letter, with drawing, numbers, cautions and checks."""

from __future__ import annotations

import base64
import io
from collections.abc import Iterable
from html import escape

import matplotlib
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from tapkit import tables
from tapkit.drawing.holeplan import describe_holeplan, draw_holeplan
from tapkit.planning.cycle import Line
from tapkit.planning.holeplan import HolePlan
from tapkit.planning.setup import SetUp

WIDE, HIGH = 5.5, 3.4
"""Size of the drawing's sheet [inch]; on paper it is set to the width of its column."""

STYLE = """
@page {size: auto; margin: 9mm 12mm}
* {box-sizing: border-box}
body {font: 9pt/1.3 "DejaVu Sans", Verdana, sans-serif; color: #17202b; margin: 0 auto; max-width: 188mm}
h1 {font-size: 13pt; margin: 0}
h2 {font-size: 10pt; margin: 2mm 0 .6mm; border-bottom: .5pt solid #17202b}
.head {display: flex; justify-content: space-between; align-items: baseline; gap: 6mm; border-bottom: 1.2pt solid}
.head b {text-align: right}
.banner {background: #b3202c; color: #fff; font-weight: 600; margin: 1.5mm 0 0; padding: .8mm 2mm}
.blanks {display: flex; gap: 5mm; margin: 1.6mm 0 0}
.blanks span {flex: 1; border-bottom: .5pt solid #4d5865; padding: 0 0 .5mm} .blanks span:first-child {flex: 2}
.two {display: flex; gap: 6mm} .two > * {flex: 1 1 0; min-width: 0}
.two > .wider {flex: 1.15 1 0}
img {width: 100%; height: auto; display: block}
table {border-collapse: collapse; width: 100%}
th {text-align: left; font-weight: normal; color: #4d5865; width: 28mm; font-size: 8.2pt}
.wider th {width: 31mm}
th, td {padding: .4mm 1.5mm .4mm 0; vertical-align: top; border-bottom: .3pt solid #c9d0d8}
td b {margin-right: 1.5mm} .why {font-size: 7.6pt; color: #4d5865}
ul {margin: 0; padding: 0; list-style: none}
.checks li {padding-left: 5.6mm; text-indent: -5.6mm; margin: .4mm 0; font-size: 8.3pt; line-height: 1.22}
.checks li::before {content: ""; display: inline-block; width: 3.2mm; height: 3.2mm; border: .8pt solid #17202b;
  margin-right: 2.4mm; vertical-align: -.5mm}
.care {border: 1.2pt solid #b3202c; padding: 1mm 2.2mm; margin-top: 2mm; font-size: 7.7pt; line-height: 1.24}
.care li {margin: .3mm 0; padding-left: 3.5mm; text-indent: -3.5mm}
.care li::before {content: "▲ "; color: #b3202c} .bad {color: #b3202c; font-weight: 600}
.signs {display: flex; gap: 7mm; margin-top: 7mm}
.signs div {flex: 1; border-top: .6pt solid #17202b; font-size: 7.6pt; padding-top: .5mm} .signs .wide {flex: 1.8}
.foot {font-size: 7.2pt; color: #4d5865; margin: 1.4mm 0 0}
@media screen {body {padding: 8mm; background: #fff}}
"""


def setup_card(setup: SetUp, *, system: str = "metric", part: str = "", title: str = "Set-up card") -> str:
    """A whole HTML page for one set-up; nothing is loaded from elsewhere. `part` names the part, or leaves a blank."""
    job = setup.job
    head = f"{job.thread.designation} in {job.work.printed}, {job.machine.printed}"
    body = (
        f'<div class="head"><h1>{escape(title)}</h1><b>{escape(head)}</b></div>'
        f"{_banner(setup)}"
        f'<div class="blanks"><span>Part: {escape(part)}</span><span>Drawing no.:</span>'
        f"<span>Quantity: {job.quantity}</span><span>Date:</span></div>"
        f'<div class="two"><div class="wider">{_picture(setup.plan, system)}{_lines("Drill", setup.hole_lines(system))}'
        f"{_lines('Expect', setup.expect_lines(system))}{_checks(setup.checks(system))}</div>"
        f"<div>{_lines('Tap and set', setup.tap_lines(system))}{_cautions(setup.cautions(system))}</div></div>"
        f"{_signs()}"
    )
    return (
        f'<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>{escape(title)}: {escape(head)}</title>'
        f"<style>{STYLE}</style></head><body>{body}</body></html>"
    )


def _banner(setup: SetUp) -> str:
    if setup.judged.advised:
        return ""
    return '<p class="banner">Not advised: do not run this set-up. The reasons stand under "Take care".</p>'


def _picture(plan: HolePlan, system: str) -> str:
    figure = Figure(figsize=(WIDE, HIGH))
    FigureCanvasAgg(figure)
    draw_holeplan(figure.add_axes((0, 0, 1, 1)), plan, system=system)
    out = io.BytesIO()
    with matplotlib.rc_context({"svg.hashsalt": "tapkit", "svg.fonttype": "path"}):
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    data = base64.b64encode(out.getvalue()).decode()
    return f'<img alt="{escape(describe_holeplan(plan, system))}" src="data:image/svg+xml;base64,{data}">'


def _lines(title: str, lines: Iterable[Line]) -> str:
    rows = (
        f'<tr><th scope="row">{escape(x.what)}</th><td><b>{escape(x.value)}</b>'
        f'<span class="why">{escape(x.why)}</span></td></tr>'
        for x in lines
    )
    return f"<h2>{escape(title)}</h2><table>{''.join(rows)}</table>"


def _checks(checks: Iterable[str]) -> str:
    items = "".join(f"<li>{escape(c)}</li>" for c in checks)
    return f'<h2>Check before you run</h2><ul class="checks">{items}</ul>'


def _cautions(own: Iterable[str]) -> str:
    told = [f'<li class="bad">{escape(c[0].upper() + c[1:])}.</li>' for c in own]
    told += [f"<li>{escape(row['text'])}</li>" for row in tables.rows("cautions")]
    return f'<div class="care"><b>Take care</b><ul>{"".join(told)}</ul></div>'


def _signs() -> str:
    return (
        '<div class="signs"><div>Set up by</div>'
        '<div class="wide">Checked and released by a qualified person: name and signature</div>'
        "<div>Date, time</div></div>"
        '<p class="foot">A teaching aid. Not for use until a qualified person has signed it. The machine\'s manual, '
        "the shop's rules and local regulations come first.</p>"
    )
