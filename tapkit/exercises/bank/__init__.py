"""The bank of exercises, one module a workbook."""
