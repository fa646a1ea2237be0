"""Makes the two files that the companion's own ears stand on beside their heads."""
