"""How panels look in the browser: one style sheet, carried by every panel, so that it is there in any notebook."""

from tapkit.drawing import style

_PAPER = {
    style.INK: (
        "content-font-color0", "content-font-color1", "ui-font-color0", "ui-font-color1", "widgets-color",
        "widgets-label-color", "widgets-readout-color", "widgets-input-color",
    ),
    style.SOFT_INK: ("content-font-color2", "content-font-color3", "ui-font-color2", "ui-font-color3"),
    style.PAPER: (
        "layout-color0", "layout-color1", "widgets-input-background-color", "rendermime-table-row-background",
        "cell-editor-background", "input-background",
    ),
    style.STEEL: ("layout-color2", "layout-color3", "rendermime-table-row-hover-background"),
    style.FAINT: ("border-color0", "border-color1", "border-color2", "border-color3", "widgets-border-color"),
    style.ACCENT: ("content-link-color", "content-link-visited-color", "content-link-hover-color"),
}  # fmt: skip
DARK = f"""
body[data-jp-theme-light="false"] :is(.tk-text, .tapkit-quiz, .tapkit-panel, .tapkit-page, .tapkit-table,
  .tapkit-notes) {{background: {style.PAPER}; color: {style.INK}; color-scheme: light;
  {"".join(f"--jp-{name}: {colour}; " for colour, names in _PAPER.items() for name in names)}}}
body[data-jp-theme-light="false"] :is(.tk-text, .tapkit-panel, .tapkit-page, .tapkit-notes) {{padding: 8px 12px;
  border-radius: 4px}}
"""
"""In the dark theme all of the course but its running text lies on paper, as its drawings do."""

CHOICES = """
.tapkit-choice {display: flex; flex-wrap: wrap; gap: 2px 8px; align-items: flex-start; margin: 2px 0 6px}
.tapkit-choice > .widget-label {flex: 0 0 auto; padding: 3px 0}
.tapkit-options {flex: 1 1 18em; display: flex; flex-direction: column}
.tapkit-options label {display: flex; gap: .6em; align-items: flex-start; line-height: 1.4; padding: 3px 2px;
  cursor: pointer; color: inherit}
.tapkit-options input {margin: .3em 0 0; flex: none}
.tapkit-choice select {font: inherit; color: inherit; background: inherit; padding: 4px; max-width: 100%}
"""
"""Round buttons and lists one answers with."""

