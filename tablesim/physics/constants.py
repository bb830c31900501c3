"""Numbers that no gear can change, and the thresholds of the engine.

Everything a user may edit (frictions, restitutions, sizes) is an argument of
the kernels; what stands here is geometry of a solid ball or bookkeeping.
"""

INCH_M = 0.0254  # exact, international yard and pound agreement 1959

K = 2.5  # m R^2 / I of a solid uniform ball, I = 2/5 m R^2

# Phases of a ball on the cloth.
REST, SLIDING, ROLLING, SPINNING, POTTED = 0, 1, 2, 3, 4

# Below these a ball counts as rolling, standing or not turning.
SLIP_ZERO_M_S = 1e-9
SPEED_ZERO_M_S = 1e-9
SPIN_ZERO_RAD_S = 1e-9

# Contacts closing slower than this are settled, not bounced (engine.py).
SETTLE_M_S = 1e-3
# The least speed at which two bodies part, so that rounding cannot rejoin them.
PART_M_S = 1e-9
# How far a ball may sink into a rail at less than that speed.
SINK_M = 2e-10
# Balls nearer than this are touching when one of them is struck.
TOUCH_M = 1e-6
# Nearer than this a ball is as good as frozen to another or to a rail; common practice, no source.
FROZEN_M = 1e-3
