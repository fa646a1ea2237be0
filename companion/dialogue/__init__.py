"""The conversation: `step(state, event) -> (state, effects)`. No I/O, no clock. Pure."""
