"""A simulated bay and technician, independent of `measure`, to rehearse and test whole jobs."""
