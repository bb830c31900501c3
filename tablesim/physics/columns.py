"""The columns of the engine's arrays, by name, and the numbers of its events and answers."""

from __future__ import annotations

# Columns of the state, one row a ball: its present piece of motion, anchored at T0.
T0, X, Y, VX, VY, AX, AY, WX, WY, WZ, BX, BY, PHASE, T_END = range(14)
STATE_COLUMNS = 14
# Columns of the track's pieces: the ball, then its state row.
PIECE_COLUMNS = 1 + STATE_COLUMNS
# Columns of a setup's ``balls``.
MASS, RADIUS, NOSE_DISTANCE, SIN_THETA = range(4)

# Kinds of event.
PHASE_EVENT, EDGE_EVENT, BALL_EVENT, DROP_EVENT = 0, 1, 2, 3
# Columns of an event: time, kind, first ball, second ball (or -1), edge kind, edge row, unit normal,
# then the seven-number states of first and second ball before, and after.
E_TIME, E_KIND, E_FIRST, E_SECOND, E_EDGE, E_ROW, E_NX, E_NY, E_BEFORE, E_AFTER = 0, 1, 2, 3, 4, 5, 6, 7, 8, 22
EVENT_COLUMNS = 36

# Entries of ``counts``.
PIECES, EVENTS, HANDLED = 0, 1, 2
# What advance() answers.
REACHED, AT_REST, WATCHED, BUFFER_FULL, CUT_OFF = 0, 1, 2, 3, 4
