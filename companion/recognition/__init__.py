"""Sound to heard words: sources, endpointing, recognisers.

`port` holds what the rest of the program sees; every other module is one way of filling it.
"""
