"""The build sheet: what the user measured and chose, as data, with its faults, variants and logbook."""