STYLE = f"""{DARK}
.tapkit-panel {{display: flex; flex-flow: row wrap-reverse; gap: 8px 24px; align-items: flex-end; overflow: visible;
  padding: 4px 0; color: {style.INK}; font-size: 15px}}
.tapkit-panel .tapkit-controls {{flex: 1 1 244px; max-width: 330px; gap: 2px; overflow: visible}}
.tapkit-panel:not(.tapkit-bench) .tapkit-view {{flex: 1000 1 300px; overflow: visible; min-width: 0;
  position: sticky; top: 0; z-index: 3; background: {style.PAPER}}}
:is(.jp-OutputArea-output, .jp-OutputArea-child, .jp-Cell-outputArea, .jp-Cell-outputWrapper):has(.tapkit-panel)
  {{overflow: visible; min-width: 0}}
.tapkit-panel .tapkit-controls .jupyter-widgets {{height: auto; font-size: inherit; margin: 0}}
.tapkit-moves {{display: flex; flex-flow: column; gap: 2px; padding: 0 5px}}
.tapkit-moves .tapkit-row {{padding: 1px 0 3px}}
.tapkit-moves [hidden] {{display: none !important}}
.tapkit-moves .tapkit-head {{display: flex; align-items: baseline; gap: 6px; line-height: 1.3}}
.tapkit-moves .tapkit-ask {{border: 1px solid {style.FAINT}; border-radius: 50%; width: 1.45em; height: 1.45em;
  padding: 0; font-size: 11px; line-height: 1; background: none; color: {style.SOFT_INK}; cursor: pointer; flex: none}}
.tapkit-moves .tapkit-help {{display: block; font-size: 13px; color: {style.SOFT_INK};
  line-height: 1.3; padding: 1px 0 3px}}
.tapkit-moves .tapkit-line {{display: flex; align-items: center; gap: 10px}}
.tapkit-moves .tapkit-range {{flex: 1 1 120px; min-width: 0; margin: 5px 0; height: 18px; cursor: pointer;
  accent-color: {style.ACCENT}}}
.tapkit-moves :is(.tapkit-box, .tapkit-combo, .tapkit-entry, select) {{font: inherit; color: {style.INK};
  background: {style.PAPER}; border: 1px solid {style.SOFT_INK}; border-radius: 3px; box-sizing: border-box;
  padding: 2px 6px; height: 1.9em}}
.tapkit-moves .tapkit-box {{width: 5.2em; flex: none; text-align: right; font-variant-numeric: tabular-nums}}
.tapkit-moves :is(.tapkit-combo, .tapkit-entry, select) {{width: 100%; text-overflow: ellipsis}}
.tapkit-moves .tapkit-combo-place {{position: relative; flex: 1}}
.tapkit-moves [role=listbox] {{position: absolute; z-index: 20; left: 0; right: 0; top: 100%; margin: 0; padding: 2px 0;
  max-height: 15em; overflow-y: auto; list-style: none; background: {style.PAPER}; color: {style.INK};
  border: 1px solid {style.SOFT_INK}; box-shadow: 0 4px 10px -4px {style.SOFT_INK}}}
.tapkit-moves [role=option] {{padding: 3px 8px; cursor: pointer; margin: 0}}
.tapkit-moves [role=option]:is([aria-selected=true], :hover) {{background: {style.ACCENT}; color: {style.PAPER}}}
.tapkit-moves .tapkit-tick {{display: flex; gap: 8px; align-items: center; padding: 3px 0}}
.tapkit-moves .tapkit-told {{margin: 0; font-size: 13px; line-height: 1.3; color: {style.SOFT_INK};
  border-left: 4px solid {style.FLUTES[1]}; padding-left: 7px}}
.tapkit-moves .tapkit-told:empty {{display: none}}
.tapkit-moves summary {{font-weight: 600; cursor: pointer; padding: 5px 0 3px}}
.tapkit-moves :is(input, select, summary, button):focus-visible, .tapkit-panel button:focus-visible
  {{outline: 3px solid {style.ACCENT}; outline-offset: 2px}}
.tapkit-moves :is(select, .tapkit-combo, .tapkit-entry):focus-visible {{outline-offset: -1px}}
.tapkit-panel .tapkit-switches {{display: flex; flex-wrap: wrap; gap: 5px; padding-top: 8px}}
.tapkit-panel .tapkit-switches button {{width: auto; height: auto; line-height: 1; padding: 7px 8px;
  white-space: normal; color: inherit; background: {style.PAPER}; border: 1px solid {style.SOFT_INK};
  border-radius: 4px; margin: 0}}
.tapkit-panel .tapkit-switches button.mod-active {{background: {style.ACCENT}; color: {style.PAPER}}}
.tapkit-panel .tapkit-picture {{margin: 0; max-width: 100%; height: auto; max-height: calc(100vh - 100px);
  object-fit: contain; object-position: left top}}
.tapkit-panel {{--tapkit-tall: calc(100vh - 250px)}}
.tapkit-panel .tapkit-row {{scroll-margin: 12px}}
.tapkit-panel .tapkit-controls > .widget-text {{width: auto; max-width: 100%}}
.tapkit-panel .tapkit-pair .tapkit-round-teeth {{display: none}}
.tapkit-panel .tapkit-past, .tapkit-panel:has(.tapkit-old) .tapkit-tooth-told {{visibility: hidden}}
.tapkit-panel .tapkit-old, .tapkit-panel:has(.tapkit-old) canvas:not(.tapkit-old canvas)
  {{filter: contrast(.25) brightness(1.6)}}
.tapkit-panel .tapkit-sentence, .tapkit-panel .tapkit-sentence .widget-html-content {{height: auto; font-size: inherit;
  line-height: 1.45; min-height: 2.9em}}
.tapkit-panel .tapkit-sentence, .tapkit-panel .tapkit-sentence .widget-html-content {{position: static}}
.tapkit-panel .tapkit-sentence p {{margin: 0 0 4px; max-width: 56em}}
.tapkit-panel .tapkit-sentence .tapkit-problem {{position: absolute; top: 16px; left: 16px; right: 16px; margin: 0;
  max-width: 40em; background: {style.PAPER}; border: 1px solid {style.WARN}; border-left-width: 6px;
  border-radius: 3px; padding: 8px 14px}}
.tapkit-panel .tapkit-caution {{border-left: 5px solid {style.FLUTES[1]}; padding: 0 0 0 10px}}
.tapkit-panel.tapkit-projector {{font-size: 22px}}
.tapkit-panel.tapkit-projector .tapkit-controls {{max-width: 420px}}
.tapkit-panel.tapkit-projector .tapkit-switches button {{font-size: 19px}}
.tapkit-panel .tapkit-pair {{display: flex; flex-flow: row nowrap; gap: 4px; align-items: flex-start}}
.tapkit-panel .tapkit-pair > :first-child {{flex: 0 1 auto; min-width: 150px; --tapkit-tall: calc(100vh - 340px)}}
.tapkit-panel.tapkit-projector .tapkit-pair > :first-child {{max-width: 25%}}
.tapkit-panel .tapkit-pair > .tapkit-picture {{flex: 1 1 200px; min-width: 0}}
.tapkit-panel .tapkit-setup {{min-width: 0; max-width: 100%; margin: 0; font-size: 14px; flex: none}}
.tapkit-panel > .tapkit-under {{order: -1; flex: 1 0 100%; position: relative; z-index: 4;
  background: {style.PAPER}; box-shadow: 0 8px {style.PAPER}}}
.tapkit-photos {{margin: 0}}
.tapkit-beside {{display: flex; flex-flow: row wrap; gap: 4px 20px; align-items: flex-start; overflow: visible}}
.tapkit-beside > .tapkit-photos {{flex: 0 1 auto; min-width: 0}}
.tapkit-beside > .tapkit-under {{flex: 1 1 300px; min-width: 0; height: auto}}
.tapkit-photo {{position: relative; width: fit-content; max-width: 100%}}
.tapkit-photo img {{display: block; max-width: 100%; max-height: min(54vh, 560px); height: auto; width: auto}}
.tapkit-photo svg {{position: absolute; inset: 0; width: 100%; height: 100%; overflow: visible}}
.tapkit-photo circle {{cursor: grab; touch-action: none; pointer-events: all}}
.tapkit-photo :is(text, path) {{pointer-events: none}}
.tapkit-photo circle:focus-visible, .tapkit-photo circle:focus {{outline: none; fill: {style.ACCENT}; fill-opacity: .3}}
.tapkit-photo .tapkit-lens {{position: absolute; top: 6px; right: 6px; pointer-events: none;
  border: 2px solid {style.INK}; border-radius: 50%}}
.tapkit-photo .tapkit-lens.tapkit-left {{right: auto; left: 6px}}
.tapkit-photo .tapkit-lens[hidden] {{display: none}}
.tapkit-photo-bar {{display: flex; flex-flow: row wrap; gap: 6px 12px; align-items: center; padding: 0 0 5px;
  font-size: 14px}}
.tapkit-photo-bar button {{font: inherit; padding: 3px 10px; background: {style.PAPER}; color: {style.INK};
  border: 1px solid {style.SOFT_INK}; border-radius: 4px}}
.tapkit-photo-bar button[aria-pressed=true] {{background: {style.ACCENT}; color: {style.PAPER}}}
.tapkit-photos .tapkit-help {{font-size: 13px; line-height: 1.3; margin: 4px 0; max-width: 60em;
  color: {style.SOFT_INK}}}
.tapkit-setup > div {{display: flex; flex-flow: row wrap; gap: 6px; align-items: center}}
.tapkit-setup :is(input, select, button) {{font: inherit; color: {style.INK}; background: {style.PAPER}; height: 1.9em;
  border: 1px solid {style.SOFT_INK}; border-radius: 3px; padding: 2px 8px; box-sizing: border-box; margin: 0}}
.tapkit-setup input {{flex: 1 1 320px; min-width: 0; font-size: 13px;
  font-family: var(--jp-code-font-family, monospace)}}
.tapkit-setup select {{max-width: 12em}}
.tapkit-setup button {{cursor: pointer}}
.tapkit-setup [hidden] {{display: none}}
.tapkit-setup :is(input, select, button):focus-visible {{outline: 3px solid {style.ACCENT}; outline-offset: 2px}}
.tapkit-setup .tapkit-told {{margin: 0 0 3px; font-size: 13px; line-height: 1.3; color: {style.INK};
  border-left: 4px solid {style.FLUTES[1]}; padding-left: 7px}}
.tapkit-setup .tapkit-told:empty {{border: 0; margin: 0}}
@media (max-width: 560px), (max-width: 850px) and (orientation: portrait) {{
.tapkit-panel:not(.tapkit-bench) {{flex-flow: column nowrap; align-items: stretch; --tapkit-tall: 40vh}}
.tapkit-panel:not(.tapkit-bench) > .tapkit-view {{display: contents}}
.tapkit-panel .tapkit-view > :first-child {{order: -1; position: sticky; top: 0; z-index: 3; background: {style.PAPER};
  box-shadow: 0 6px 6px -6px {style.SOFT_INK}}}
.tapkit-panel .tapkit-view > .tapkit-picture {{max-height: 46vh}}
.tapkit-panel .tapkit-controls {{max-width: none; flex: none}}
.tapkit-panel > .tapkit-under {{order: 1; flex: none}}
.tapkit-panel .tapkit-view > .tapkit-beside {{display: contents}}
.tapkit-beside > .tapkit-photos {{order: -1; position: sticky; top: 0; z-index: 3; background: {style.PAPER}}}
.tapkit-beside > .tapkit-under {{order: 1; flex: none}}
.tapkit-photo img {{max-height: 36vh}}
}}
@media (max-width: 560px), (max-width: 850px) and (orientation: portrait) {{
.tapkit-panel:not(.tapkit-bench) .tapkit-row {{scroll-margin-top: 58vh}}
}}
@media (min-width: 561px) and (max-height: 520px),
  (min-width: 561px) and (max-width: 900px) and (orientation: landscape)
{{
.tapkit-panel:not(.tapkit-bench) .tapkit-controls {{flex: 0 1 186px; min-width: 0}}
.tapkit-panel:not(.tapkit-bench) {{column-gap: 14px}}
.tapkit-panel .tapkit-moves .tapkit-box {{width: 4.3em}}
}}
@media (max-height: 520px) and (min-width: 561px) {{
.tapkit-panel:not(.tapkit-bench) .tapkit-row {{scroll-margin: 2px}}
.tapkit-photo img {{max-height: 46vh}}
.tapkit-photo-bar {{gap: 2px 8px; padding: 0 0 2px}}
}}
@media (max-height: 520px), (max-width: 900px) {{
.tapkit-panel .tapkit-pair > :first-child {{flex: 0 1 26%; min-width: 120px; max-width: 26%}}
.tapkit-panel .tapkit-pair .tapkit-round-bar {{gap: 3px}}
.tapkit-panel .tapkit-pair .tapkit-round-bar button {{padding: 4px 5px; font-size: 12px}}
.tapkit-panel .tapkit-pair .tapkit-round-scale {{gap: 1px 6px; font-size: 11px; padding: 3px 0 0}}
}}
@media (max-height: 520px) {{
.tapkit-panel .tapkit-pair .tapkit-round {{display: block}}
.tapkit-panel .tapkit-pair .tapkit-round-bar {{display: none}}
}}
@media print {{.tapkit-panel :is(.tapkit-controls, .tapkit-setup) {{display: none}}}}
"""
