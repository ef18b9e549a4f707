"""Slips to print and cut: how each learner signs in for the first time."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

STYLE = """
@page { margin: 12mm }
* { box-sizing: border-box }
body { font: 11pt/1.35 "DejaVu Sans", Verdana, Arial, sans-serif; color: #111; margin: 0 auto; max-width: 186mm }
main { display: grid; grid-template-columns: 1fr 1fr }
section { border: 0.3mm dashed #777; padding: 5mm 6mm; break-inside: avoid; min-height: 62mm }
h2 { font-size: 13pt; margin: 0 0 2mm }
dl { display: grid; grid-template-columns: max-content 1fr; gap: 1mm 3mm; margin: 0 0 2mm }
dt { color: #444 } dd { margin: 0; overflow-wrap: anywhere }
code { font: bold 12pt "DejaVu Sans Mono", Consolas, monospace; white-space: nowrap }
ol { margin: 0; padding-left: 5mm; font-size: 10pt }
@media screen { body { padding: 8mm } }
"""


def slips_page(entries: Iterable[tuple[str, str, str]], address: str) -> str:
    """An HTML page with one slip for each (name, id, first-use password)."""
    slips = "\n".join(_slip(*entry, address) for entry in entries)
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><title>First-use passwords</title>\n'
        f"<style>{STYLE}</style></head>\n<body><main>\n{slips}\n</main></body></html>\n"
    )


def _slip(name: str, id: str, password: str, address: str) -> str:
    return (
        f"<section><h2>{escape(name)}</h2><dl><dt>Address</dt><dd>{escape(address)}</dd>"
        f"<dt>Name to type</dt><dd><code>{escape(id)}</code></dd>"
        f"<dt>First password</dt><dd><code>{escape(password)}</code></dd></dl>"
        "<ol><li>Open the address in a browser.</li><li>Type the name and the first password.</li>"
        "<li>Choose a password of your own. Type it twice.</li>"
        "<li>From then on, use your own password. This slip is worthless.</li></ol></section>"
    )
