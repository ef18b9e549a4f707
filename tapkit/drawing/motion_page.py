"""The moving picture in a page: a page of its own, a saved notebook, an export; stopped without script or kernel.

Notebook front ends strip style sheets, inline SVG, frames and scripts from saved output they do not trust, but keep
pictures, `<details>` and plain inline styles. So the moving picture lies as an image over the still one, inside a
`<details>`: closed, the still picture with its arrows is seen. Where a page asks for less motion and the front end
keeps `<picture>`, the moving image is an empty one.
"""

from __future__ import annotations

from base64 import b64encode
from html import escape

from tapkit.drawing.motion import chips_svg, describe_motion
from tapkit.drawing.motion_view import WIDTH
from tapkit.operation import Operation

EMPTY = "data:image/gif;base64,R0lGODlhAQABAIAAAAAAAP///yH5BAEAAAAALAAAAAABAAEAAAIBRAA7"
"""A picture of one clear pixel."""
STOP = "Motion: press to stop, press again to go on"


def data_uri(svg: str) -> str:
    """A picture as an address that carries it."""
    return f"data:image/svg+xml;base64,{b64encode(svg.encode()).decode()}"


def saved_html(job: Operation, *, system: str = "metric", caption: str = "", mark: str = "") -> str:
    """The moving picture as HTML that needs nothing else, stopped by a press or the keyboard.

    `caption` is HTML for under it, the description where empty; `mark` a class of the whole figure.
    """
    words = describe_motion(job, system)
    still = data_uri(chips_svg(job, system=system, moving=False))
    moving = data_uri(chips_svg(job, system=system))
    place = "position:absolute;left:0;top:0;width:100%;height:auto"
    calm = f'<source media="(prefers-reduced-motion: reduce)" srcset="{EMPTY}">'
    return (
        f'<figure class="{escape(mark)}" style="margin:0;max-width:{WIDTH}px">'
        f'<details open style="position:relative"><summary style="cursor:pointer;padding:4px 0">{STOP}</summary>'
        f'<div style="position:relative;height:0">'
        f'<picture>{calm}<img src="{moving}" alt="the same in motion" style="{place}"></picture></div></details>'
        f'<img src="{still}" alt="{escape(words)}" style="display:block;width:100%;height:auto">'
        f"<figcaption>{caption or f'<p>{escape(words)}</p>'}</figcaption></figure>"
    )
