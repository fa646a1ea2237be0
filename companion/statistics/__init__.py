"""What many sessions say together: drift, repeatability, hearing, time."""
