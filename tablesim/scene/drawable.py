"""Text as letters can show it, whatever a file or a person has put into it."""

from __future__ import annotations

UNKNOWN = "\N{REPLACEMENT CHARACTER}"


def drawable(text: str) -> str:
    """The text, letter for letter, with a blank for any white space and a sign for what has no picture.

    Fonts stop at control characters, halves of pairs and marks without a width.
    """
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() else " " if c.isspace() else UNKNOWN for c in text)
