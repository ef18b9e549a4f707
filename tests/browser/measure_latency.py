"""From a key on a slider to new pixels, measured in a real Chromium in JupyterLab, for every panel, in one run.

    python tests/browser/measure_latency.py [--panels load tip] [--presses 50] [--json FILE]

For each panel: the panel as it is, and the usual way, `interact` making a new matplotlib figure of the same picture,
with matplotlib's own texts (kept pictures of texts are part of what makes the panel fast).
A press is timed inside the page, from the keydown event to the end of the first frame that shows the new picture: the one after a PNG has been decoded,
or the one in which the tap in the round, drawn to its last pixel, gets the numbers of its teeth. Every
fifth press comes after a rest of a second. Dragging: 50 steps of the mouse in a second; how many pictures came, and
how long after the last step the last picture. The moving chips have no usual way, their pictures being no matplotlib
figures: what counts there is the still picture that follows the slider. One row more is the message round trip alone,
with a line of text. A second table, on Linux, tells where the time goes: the processor time of each process from the key
to the pixels, which a busy machine lengthens little.
"""

import argparse
import contextlib
import io
import json
import os
import statistics
import sys
import tempfile
from pathlib import Path

import nbformat
import psutil

sys.path.insert(0, str(Path(__file__).parents[1]))

from opening import opened
from panelnames import SPECIFIED
from playwright.sync_api import TimeoutError
from realbrowser import FLAGS, find_chromium

from tapkit import panels
from tapkit.panels.panel import Panel
from tapkit.panels.roundstage import RoundStage
from tapkit.panels.stage import Stage
from tapkit.parameters import Parameter

START = {"groove": {"upto": 10}}
"""What a panel starts with where the steps of its slider change nothing at its usual start."""
OURS = "from tapkit import panels\npanels.{name}(**{start})"
USUAL = """
%matplotlib inline
import matplotlib.pyplot as plt
from ipywidgets import FloatSlider, interact
from matplotlib.text import Text
from tapkit.drawing.label import Label
Label.draw = Text.draw
from tapkit import panels
_panel = panels.{name}(**{begin})
_spec, _start = _panel.spec, dict(vars(_panel.values))
def picture(value):
    figure = plt.figure(figsize=(_spec.size[0] / 96, _spec.size[1] / 96), dpi=96)
    values = type(_panel.values)(**(_start | {{"{key}": value}}))
    _spec.draw(figure, _spec.model_from(values), "metric")
    plt.show()
interact(picture, value=FloatSlider(value={start}, min={low}, max={high}, step={step}, description="usual"));
"""
USUAL_BENCH = """
%matplotlib inline
import matplotlib.pyplot as plt
from ipywidgets import FloatSlider, interact
from matplotlib.text import Text
from tapkit import panels
from tapkit.drawing.label import Label
from tapkit.drawing.pair import SIZE, draw_pair
from tapkit.panels.benchsweep import draw_chart, sweep_picture
from tapkit.parameters import job_from
Label.draw = Text.draw
_a, _b = (panels.bench().sides[name].values for name in "AB")
def picture(value):
    jobs = job_from(vars(_a) | {"chamfer": value}), job_from(vars(_b))
    for size, draw, model in (
        (SIZE, draw_pair, jobs), ((560, 320), draw_chart, sweep_picture(jobs, "chamfer_threads", "peak_torque"))
    ):
        draw(plt.figure(figsize=(size[0] / 96, size[1] / 96), dpi=96), model, "metric")
    plt.show()
interact(picture, value=FloatSlider(value=4, min=1, max=10, step=0.25, description="usual"));
"""
ROUND_TRIP = """
import tapkit
from ipywidgets import FloatSlider, HTML, VBox
slider, words = FloatSlider(value=4, min=1, max=10, step=0.25), HTML("4", _dom_classes=["round-trip"])
slider.observe(lambda change: setattr(words, "value", str(change.new)), "value")
VBox([slider, words])
"""

