"""The stage of a panel that shows the tap in the round: drawn in the browser, with a still picture for paper."""

import io
from base64 import b64encode
from collections.abc import Callable
from typing import Any

from markupsafe import Markup
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from tapkit.drawing.photo import release
from tapkit.operation import Operation
from tapkit.panels import inround
from tapkit.panels.card import round_page
from tapkit.panels.markup import tag
from tapkit.panels.panel import Panel, PanelSpec
from tapkit.panels.stage import DPI, REST_SECONDS, SHARP, give_back

Shown = Callable[[Any, str], dict[str, Any]]
"""`told(model, system)` → `tap`, its `title`, and what else `inround.round_told` takes."""


class RoundStage:
    """What `Stage` is to a matplotlib figure. `widget` shows the tap, `pictures` counts what was shown; `more` of what
    the widget begins with."""

    def __init__(
        self, told: Shown, draw: Callable[[Figure, Any, str], Any], size: tuple[int, int], **more: Any
    ) -> None:
        self._told, self._draw, self.size = told, draw, size
        self.widget = inround.TapInRound(ratio=size[0] / size[1], **more)
        self.widget.observe(lambda change: self._put_still(), "wants_still")
        self.pictures = 0
        self.model, self.system, self.alt = None, "metric", ""
        self._ahead: tuple[Any, str, dict[str, Any]] | None = None

    def show(self, model: Any, *, system: str = "metric", scale: float = 1.0, alt: str = "") -> None:
        """Show the model; `alt` says in words what there is to see. ValueError leaves what was shown."""
        if self._ahead is None or self._ahead[0] is not model or self._ahead[1] != system:
            self.prepare(model, system)
        self.widget.put(self._ahead[2], alt)
        self._ahead = None
        self.widget.layout.width, self.widget.layout.max_width = f"{round(self.size[0] * scale)}px", "100%"
        self.model, self.system, self.alt = model, system, alt
        self.pictures += 1
        self._put_still()

    def prepare(self, model: Any, system: str) -> None:
        """Have ready what is told of a model that may be shown next, while nobody waits for it."""
        self._ahead = None
        told = self._told(model, system)
        told.pop("title")
        self._ahead = model, system, inround.round_told(told.pop("tap"), system, **told)

    def sharpen(self) -> None:
        """The browser sharpens by itself."""

    def rest(self) -> float:
        """How long nothing must move before `sharpen` is called [s]."""
        return REST_SECONDS

    def tidy_soon(self) -> None:
        """Give back what the still picture needed."""
        give_back()

    def still(self) -> bytes:
        """The present model as a fine JPEG."""
        return photographed(self._draw, self.model, self.system, self.size)

    def page(self, still: bytes) -> str:
        """A page of its own that turns the present model."""
        shown = {key: getattr(self.widget, key) for key in ("view", "plays", "inset")}
        told = self._told(self.model, self.system) | shown
        return round_page(told.pop("tap"), told.pop("title"), self.alt, still, self.system, **told)

    def _put_still(self) -> None:
        if self.widget.wants_still and self.model is not None:
            self.widget.still = self.still()


def photographed(draw: Callable[[Figure, Any, str], Any], model: Any, system: str, size: tuple[int, int]) -> bytes:
    """A drawing with a shaded tap in it as a fine JPEG."""
    figure, file = Figure(figsize=(size[0] / DPI, size[1] / DPI), dpi=DPI), io.BytesIO()
    FigureCanvasAgg(figure)
    draw(figure, model, system)
    figure.savefig(file, dpi=DPI * SHARP, format="jpeg", pil_kwargs={"quality": 88})
    release()
    return file.getvalue()


def film_told(job: Operation) -> dict[str, Any]:
    """What shows a job being cut."""
    return {"tap": job.tap, "title": job.tap.name, "job": job}


class RoundPanel(Panel):
    """A panel whose picture is the tap in the round."""

    def __init__(self, spec: PanelSpec, told: Shown, **start: Any) -> None:
        self._told = told
        super().__init__(spec, **start)

    def still(self) -> str:
        """The still picture with its sentence, and where scripts are trusted a tap that turns in its place."""
        picture, mark, size = self.stage.still(), self._mark, self.stage.size
        return in_two_ways(mark, picture, self.sentence, self._still_caption(), size, self.stage.page(picture))

    def _still_caption(self) -> Markup:
        return self._caption()

    def _make_stage(self) -> Any:
        return RoundStage(self._told, self.spec.draw, self.spec.size)


def in_two_ways(mark: str, picture: bytes, alt: str, caption: str, size: tuple[int, int], page: str) -> Markup:
    """A figure of class `mark` that shows a page of its own on the screen, and the picture on paper and wherever the
    frame with the page was taken out."""
    hide = "{display: none}"
    look = f"@media screen {{.{mark}:has(iframe) > img {hide}}} @media print {{.{mark} iframe {hide}}}"
    width, data = size[0], b64encode(picture).decode()
    fit = "max-width:100%;height:auto"
    image = tag("img", src=f"data:image/jpeg;base64,{data}", alt=alt, width=width, style=fit)
    parts = (tag("style", Markup(look)), image, framed(alt, size, page), tag("figcaption", Markup(caption)))
    return tag("figure", *parts, class_=mark, style="margin:0")


def framed(alt: str, size: tuple[int, int], page: str) -> Markup:
    """A page of its own in a frame, which loads when it comes in sight; nothing where scripts are not trusted."""
    fit = f"width:{size[0] + 30}px;max-width:100%;height:{size[1] + 165}px;border:0"
    frame = tag(
        "iframe", class_="tapkit-framed", title=alt, sandbox="allow-scripts", loading="lazy", srcdoc=page, style=fit
    )
    return tag("style", Markup("@media print {.tapkit-framed {display: none}}")) + frame
