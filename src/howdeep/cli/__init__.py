"""The commands, a module a group of them."""
