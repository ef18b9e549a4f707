"""The instructor's desk, one module a step."""
