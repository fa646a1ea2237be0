"""Numbers in, numbers out: stand, floor, wheels, mount, aim and their doubt. Pure."""
