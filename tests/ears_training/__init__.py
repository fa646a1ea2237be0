"""Training of the head of the companion's own ears; needs torch, pyroomacoustics and speech makers."""
