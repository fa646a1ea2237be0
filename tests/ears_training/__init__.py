"""Training of the head of the companion's own ears; needs torch, ctranslate2 and speech makers."""
