"""What is asked in a terminal: the interview, an engine sheet, prices, the shop."""
