"""Which compressor, turbine, gate spring and carburettor fit an engine: its demand, candidates, ranking, choosers."""
