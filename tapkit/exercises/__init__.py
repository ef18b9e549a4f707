"""Exercises with checked answers: pure data and judges."""
