"""Words to sound: speech makers, cache, player."""
