"""Flow: quasi-one-dimensional ducts, their ends, valves, junctions and volumes."""