WATCH = """
() => {
    window.keys = []; window.moves = []; window.shown = [];
    const afterFrame = what => {  // asked in a frame: when that frame is done
        const channel = new MessageChannel();
        channel.port1.onmessage = () => {
            window.shown.push({at: performance.now(), ...what});
            window.tell?.();
        };
        channel.port2.postMessage(0);
    };
    const painted = what => requestAnimationFrame(() => afterFrame(what));
    document.addEventListener('keydown', e => window.keys.push(performance.now()), true);
    document.addEventListener('mousemove', e => e.buttons && window.moves.push(performance.now()), true);
    document.addEventListener('pointermove', e => e.buttons && window.moves.push(performance.now()), true);
    document.addEventListener('load', e => {
        if (e.target.tagName === 'IMG') {
            painted({fine: e.target.naturalWidth > 1.3 * e.target.width});
        }
    }, true);
    document.addEventListener('tapkit-shown', () => afterFrame({fine: false}), true);
    const drawn = document.querySelector('.round-trip');
    if (drawn) {
        const look = () => painted({fine: false});
        new MutationObserver(look).observe(drawn, {childList: true, subtree: true});
    }
}
"""


PROCESSES = {
    "ipykernel": "kernel", "--type=renderer": "page", "--type=gpu-process": "graphics", "--type=utility": "browser",
    "chromium": "browser", "jupyter": "server", "tapkit": "server",
}  # fmt: skip
"""Processes by what their command lines hold, the first that fits."""


def spent() -> dict[str, float]:
    """Processor time so far of each kind of process below this one [ms]; nothing where the system does not tell."""
    found = dict.fromkeys(dict.fromkeys(PROCESSES.values()), 0.0)
    for one in psutil.Process().children(recursive=True):
        with contextlib.suppress(psutil.Error, OSError):
            line = " ".join(one.cmdline())
            kind = next((kind for part, kind in PROCESSES.items() if part in line), None)
            for thread in os.listdir(f"/proc/{one.pid}/task") if kind else ():
                found[kind] += int(Path(f"/proc/{one.pid}/task/{thread}/schedstat").read_text().split()[0]) / 1e6
    return found


HANDLE = ".noUi-handle, .tapkit-range"
"""Sliders: of ipywidgets, and ours."""

WALK = 6
"""Steps in one direction before turning back, so that no picture is one of the last few."""
NEXT = "window.next = new Promise(r => { window.tell = () => r(true); setTimeout(() => r(false), 20000); });"
"""In the page: a promise of the next picture."""


def panel_names() -> list[str]:
    """Names in tapkit.panels that give a panel whose first slider changes its picture, and the bench."""
    found = []
    for name in SPECIFIED:
        with contextlib.redirect_stdout(io.StringIO()):
            made = getattr(panels, name)()
        if isinstance(made.stage, Stage | RoundStage) and first_slider(made) and moves_picture(made):
            found.append(name)
    return [*found, "bench"]


def first_slider(panel: Panel) -> Parameter | None:
    """The slider that is moved: the first with ten steps or more, which stands open."""
    state, main = panel.controls.state, panel.spec.main
    sliders = [c for c in state.controls if isinstance(c, Parameter) and (not main or c.key in main)]
    return next((c for c in sliders if state.scale(c).count >= 10), None)


def moves_picture(panel: Panel) -> bool:
    """Whether each of a few steps of the slider gives another picture; else there are no new pixels to wait for."""
    slider, seen = first_slider(panel), set()
    for step in range(4):
        panel.set(**{slider.key: panel.controls.state.at(slider, step)})
        shown = panel.stage.widget
        seen.add(shown.vertices if isinstance(panel.stage, RoundStage) else shown.value)
    return len(seen) == 4


