"""The table on the screen, and playing on it."""
