"""Buttons, fields, lists and dials; they know no document."""
