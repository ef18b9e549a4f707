"""Some tests of the workbooks need the real browser."""

from realbrowser import chromium, page

__all__ = ["chromium", "page"]
