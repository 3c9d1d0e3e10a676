"""Engine: assembles the network from a sheet and solves a cycle, a pull, a transient."""
