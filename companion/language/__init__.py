"""Heard words to meaning, meaning to words to speak; grammars are compiled here. Pure."""
