"""Where the work on one sensor is over: what is the car's waits for its last sensor."""
