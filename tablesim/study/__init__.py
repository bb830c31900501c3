"""The questions: a scenario in, findings out (frozen, JSON-able)."""
