"""The work on a workbook over the years: carry over, check, copy, export."""
