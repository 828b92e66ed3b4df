"""Workbooks from anybody: looked at before they are read."""
