"""The shop's price list, quantities and priced lines."""
