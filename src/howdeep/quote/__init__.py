"""The promise on paper: quote, change sheet, order list, assembly and proof sheets, all as frozen values."""
