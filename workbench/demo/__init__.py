"""A virtual engine, ECU and driver: source of the samples and of the convergence benchmark."""
