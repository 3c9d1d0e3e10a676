"""Sums: stoichiometry, mixture, pump, regulator, injectors."""
