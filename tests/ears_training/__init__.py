"""Training of the heads of the companion's own ears; needs torch and speech makers."""
