"""Staging by hand: the layout as discs that can be dragged, shoved and frozen; never used to play a shot."""
