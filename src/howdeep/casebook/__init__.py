"""What published works say of troubles, causes and remedies, as data to hold the rule base against."""
