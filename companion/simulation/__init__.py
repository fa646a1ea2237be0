"""A rehearsal bay with known hidden errors, and a technician who hears, acts and answers.

It checks the companion from outside: rays, planes and a rigid mount in three dimensions, nothing
of the companion's own formulas.
"""
