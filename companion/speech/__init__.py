"""Words to sound: speech makers, the cache of rendered prompts, players.

`port` holds what the rest of the program sees; every other module is one way of filling it.
"""
