"""The laws of the table: scalar kernels, floats and arrays in and out.

No kernel knows a scenario, a file or a screen.  SI units throughout.

Axes, seen from above; z points up out of the page, origin at a corner of the
rectangle formed by the cushion noses::

    y = W  +---------side-left----------+
           | head                  foot |        left  = +y for a player who
           | rail        ---> +x   rail |                looks along +x
    y = 0  +---------side-right---------+
         x = 0                        x = L

Angles run counterclockwise from +x.  ``w`` is the angular velocity vector;
right english gives ``w_z > 0``.  A rolling ball has ``R w = z x v``.
"""
