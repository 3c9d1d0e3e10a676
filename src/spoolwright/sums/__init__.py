"""The sums: every elementary computation of the trade, registered once with inputs, formula, source and slips."""
