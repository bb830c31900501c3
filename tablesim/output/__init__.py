"""Findings on paper and picture: charts."""