def write_books(folder: Path, names: list[str], bare: bool = True) -> dict[str, str]:
    """One notebook for each way of each panel, and where `bare` for the message round trip alone; row: file."""
    cells = {("round trip", "alone"): ROUND_TRIP} if bare else {}
    for name in names:
        if name in ("bench", "chips"):
            cells[name, "ours"] = OURS.format(name=name, start={})
            if name == "bench":
                cells[name, "usual"] = USUAL_BENCH
            continue
        begin = START.get(name, {})
        panel = getattr(panels, name)(**begin)
        slider = first_slider(panel)
        low, high = slider.range(panel.controls.state.basis)
        limits = dict(start=getattr(panel.values, slider.key), low=low, high=high, step=slider.step)
        cells[name, "ours"] = OURS.format(name=name, start=begin)
        cells[name, "usual"] = USUAL.format(name=name, begin=begin, key=slider.key, **limits)
    files = {}
    for number, (row, source) in enumerate(cells.items()):
        book = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(source.strip())])
        files[row] = f"row-{number}.ipynb"
        nbformat.write(book, folder / files[row])
    return files


class Row:
    """One notebook on the screen, measured."""

    def __init__(self, page, address: str) -> None:
        self.page = page
        page.goto(address)
        try:
            page.locator(HANDLE).first.wait_for()
        except Exception as error:
            shown = page.locator("body").inner_text()[-600:]
            raise AssertionError(f"no slider on {address.split('?')[0]}; the page says {shown!r}") from error
        page.wait_for_timeout(2500)
        page.evaluate(WATCH)
        self.handle = page.locator(f":is({HANDLE}):visible").nth(self._index())

    def _index(self) -> int:
        """Among the page's sliders, the first of ours that has ten steps or more."""
        ranges = self.page.locator(".tapkit-range:visible").evaluate_all("found => found.map(r => Number(r.max))")
        return next((i for i, count in enumerate(ranges) if count >= 10), 0)

    def presses(self, count: int) -> list[float]:
        """Milliseconds from each key to its pixels; `used` is the processor time of each press [ms]."""
        self.handle.focus()
        found, self.used = [], []
        for number in range(count):
            self.page.wait_for_timeout(1000 if number % 5 == 4 else 180)
            before = spent()
            # a promise, as polling the page would take the processor from the kernel
            self.page.evaluate(f"() => {{ keys.length = shown.length = 0; {NEXT} }}")
            self.page.keyboard.press("ArrowRight" if number // WALK % 2 else "ArrowLeft")
            if not self.page.evaluate("() => next"):
                raise TimeoutError("no new picture in 20 s")
            self.used.append({kind: now - before[kind] for kind, now in spent().items()})
            found.append(self.page.evaluate("() => shown[0].at - keys[0]"))
        return found

    def drag(self, steps: int = 50, seconds: float = 1.0) -> tuple[int, float]:
        """Pictures while dragging, and how many milliseconds after the last step the last of them came."""
        self.page.wait_for_timeout(1200)
        self.handle.evaluate("handle => handle.scrollIntoView({block: 'end'})")  # below a picture that stays on top
        self.page.wait_for_timeout(300)
        box = self.handle.bounding_box()
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        self.page.mouse.move(x, y)
        self.page.mouse.down()
        self.page.evaluate("() => { moves.length = shown.length = 0; }")
        start = self.page.evaluate("() => performance.now()")
        for step in range(1, steps + 1):
            self.page.mouse.move(x + 2 * step, y)
            behind = start + 1000 * seconds * step / steps - self.page.evaluate("() => performance.now()")
            if behind > 0:
                self.page.wait_for_timeout(behind)
        self._wait_until_quiet()
        self.page.mouse.up()
        shown = self.page.evaluate("() => shown")
        coarse = [s["at"] for s in shown if not s["fine"]]
        last = coarse[-1] if coarse else shown[0]["at"]  # on a busy machine the fine one may be the first to come
        return len(coarse), max(0.0, last - self.page.evaluate("() => moves[moves.length - 1]"))

    def _wait_until_quiet(self) -> None:
        self.page.wait_for_timeout(300)
        quiet = "() => shown.length && performance.now() - shown[shown.length - 1].at > 900"
        self.page.wait_for_function(quiet, timeout=60_000)


def measure(names: list[str], presses: int, chromium, bare: bool = True) -> list[dict]:
    """Measure every row in one browser and one server; `bare` for the message round trip too."""
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as place, opened(Path(place) / "bench") as run:
        files = write_books(run.folder, names, bare)
        page = chromium.new_page(viewport={"width": 1366, "height": 768})
        page.set_default_timeout(60_000)
        found = []
        for (name, way), file in files.items():
            row = Row(page, f"http://127.0.0.1:{run.port}/doc/tree/{file}?token={run.token}")
            try:
                times = row.presses(presses)
                pictures, lag = row.drag()
            except TimeoutError as error:
                page.mouse.up()
                print(f"{name}, {way}: no new picture came ({str(error).splitlines()[0]})", file=sys.stderr)
                continue
            ranked = sorted(times)
            quarter, p95 = (ranked[round(q * (len(ranked) - 1))] for q in (0.25, 0.95))
            median = statistics.median(times)
            print(f"{name}, {way}: {median:.0f} ms", file=sys.stderr)
            used = {kind: statistics.median(one[kind] for one in row.used) for kind in row.used[0]}
            told = dict(panel=name, way=way, quarter=quarter, median=median, p95=p95, pictures=pictures, lag=lag)
            found.append(told | {"used": used})
        page.close()
    return found


def table(rows: list[dict]) -> str:
    """The rows as text, with the ratios to the usual way and to the bare round trip of the same run."""
    usual = {r["panel"]: r["median"] for r in rows if r["way"] == "usual"}
    bare = next((r for r in rows if r["panel"] == "round trip"), None)
    lines = [
        f"{'panel':<16}{'way':<7}{'median':>9}{'95 %':>9}{'of usual':>10}{'of the round trip: median':>27}{'95 %':>7}"
        f"{'pictures of 50 steps':>22}{'last lags':>11}"
    ]
    for r in rows:
        ours = r["way"] == "ours"
        of_usual = f"{r['median'] / usual[r['panel']]:.2f}" if ours and r["panel"] in usual else ""
        trips = [f"{r[key] / bare[key]:.2f}" if ours and bare else "" for key in ("median", "p95")]
        lines.append(
            f"{r['panel']:<16}{r['way']:<7}{r['median']:>6.0f} ms{r['p95']:>6.0f} ms{of_usual:>10}{trips[0]:>27}"
            f"{trips[1]:>7}{r['pictures']:>22}{r['lag']:>8.0f} ms"
        )
    return "\n".join(lines)


def budget(rows: list[dict]) -> str:
    """Processor time of a move by process [ms]."""
    kinds = list(rows[0]["used"])
    lines = [f"{'processor time, ms':<23}" + "".join(f"{kind:>10}" for kind in kinds)]
    for r in rows:
        lines.append(f"{r['panel']:<16}{r['way']:<7}" + "".join(f"{r['used'][kind]:>10.1f}" for kind in kinds))
    return "\n".join(lines)


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--panels", nargs="*", help="names in tapkit.panels (default: all that have a picture)")
    parser.add_argument("--presses", type=int, default=50)
    parser.add_argument("--json", type=Path, help="write the rows there too")
    options = parser.parse_args()
    place = find_chromium()
    if place is None:
        print("no Chromium here: install Debian's package chromium, or set CHROMIUM to the program", file=sys.stderr)
        return 2
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=place, args=list(FLAGS))
        rows = measure(options.panels or panel_names(), options.presses, chromium)
    print(table(rows), budget(rows), sep="\n\n")
    if options.json:
        options.json.write_text(json.dumps(rows, indent=1), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
