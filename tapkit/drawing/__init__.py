"""Drawings: matplotlib artists from models. No widgets, no pyplot."""
