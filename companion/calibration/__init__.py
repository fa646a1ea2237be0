"""Numbers in, numbers out: stand, floor, wheels, mount, aim and their doubt. Pure.

Axes as in ISO 8855: x forward, y left, z up. Yaw and heading + = to the car's left, elevation
+ = up. Units are in the names: _mm, _deg, _db.
"""
