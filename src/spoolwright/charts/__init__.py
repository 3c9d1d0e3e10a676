"""Charts: one description of a chart as data, drawn by free functions; the only importer of plotting."""
