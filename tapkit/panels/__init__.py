"""Panels: sliders, one picture and one sentence; they connect and compute nothing."""
