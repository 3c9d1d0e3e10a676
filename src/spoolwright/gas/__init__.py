"""Gas: humid air, fuels, unburned mixtures and equilibrium tables of burned gas."""
