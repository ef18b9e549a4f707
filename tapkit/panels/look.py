"""How panels look in the browser: one style sheet, carried by every panel, so that it is there in any notebook."""

from __future__ import annotations

from tapkit.drawing import style

STYLE = f"""
.tapkit-panel {{display: flex; flex-flow: row wrap; gap: 8px 24px; align-items: flex-start; overflow: visible;
  padding: 4px 0; color: {style.INK}; font-size: 15px}}
.tapkit-panel .tapkit-controls {{flex: 1 1 250px; max-width: 330px; gap: 2px; overflow: visible}}
.tapkit-panel .tapkit-view {{flex: 0 1 auto; overflow: visible; min-width: 300px; position: relative}}
.tapkit-panel .tapkit-controls .jupyter-widgets {{height: auto; font-size: inherit; margin: 0}}
.tapkit-panel .tapkit-controls .widget-inline-hbox {{flex-wrap: wrap; align-items: center; padding: 1px 0}}
.tapkit-panel .tapkit-controls .widget-inline-hbox .widget-label {{width: 100%; text-align: left;
  height: auto; line-height: 1.35; white-space: normal; overflow: visible; font-size: inherit; color: inherit}}
.tapkit-panel .tapkit-controls .widget-readout {{min-width: 4.2em; font-size: inherit; text-align: right;
  font-variant-numeric: tabular-nums; color: inherit}}
.tapkit-panel .tapkit-controls select {{font-size: inherit; height: 2em; width: 100%; color: inherit}}
.tapkit-panel .tapkit-controls .slider-container {{min-width: 120px; height: auto; padding: 6px 0 8px}}
.tapkit-panel .noUi-connect {{background: {style.ACCENT}}}
.tapkit-panel .noUi-handle {{border-color: {style.ACCENT}}}
.tapkit-panel .noUi-handle:focus-visible, .tapkit-panel button:focus-visible, .tapkit-panel select:focus-visible
  {{outline: 3px solid {style.ACCENT}; outline-offset: 2px}}
.tapkit-panel .tapkit-switches {{display: flex; flex-wrap: wrap; gap: 6px; padding-top: 8px}}
.tapkit-panel .tapkit-switches button {{width: auto; height: auto; font-size: 14px; line-height: 1; padding: 7px 10px;
  color: inherit; background: {style.PAPER}; border: 1px solid {style.SOFT_INK}; border-radius: 4px; margin: 0}}
.tapkit-panel .tapkit-switches button.mod-active {{background: {style.ACCENT}; color: {style.PAPER}}}
.tapkit-panel .tapkit-picture {{margin: 0; max-width: 100%; height: auto}}
.tapkit-panel .tapkit-old {{opacity: 0.35}}
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
@media print {{.tapkit-panel .tapkit-controls {{display: none}}}}
"""
